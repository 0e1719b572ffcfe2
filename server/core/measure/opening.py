"""Readings of an opening (a port, a hose end, a hole): what may be measured, with what, and all together."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from math import pi

from server.core.measure.conditions import GapConditions, MockUpOutcome
from server.core.measure.estimate import Combined, Estimate, combine
from server.core.measure.instruments import (
    STRING_THICKNESS,
    Instrument,
    diameter_from_circumference,
    instrument,
)

WITH_FLAP = "exhaust gas, wastegate flap in it"
"""The medium of a turbine's outlet that the flap of its own wastegate swings into."""

FLAP_SIZES = ("flap_reach", "flap_swing")
"""Read on such a port alone: the flap held fully open, past the face, and from the centre to its far edge."""

DIMENSIONS = {
    "outside_diameter": "outside diameter",
    "bore": "bore",
    "wall": "wall",
    "length": "length of spigot",
    "circumference": "circumference, by string",
    "gap": "gap",
    "flap_reach": "open flap, past the face",
    "flap_swing": "open flap, from the centre",
    "mock_up": "mock-up",
}
"""Every dimension that a reading may be of: its code, as stored, and its label."""

SIZES = ("outside_diameter", "bore", "wall", "length", "gap", *FLAP_SIZES)
"""What readings are combined into."""

LIMITS = {
    "outside_diameter": (0.001, 0.5),
    "bore": (0.001, 0.5),
    "wall": (0.0001, 0.05),
    "length": (0.0005, 3.0),
    "circumference": (0.006, 1.6),
    "gap": (0.0, 2.0),
    "flap_reach": (0.0, 0.2),
    "flap_swing": (0.001, 0.2),
}
"""Least and most that each dimension can be on a car [m]; outside it is a slip of the finger."""

_FITTING = {
    "outside_diameter": ("digital_caliper", "vernier_caliper", "rule", "tape", "makers_figure", "feel"),
    "bore": ("digital_caliper", "bore_gauge", "vernier_caliper", "rule", "tape", "makers_figure", "feel"),
    "wall": ("digital_caliper", "vernier_caliper", "makers_figure", "feel"),
    "length": ("digital_caliper", "vernier_caliper", "rule", "tape", "tape_hooked", "makers_figure", "feel"),
    "circumference": ("string",),
    "gap": ("rule", "tape", "tape_hooked", "digital_caliper", "vernier_caliper", "feel"),
    "flap_reach": ("digital_caliper", "vernier_caliper", "rule", "feel"),
    "flap_swing": ("digital_caliper", "vernier_caliper", "rule", "makers_figure", "feel"),
    "mock_up": (),
}


_COARSE = {
    "feel": "by feel",
    "string": "by a string",
    "tape": "by tape",
    "tape_hooked": "by tape",
    "rule": "by a rule",
    "makers_figure": "by the maker's figure",
    "guess": "by a guess",
}
"""Ways of taking a size that a caliper is better than, as advice says them."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading as it was taken.

    value, doubt: [m], of what was measured, so that a circumference is still one; None where a mock-up gave
    words only. instrument: a code of `instruments`, empty for a mock-up. conditions: of a gap or a mock-up.
    """

    id: int
    dimension: str
    typed: str
    value: float | None
    doubt: float | None
    instrument: str
    taken_at: datetime
    taken_by: str
    conditions: GapConditions | None
    mock_up: MockUpOutcome | None
    note: str
    withdrawn: bool

    @property
    def words(self) -> str:
        """What was typed, with the outcome before it where it is a mock-up: "short by 15 mm"."""
        return self.typed if self.mock_up is None else f"{self.mock_up.value} {self.typed}".strip()

    @property
    def size(self) -> tuple[str, Estimate] | None:
        """The size that the reading tells [m]: a circumference tells an outside diameter, a mock-up none."""
        if self.mock_up is not None or self.value is None or self.doubt is None:
            return None
        if self.dimension == "circumference":
            diameter = diameter_from_circumference(self.value, STRING_THICKNESS)
            return "outside_diameter", Estimate(diameter, self.doubt / pi)
        return self.dimension, Estimate(self.value, self.doubt)


def instruments_of(dimension: str) -> tuple[Instrument, ...]:
    """The instruments that fit a dimension, the usual one first; common practice, no source."""
    return tuple(instrument(code) for code in _FITTING[dimension])


def own_doubt(dimension: str, code: str, value: float) -> float:
    """The instrument's standard uncertainty of one reading [m]; of a string, of its length round the tube.

    dimension: one of `LIMITS`. code: of the instrument. value: [m]. Source: the instrument's.
    """
    if dimension != "circumference":
        return instrument(code).doubt(value)
    return instrument(code).doubt(diameter_from_circumference(value, STRING_THICKNESS)) * pi


def together(readings: Iterable[Reading]) -> dict[str, Combined]:
    """The readings of one opening, withdrawn ones left out, taken together by size [m].

    The doubt does not fall under that of the best instrument used, or under a smaller one that was typed.
    Source: `estimate.combine`.
    """
    found: dict[str, list[Estimate]] = defaultdict(list)
    floors: dict[str, list[float]] = defaultdict(list)
    for reading in readings:
        told = reading.size
        if told is None or reading.withdrawn:
            continue
        size, estimate = told
        found[size].append(estimate)
        floors[size].append(min(instrument(reading.instrument).floor(estimate.value), estimate.doubt))
    return {size: combine(estimates, min(floors[size])) for size, estimates in found.items()}


def coarsely_taken(readings: Iterable[Reading]) -> dict[str, str]:
    """How a size was taken, in words, where nothing better than that was used on it.

    Source: common practice, no source.
    """
    found: dict[str, set[str]] = defaultdict(set)
    for reading in readings:
        if reading.size is not None and not reading.withdrawn:
            found[reading.size[0]].add(reading.instrument)
    return {
        size: _COARSE[codes.pop()]
        for size, codes in found.items()
        if len(codes) == 1 and codes <= _COARSE.keys()
    }
