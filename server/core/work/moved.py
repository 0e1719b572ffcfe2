"""What moved the date of a plan: how a build looked at two moments, and what changed between them."""

from collections.abc import Collection, Iterable, Mapping, Set
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

SHARES = tuple(number / 10 for number in range(1, 11))
"""Of the draws of a forecast, whose days an outlook keeps [-]."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A task that is not done. minutes: what is left of it [min]; ends: by the plan, none without a place."""

    title: str
    minutes: int
    ends: datetime | None = None


@dataclass(frozen=True, slots=True)
class Parcel:
    """A part that tasks wait for. on: the day that the plan counts on; holds: the ids of those tasks."""

    name: str
    on: date
    late: bool = False
    holds: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Slot:
    """A visit."""

    who: str
    day: date


@dataclass(frozen=True, slots=True)
class Outlook:
    """When a build is done, as seen at one moment, and all that the date may hang on.

    finish: the day by the plan; days: those by which each of `SHARES` of the draws is done, none where the
    stints end before; chain: ids of what sets the date; work, parcels, visits: by their numbers; hours: time
    in the garage by day [min].
    """

    at: datetime
    finish: date | None
    days: tuple[date | None, ...] = ()
    chain: tuple[int, ...] = ()
    work: Mapping[int, Piece] | None = None
    parcels: Mapping[int, Parcel] | None = None
    visits: Mapping[int, Slot] | None = None
    hours: Mapping[date, int] | None = None

    def by(self, share: float) -> date | None:
        """The day by which so large a share of the draws is done; share: one of `SHARES` [-]."""
        return self.days[SHARES.index(share)] if self.days else None

    @property
    def dates(self) -> tuple[date | None, ...]:
        """The three that are told: by the plan, as likely as not, four chances in five."""
        return (self.finish, self.by(0.5), self.by(0.8))


class What(StrEnum):
    """What may change between two outlooks."""

    DONE = "done"
    GONE = "no longer planned"
    ADDED = "new"
    LONGER = "takes longer"
    SHORTER = "takes less"
    NOT_DONE = "was to be done by now"
    COMES_LATER = "comes later"
    COMES_SOONER = "comes sooner"
    AWAITED = "is waited for"
    HERE = "no longer waited for"
    VISIT = "a visit more"
    NO_VISIT = "a visit less"
    MORE_HOURS = "more time in the garage"
    FEWER_HOURS = "less time in the garage"


LATER = frozenset(
    {
        What.ADDED,
        What.LONGER,
        What.NOT_DONE,
        What.COMES_LATER,
        What.AWAITED,
        What.NO_VISIT,
        What.FEWER_HOURS,
    }
)
"""What can put a date off; all else can only bring it forward."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that changed. id: of the task, part or visit; was, now: days or minutes [min], where it has
    them; bears: it stands on what set or sets the date; late: the parcel is overdue."""

    what: What
    id: int
    name: str
    was: date | int | None = None
    now: date | int | None = None
    bears: bool = False
    late: bool = False


def changes(before: Outlook, after: Outlook, done: Collection[int] = ()) -> tuple[Change, ...]:
    """All that changed, what bears on the date first; done: ids of done tasks. Source: definition."""
    chain = {*before.chain, *after.chain}
    found = [
        *_of_work(before, after, chain, done),
        *_of_parcels(before, after, chain),
        *_of_visits(before, after),
        *_of_hours(before, after),
    ]
    return tuple(sorted(found, key=lambda one: not one.bears))


def reasons(before: Outlook, after: Outlook, done: Collection[int] = ()) -> tuple[Change, ...]:
    """The changes that can have moved the date the way it went: those on what sets it, else any.

    Nothing where the date stayed. Source: definition; which of several did how much is not told apart.
    """
    way = _way(before, after)
    if way == 0:
        return ()
    fitting = [one for one in changes(before, after, done) if (one.what in LATER) == (way > 0)]
    bearing = [one for one in fitting if one.bears]
    return tuple(bearing or fitting)


def _way(before: Outlook, after: Outlook) -> int:
    """1 where the first of the three dates that differs went later, -1 where it came earlier, 0 for none."""
    for was, now in zip(before.dates, after.dates, strict=True):
        if was != now:
            return 1 if now is None or (was is not None and now > was) else -1
    return 0


def _of_work(before: Outlook, after: Outlook, chain: Set[int], done: Collection[int]) -> Iterable[Change]:
    old, new = before.work or {}, after.work or {}
    for at, piece in old.items():
        bears = at in chain
        if at not in new:
            yield Change(What.DONE if at in done else What.GONE, at, piece.title, bears=bears)
            continue
        more = new[at].minutes - piece.minutes
        if more:
            what = What.LONGER if more > 0 else What.SHORTER
            yield Change(what, at, piece.title, piece.minutes, new[at].minutes, bears)
        if piece.ends is not None and before.at < piece.ends <= after.at:
            yield Change(What.NOT_DONE, at, piece.title, piece.ends.date(), bears=bears)
    for at in new.keys() - old.keys():
        yield Change(What.ADDED, at, new[at].title, None, new[at].minutes, at in chain)


def _of_parcels(before: Outlook, after: Outlook, chain: Set[int]) -> Iterable[Change]:
    old, new = before.parcels or {}, after.parcels or {}
    for at, parcel in old.items():
        bears = not chain.isdisjoint(parcel.holds)
        if at not in new:
            yield Change(What.HERE, at, parcel.name, parcel.on, bears=bears)
        elif new[at].on != parcel.on:
            what = What.COMES_LATER if new[at].on > parcel.on else What.COMES_SOONER
            bears = bears or not chain.isdisjoint(new[at].holds)
            yield Change(what, at, new[at].name, parcel.on, new[at].on, bears, new[at].late)
    for at in new.keys() - old.keys():
        bears = not chain.isdisjoint(new[at].holds)
        yield Change(What.AWAITED, at, new[at].name, None, new[at].on, bears, new[at].late)


def _of_visits(before: Outlook, after: Outlook) -> Iterable[Change]:
    old, new = before.visits or {}, after.visits or {}
    for at, slot in old.items():
        if slot.day >= after.at.date() and new.get(at) != slot:
            yield Change(What.NO_VISIT, at, slot.who, slot.day, bears=True)
    for at, slot in new.items():
        if old.get(at) != slot:
            yield Change(What.VISIT, at, slot.who, None, slot.day, bears=True)


def _of_hours(before: Outlook, after: Outlook) -> Iterable[Change]:
    """Days that both know, from the later moment on."""
    old, new = before.hours or {}, after.hours or {}
    last = min(max(old, default=date.min), max(new, default=date.min))
    days = [day for day in {*old, *new} if after.at.date() < day <= last]
    was, now = (sum(known.get(day, 0) for day in days) for known in (old, new))
    if was != now:
        yield Change(What.MORE_HOURS if now > was else What.FEWER_HOURS, 0, "", was, now, True)
