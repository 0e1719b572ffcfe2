"""Under which conditions a gap was read, and what offering up a mock-up showed.

A gap to something that moves means nothing without them: springs, heat and the eye all change it.
"""

from dataclasses import dataclass
from enum import StrEnum


class Stance(StrEnum):
    """How the car stood; the value is the label."""

    on_stands = "on stands, wheels hanging"
    ride_height = "at ride height"
    not_stated = "not stated"


class Warmth(StrEnum):
    """Whether the engine and its pipes were warm; the value is the label."""

    cold = "engine cold"
    hot = "engine hot"
    not_stated = "not stated"


class SeenFrom(StrEnum):
    """Where the gap was looked at from, since eye and camera disagree; the value is the label."""

    above = "seen from above"
    below = "seen from below"
    front = "seen from the front"
    rear = "seen from the rear"
    left = "seen from the left"
    right = "seen from the right"
    not_seen = "by touch, not seen"
    not_stated = "not stated"


@dataclass(frozen=True, slots=True)
class GapConditions:
    """The conditions of one gap or pose reading."""

    stance: Stance = Stance.not_stated
    warmth: Warmth = Warmth.not_stated
    seen_from: SeenFrom = SeenFrom.not_stated
    by_camera: bool = False

    @property
    def label(self) -> str:
        """What is known, in one line, e.g. "on stands, wheels hanging; engine cold"."""
        known = [str(one) for one in (self.stance, self.warmth, self.seen_from) if one != "not stated"]
        if self.by_camera:
            known.append("through a camera")
        return "; ".join(known) or "conditions not stated"

    @property
    def missing(self) -> tuple[str, ...]:
        """What is still to be said before two gaps can be compared; common practice, no source."""
        asked = (
            ("how the car stood", self.stance),
            ("engine cold or hot", self.warmth),
            ("seen from where", self.seen_from),
        )
        return tuple(question for question, answer in asked if answer == "not stated")


class MockUpOutcome(StrEnum):
    """What an old hose, wire, card or foam pipe showed when it was offered up; the value is the label."""

    fits = "fits"
    touches = "touches at"
    short = "short by"


@dataclass(frozen=True, slots=True)
class MockUp:
    """One mock-up reading: make it with `fits`, `touches_at` or `short_by`.

    where: the thing it touches, for "touches at"; amount: how much it lacks [m], for "short by".
    """

    outcome: MockUpOutcome
    where: str = ""
    amount: float | None = None

    def __post_init__(self) -> None:
        if self.outcome is MockUpOutcome.touches and not self.where.strip():
            raise ValueError("say what it touches, for example “brake servo hose”")
        if self.outcome is MockUpOutcome.short and not (self.amount is not None and 0.0 < self.amount < 10.0):
            raise ValueError("say by how much it is short, for example 15 mm")

    @property
    def settles_length(self) -> bool:
        """Whether a hose may be ordered by it; common practice, no source."""
        return self.outcome is MockUpOutcome.fits


def fits() -> MockUp:
    """It went in, and clears everything.

    >>> fits().settles_length
    True
    """
    return MockUp(MockUpOutcome.fits)


def touches_at(where: str) -> MockUp:
    """It went in but touches something; raises ValueError when that is not named.

    >>> touches_at("brake servo hose").outcome.value
    'touches at'
    """
    return MockUp(MockUpOutcome.touches, where=where)


def short_by(amount: float) -> MockUp:
    """It does not reach, by an amount [m] more than zero; raises ValueError otherwise.

    >>> short_by(0.015).amount
    0.015
    """
    return MockUp(MockUpOutcome.short, amount=amount)
