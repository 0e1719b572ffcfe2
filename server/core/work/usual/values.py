"""What the usual set is made of: subsystems with the ports they must keep and the tasks they bring.

Nothing here is required; a builder ticks what the car calls for. Source of all times, chances and waits:
common practice, no source.
"""

from dataclasses import dataclass

from server.core.work import tasks

HOUR = 60
"""[min]"""
NIGHT = 12 * HOUR
DAY = 24 * HOUR

BENCH = "bench"
ENGINE_BAY = "engine bay"
UNDER = "under the car"
OUTSIDE = "outside"
ON_STANDS = tasks.ON_STANDS
ON_WHEELS = tasks.ON_WHEELS
BAY_OPEN = "engine bay open"


@dataclass(frozen=True, slots=True)
class UsualPort:
    """A port that has to be kept or joined; its words are those of a port's form.

    when: facts about the car that all must hold for it to be offered ticked.
    """

    code: str
    name: str
    role: str = "run end"
    shape: str = "spigot"
    medium: str = "air"
    end_form: str = "plain"
    frame: str = "engine"
    stretch: str = "anywhere"
    note: str = ""
    when: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UsualSetback:
    """What may go wrong with a task: the task it would bring, its chance (0 to 1) and three times [min]."""

    title: str
    chance: float
    times: tuple[int, int, int]
    carry: str = ""
    caution: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class UsualTask:
    """A piece of work; its words are those of a task's form.

    times: if all goes well, likely, if it fights back [min]; after: codes of the tasks that come first;
    later: the same with a least wait [min of calendar time]; readings: sizes it waits for, as (code of the
    port, dimension); design: what it waits for of its own subsystem's design: decision, checks, to make (its
    pieces to be made are here), to fit (all its pieces are); when: as of a port.
    """

    code: str
    title: str
    times: tuple[int, int, int]
    place: str = BENCH
    car_state: str = "any"
    after: tuple[str, ...] = ()
    later: tuple[tuple[str, int], ...] = ()
    hands: int = 1
    helper_skill: str = ""
    hot_work: bool = False
    splits: bool = True
    caution: str = ""
    carry: str = ""
    note: str = ""
    readings: tuple[tuple[str, str], ...] = ()
    design: tuple[str, ...] = ()
    setbacks: tuple[UsualSetback, ...] = ()
    when: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UsualSubsystem:
    """kind: as a subsystem's form names it, empty for the work on the whole car."""

    kind: str
    name: str
    ports: tuple[UsualPort, ...] = ()
    tasks: tuple[UsualTask, ...] = ()
    when: tuple[str, ...] = ()
