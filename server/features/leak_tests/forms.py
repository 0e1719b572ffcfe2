"""What is typed of a pressure test: what it is planned with, and what was read."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.units import Kind
from server.web.fields import Fields, one_of_two

BLANKED, LISTENED = "blanked", "listened"
USUAL_LEAK = 0.00001
"""About a three-hundredth of a two-litre engine's air at idle [kg/s]. Source: common practice, no source."""
USUAL_STEP = 2000.0
"""One division of a usual gauge [Pa]. Source: common practice, no source."""
MOST_WITHOUT = 300_000.0
"""The most that can be entered where nobody has said what boost is intended [Pa]."""
SAFE = (
    ("safe-regulator", "Regulator and relief valve between compressor and pipe"),
    ("safe-plugs", "Plugs strapped to the car, nobody in line with one"),
    ("safe-breather", "Breather isolated, so that the crankcase stays without pressure"),
    ("safe-low", "Begun at about 0.3 bar, goggles on, one hand at the valve"),
)
"""What has to be so before any pressure. Source: common practice, no source."""


@dataclass(frozen=True, slots=True)
class PlanForm:
    """What a test is planned with [SI]; None where it was not typed."""

    volume: float | None
    step: float
    taken: float


@dataclass(frozen=True, slots=True)
class ResultForm:
    """What a test came to [SI]."""

    way: str
    pressure: float
    pressure_typed: str
    last: float | None
    last_typed: str
    held: float | None
    volume: float | None
    taken: float | None
    before: float | None
    after: float | None
    leaks: bool
    found: str
    by: str


def plan_form(typed: Mapping[str, str]) -> PlanForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = PlanForm(_volume(fields, required=False), _step(fields), _taken(fields) or USUAL_LEAK)
    fields.done()
    return form


def _volume(fields: Fields, *, required: bool) -> float | None:
    found = fields.quantity(
        "volume", "Volume under test", Kind.volume, unit="l", required=required, least=0.0002, most=0.2,
        accepts="a volume such as 9.4 l or 570 in3; fill a cooler with water to know",
    )  # fmt: skip
    return None if found is None else found.value


def _step(fields: Fields) -> float:
    found = fields.quantity(
        "step", "Least fall that the gauge shows", Kind.pressure, unit="bar", least=1.0, most=100_000.0,
        accepts="one division, such as 0.02 bar or 0.5 psi",
    )  # fmt: skip
    return USUAL_STEP if found is None else found.value


def _taken(fields: Fields) -> float | None:
    found = fields.quantity(
        "taken", "Leak that is taken", Kind.mass_flow, unit="g/s", least=1e-6, most=0.01,
        accepts="a flow of air such as 0.03 g/s",
    )  # fmt: skip
    return None if found is None else found.value


def result_form(typed: Mapping[str, str], boost: float | None) -> ResultForm:
    """boost: intended, gauge [Pa]; a test never goes above it. Raises BadInput."""
    fields = Fields(typed)
    way = fields.choice("way", "How", (BLANKED, LISTENED))
    blanked = way == BLANKED
    pressure = fields.quantity(
        "pressure", "Gauge, shut in", Kind.pressure, unit="bar", required=True, least=1000.0,
        most=MOST_WITHOUT,
        accepts="the gauge's reading, such as 0.8 bar or 12 psi",
    )  # fmt: skip
    if pressure is not None and boost is not None and pressure.value > boost * 1.001:
        fields.refuse("pressure", "Above the boost intended: never test so high.", "that boost at most")
    last = fields.quantity(
        "last", "Gauge at the end", Kind.pressure, unit="bar", required=blanked, least=0.0,
        most=MOST_WITHOUT,
        accepts="the gauge's reading, such as 0.78 bar",
    )  # fmt: skip
    held = fields.quantity(
        "held", "Held for", Kind.time, unit="min", required=blanked, least=10.0, most=86_400.0,
        accepts="a time such as 5 min or 90 s",
    )  # fmt: skip
    before, after = (_temperature(fields, name) for name in ("before", "after"))
    if (before is None) != (after is None):
        name = "before" if before is None else "after"
        fields.refuse(name, "Only one of two temperatures.", "both, or neither where it stayed the same")
    volume = _volume(fields, required=blanked)
    taken = _taken(fields) or USUAL_LEAK
    for name, words in SAFE:
        if not fields.flag(name):
            fields.refuse(name, f"{words}: was it so?", "a tick; without it no test is made")
    leaks = not blanked and fields.choice("leaks", "A leak was", ("none", "found")) == "found"
    form = ResultForm(
        way,
        pressure.value if pressure is not None else 0.0,
        fields.raw("pressure"),
        last.value if last is not None and blanked else None,
        fields.raw("last") if blanked else "",
        held.value if held is not None else None,
        volume if blanked else None,
        taken if blanked else None,
        before,
        after,
        leaks,
        fields.text("found", "What was found", most=300),
        fields.text("by", "Who tested", most=80, required=True),
    )
    fields.done()
    return form


def _temperature(fields: Fields, name: str) -> float | None:
    labels = {"before": "Air as it was shut in", "after": "Air at the end"}
    found = fields.quantity(
        name, labels[name], Kind.temperature, unit="°C", least=233.15, most=373.15,
        accepts="a temperature such as 21 °C",
    )  # fmt: skip
    return None if found is None else found.value


def withdrawn(typed: Mapping[str, str]) -> bool:
    """Whether a test is to count no longer (`aside`) or again (`back`). Raises BadInput."""
    return one_of_two(typed, "to", "What to do", ("aside", "back"), usual="aside")
