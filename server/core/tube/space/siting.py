"""From what was read at the car to where each port is: offsets, tapes and neighbours, chained over ports."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from server.core.measure.estimate import Estimate
from server.core.tube.space.fix import Fixes, Tape, fixes
from server.core.tube.space.poses import (
    Facing,
    Level,
    Place,
    PortPose,
    Tilt,
    beside,
    by_angles,
    by_offsets,
    by_stick,
    by_words,
)


class Way(StrEnum):
    """How a place or a facing was read."""

    OFFSETS = "offsets"
    TAPES = "tapes"
    BESIDE = "beside"
    WORDS = "words"
    GAUGE = "gauge"
    STICK = "stick"


PLACE_WAYS = (Way.OFFSETS, Way.TAPES, Way.BESIDE)
FACING_WAYS = (Way.WORDS, Way.GAUGE, Way.STICK)
AXES = ("forward", "left", "up")
"""Names of the three numbers of a point."""
TAPES = (1, 2, 3)
DATUM, TYPED = "datum", "typed"
"""What a tape is hooked at: the datum, a point that is typed, or a port by its number."""
SIDES = ("first", "second")
"""Which of the two places that three tapes leave."""


@dataclass(frozen=True, slots=True)
class Sight:
    """One reading of a place or a facing.

    numbers: by name [m, rad]: `forward`, `left`, `up`; of tapes `tape1` ... and, where its hook is typed,
    `hook1_forward` ...; of an angle gauge `heading`, `dip`. said: words by name: `level`, `tilt`, `side`,
    `hook1` ..., `doubt` is among the numbers where words have one. beside: number of the port that it was
    read from.
    """

    way: Way
    numbers: Mapping[str, Estimate]
    said: Mapping[str, str] = field(default_factory=dict)
    beside: int | None = None

    @property
    def rests_on(self) -> frozenset[int]:
        """Numbers of the ports whose places it is read from."""
        hooks = {int(hook) for tape in TAPES if (hook := self.said.get(f"hook{tape}", "")).isdigit()}
        return frozenset(hooks | ({self.beside} if self.beside is not None else set()))


@dataclass(frozen=True, slots=True)
class Sights:
    """The readings that count for one port: of its place, and of its facing."""

    place: Sight | None = None
    facing: Sight | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """What is known of where a port is; each part None where it is not."""

    place: Place | None = None
    facing: Facing | None = None

    @property
    def pose(self) -> PortPose | None:
        """The whole pose; None where a part of it is not known."""
        known = self.place is not None and self.facing is not None
        return PortPose(self.place, self.facing) if known and self.place and self.facing else None


def found_poses(sights: Mapping[int, Sights]) -> dict[int, Found]:
    """Where each port is [m], by its number. A port that is read from itself, over others, has no place."""
    places: dict[int, Place | None] = {}

    def place_at(port: int) -> Place | None:
        if port not in places:
            places[port] = None  # while it is looked for, so that a ring ends
            sight = sights[port].place if port in sights else None
            places[port] = (
                None if sight is None else place_of(sight, {n: place_at(n) for n in sight.rests_on})
            )
        return places[port]

    return {
        port: Found(place_at(port), None if one.facing is None else facing_of(one.facing))
        for port, one in sights.items()
    }


def place_of(sight: Sight, known: Mapping[int, Place | None]) -> Place | None:
    """The place that a reading tells [m]. known: of the ports that it rests on."""
    if sight.way is Way.TAPES:
        told = meetings(sight, known)
        side = sight.said.get("side", SIDES[0])
        if told is None or len(told.fixes) != len(SIDES):
            return None
        fix = told.fixes[SIDES.index(side)]
        return Place(fix.point, fix.doubt)
    step = by_offsets(_point(sight.numbers))
    if sight.way is Way.OFFSETS:
        return step
    base = known.get(sight.beside or 0)
    return None if base is None else beside(base, step)


def meetings(sight: Sight, known: Mapping[int, Place | None]) -> Fixes | None:
    """Where three tapes meet; None where a port that one is hooked at has no place.

    A hook's own doubt, the greatest along any axis, counts with its tape's.
    """
    tapes = []
    for tape in TAPES:
        hook = _hook(sight, tape, known)
        if hook is None:
            return None
        read = sight.numbers[f"tape{tape}"]
        tapes.append(Tape(hook.point, read.value, float(np.hypot(read.doubt, hook.doubt.max()))))
    return fixes(tapes)


def _hook(sight: Sight, tape: int, known: Mapping[int, Place | None]) -> Place | None:
    at = sight.said.get(f"hook{tape}", DATUM)
    if at == DATUM:
        return Place(np.zeros(3), np.zeros(3))
    if at == TYPED:
        return by_offsets(_point(sight.numbers, f"hook{tape}_"))
    return known.get(int(at))


def _point(numbers: Mapping[str, Estimate], before: str = "") -> Sequence[Estimate]:
    return [numbers[before + axis] for axis in AXES]


def facing_of(sight: Sight) -> Facing | None:
    """The facing that a reading tells; None where a stick has no length."""
    if sight.way is Way.WORDS:
        doubt = sight.numbers["doubt"].value
        return by_words(Level(sight.said["level"]), Tilt(sight.said["tilt"]), doubt)
    if sight.way is Way.GAUGE:
        return by_angles(sight.numbers["heading"], sight.numbers["dip"])
    return by_stick(_point(sight.numbers))


def leads_back(port: int, sight: Sight, sights: Mapping[int, Sights]) -> bool:
    """Whether a port would be read from itself, over others, with this reading."""
    waiting, seen = list(sight.rests_on), set[int]()
    while waiting:
        other = waiting.pop()
        if other == port:
            return True
        if other not in seen and other in sights:
            seen.add(other)
            place = sights[other].place
            waiting += [] if place is None else place.rests_on
    return False
