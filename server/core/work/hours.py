"""When the garage is worked in: stints by weekday, their exceptions and visits, as dated blocks and windows.

A stint is kept as the clock on the wall shows it, from minute to minute of a day; its length is what really
passes. So on the night that the clocks go forward a stint that spans the change is an hour shorter, and on
the night that they go back an hour longer.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from server.core.work.plan.problem import Window

DAY = 24 * 60
"""Minutes on the face of a clock between midnight and midnight."""
MINUTE = timedelta(minutes=1)
SUNDAY = 6
"""Of `date.weekday`."""


@dataclass(frozen=True, slots=True)
class Span:
    """From one minute of the day until just before another, as a clock on the wall shows them [min]."""

    begins: int
    ends: int


@dataclass(frozen=True, slots=True)
class Visit:
    """A stint with a helper.

    skills: what the helper is able to do, in the words of tasks; cancel_by: the last day on which calling it
    off does not waste the trip; note: as the builder wrote it.
    """

    id: int
    helper_id: int
    helper: str
    skills: tuple[str, ...]
    day: date
    span: Span
    cancel_by: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Hours:
    """The builder's time in the garage.

    weekly: weekday (Monday is 0) and span; extra: stints on one day besides; off: days on which the weekly
    ones are left out (extra stints and visits stand); visits: the builder is there too; noise: when noise may
    be made, at any time where not said; quiet_sundays: none on Sundays.
    """

    weekly: tuple[tuple[int, Span], ...] = ()
    extra: tuple[tuple[date, Span], ...] = ()
    off: frozenset[date] = frozenset()
    visits: tuple[Visit, ...] = ()
    noise: Span | None = None
    quiet_sundays: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """One stint on its day, with the moments at which it begins and ends; visits: who comes, if anybody."""

    start: datetime
    end: datetime
    visits: tuple[Visit, ...] = ()

    @property
    def minutes(self) -> int:
        """How long it really takes [min]."""
        return minutes_between(self.start, self.end)


def minutes_between(start: datetime, end: datetime) -> int:
    """Minutes that really pass between two aware moments [min], whole, rounded down.

    One is taken to UTC, so that both count by it: two moments of one time zone are otherwise subtracted as
    the clock shows them, whatever happened to it in between (Python standard library, `datetime`).
    """
    return (end.astimezone(UTC) - start) // MINUTE


def later(origin: datetime, minutes: int) -> datetime:
    """So many minutes that really pass [min] after an aware moment, on the same clock."""
    return (origin.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(origin.tzinfo)


def moment_of(day: date, minute: int, zone: tzinfo) -> datetime:
    """The moment at which a clock in `zone` shows that minute of the day [min], up to 24:00.

    What the clock shows twice is its first time; what it skips counts as if it went on as before (PEP 495).
    """
    on = day + timedelta(days=minute // DAY)
    return datetime.combine(on, time(minute % DAY // 60, minute % 60), zone)


def blocks(hours: Hours, zone: tzinfo, first: date, days: int) -> tuple[Block, ...]:
    """The stints of so many days, in order; those that touch or overlap are one."""
    found: list[Block] = []
    visits_on: defaultdict[date, list[Visit]] = defaultdict(list)
    for visit in hours.visits:
        visits_on[visit.day].append(visit)
    for day in (first + timedelta(days=count) for count in range(days)):
        visits = visits_on[day]
        spans = [span for weekday, span in hours.weekly if weekday == day.weekday() and day not in hours.off]
        spans += [span for on, span in hours.extra if on == day]
        spans += [one.span for one in visits]
        for span in merged(spans):
            inside = (one for one in visits if span.begins <= one.span.begins < span.ends)
            ends = moment_of(day, span.begins, zone), moment_of(day, span.ends, zone)
            found.append(Block(*ends, tuple(sorted(inside, key=lambda one: (one.span.begins, one.id)))))
    return tuple(one for one in found if one.minutes > 0)


def merged(spans: Iterable[Span]) -> tuple[Span, ...]:
    """The same minutes as spans that neither touch nor overlap, in order."""
    found: list[Span] = []
    for span in sorted(spans, key=lambda one: (one.begins, one.ends)):
        if found and span.begins <= found[-1].ends:
            found[-1] = Span(found[-1].begins, max(found[-1].ends, span.ends))
        else:
            found.append(span)
    return tuple(found)


def noise_blocks(hours: Hours, zone: tzinfo, first: date, days: int) -> tuple[Block, ...]:
    """When noise may be made on so many days, in order."""
    allowed = hours.noise or Span(0, DAY)
    every = (first + timedelta(days=count) for count in range(days))
    return tuple(
        Block(moment_of(day, allowed.begins, zone), moment_of(day, allowed.ends, zone))
        for day in every
        if not (hours.quiet_sundays and day.weekday() == SUNDAY)
    )


def noise_allowed(hours: Hours, at: datetime) -> bool:
    """Whether noise may be made at a moment, told in the zone of the garage."""
    minute = at.hour * 60 + at.minute
    allowed = hours.noise or Span(0, DAY)
    quiet_day = hours.quiet_sundays and at.weekday() == SUNDAY
    return not quiet_day and allowed.begins <= minute < allowed.ends


def windows(some: Iterable[Block], origin: datetime) -> tuple[Window, ...]:
    """Blocks as windows of a plan, in minutes that pass from `origin`; what lies before it is left out."""
    spans = ((minutes_between(origin, one.start), minutes_between(origin, one.end)) for one in some)
    return tuple(Window(max(start, 0), end) for start, end in spans if end > 0)


def skilled(skills: Iterable[str], skill: str) -> bool:
    """Whether somebody with these skills is able to do it; "" asks nothing.

    The words of a skill must begin what is asked, case aside: "welds" is able to do "welds stainless".
    """
    asked = skill.casefold().split()
    return not asked or any(
        asked[: len(one)] == one for one in (own.casefold().split() for own in skills) if one
    )
