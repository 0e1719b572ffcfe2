"""One task of the demo, as it is written down before it is typed in."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from seed_demo.hand import Typed

ENGINE_BAY = "engine bay"
UNDER = "under the car"
OUTSIDE = "outside"

ON_STANDS: Typed = {"car_state": "on stands"}
WELDER: Typed = {
    "hot_work": "on",
    "hands": "2",
    "helper_skill": "welds aluminium and stainless",
    "car_state": "on stands",
}


@dataclass(frozen=True, slots=True)
class MayFail:
    """What may go wrong with a task. happened, done: days from today, of what happened and was put right."""

    title: str
    chance: str
    likely: str
    high: str = ""
    note: str = ""
    happened: int | None = None
    done: int | None = None


@dataclass(frozen=True, slots=True)
class Job:
    """One task. `key` is what other tasks call it by; times as typed, the outer two may stay empty.

    after: keys of what comes first; least_wait: time that must pass after one of them; begun, done: days from
    today; pieces: stage and subsystem of those it waits for; settings: further fields of its sheet.
    """

    key: str
    title: str
    likely: str
    low: str = ""
    high: str = ""
    place: str = "bench"
    subsystem: str = ""
    after: tuple[str, ...] = ()
    least_wait: Mapping[str, str] = field(default_factory=dict)
    needs: Mapping[str, int] = field(default_factory=dict)
    readings: tuple[tuple[str, str], ...] = ()
    decisions: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    pieces: tuple[tuple[str, str], ...] = ()
    setbacks: tuple[MayFail, ...] = ()
    for_the_visit: bool = False
    settings: Typed = field(default_factory=dict)
    begun: int | None = None
    done: int | None = None
