"""The strip of a plan: work, visits, post and turns of the car in their days, drawn and as a table."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import accumulate, islice
from textwrap import wrap

from server.core.buying.order import OrderFace
from server.core.work.hours import Block, later
from server.core.work.plan.schedule import CarChange, Placed, Schedule
from server.core.work.tasks import ON_STANDS
from server.core.work.to_plan import LATE_ALLOWED
from server.features.builds.page import Face
from server.web import urls
from server.web.view import Link
from server.web.words import counted, day_text, minutes_text, pieces

LINE, HEAD = 17, 10
"""Heights of a line of the strip and of the rule between two days."""
LETTERS, LETTERS_HEAVY, MOST_LINES, NO_BREAK = 36, 31, 3, "\N{NO-BREAK SPACE}"
WEEKS, MARKS, LINES = 16, 100, 60
"""Of the strip so many weeks are shown, fewer where much stands in them, and so many lines of the table."""

ORDER = ("post", "visit", "turn", "work")


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing on the strip. y, height: where its piece of rail stands; kind: work, turn, post, visit."""

    y: float
    height: float
    day: str
    kind: str
    words: tuple[str, ...]
    heavy: bool


@dataclass(frozen=True, slots=True)
class Week:
    """The strip of one week. label: for those who hear it."""

    title: str
    label: str
    height: float
    rules: tuple[float, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: when, what, how long; sets: it sets the date."""

    when: str
    what: Link
    long: str
    sets: bool


@dataclass(frozen=True, slots=True)
class _Thing:
    """Something with its moment, before it is drawn."""

    start: datetime
    minutes: int
    kind: str
    text: str
    href: str
    heavy: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """The weeks as drawn, what is left out of them, and the same facts as rows of a table."""

    weeks: tuple[Week, ...] = ()
    rest: str = ""
    rows: tuple[Row, ...] = ()


EMPTY = Strip()


def strip(
    build: Face,
    schedule: Schedule,
    blocks: Iterable[Block],
    orders: Iterable[OrderFace],
    titles: Mapping[int, str],
    sets: set[int],
    made_at: datetime,
) -> Strip:
    """titles: of work by its number; sets: what sets the date; made_at: the origin of the plan."""
    things = [*_work(build, schedule.placed, titles, sets, made_at)]
    things += _turns(build, schedule.changes, made_at)
    things += _post(build, orders, made_at)
    things += _visits(build, blocks, made_at)
    until = later(made_at, schedule.makespan + 1440)
    things = sorted(
        (one for one in things if one.start <= until),
        key=lambda one: (one.start, ORDER.index(one.kind)),
    )
    weeks = _weeks(things)
    sizes = accumulate(len(some) for some in weeks.values())
    shown = max(sum(size <= MARKS for size in sizes), 1) if weeks else 0
    drawn = [_week(*week) for week in islice(weeks.items(), min(shown, WEEKS))]
    rest = len(weeks) - len(drawn)
    return Strip(
        tuple(drawn),
        f"{counted(rest, 'week')} more follow." if rest else "",
        tuple(_row(one) for one in things[:LINES]),
    )


def href_of(build: Face, at: int) -> str:
    """Where a piece of work stands: a task, or the port of a reading, whose numbers are below zero."""
    return urls.task(build.id, at) if at > 0 else urls.port(build.id, -at)


def _work(
    build: Face, placed: Iterable[Placed], titles: Mapping[int, str], sets: set[int], made_at: datetime
) -> Iterable[_Thing]:
    for one in placed:
        for count, part in enumerate(one.parts):
            more = " (goes on)" if count else ""
            yield _Thing(
                later(made_at, part.start),
                part.end - part.start,
                "work",
                titles[one.id] + more,
                href_of(build, one.id),
                one.id in sets,
            )


def _turns(build: Face, changes: Iterable[CarChange], made_at: datetime) -> Iterable[_Thing]:
    for one in changes:
        words = "Raise the car on its stands" if one.to == ON_STANDS else "Lower the car to its wheels"
        yield _Thing(later(made_at, one.start), one.finish - one.start, "turn", words, urls.stints(build.id))


def _post(build: Face, orders: Iterable[OrderFace], made_at: datetime) -> Iterable[_Thing]:
    today = made_at.date()
    for order in orders:
        owed = [line for line in order.lines if line.rest]
        if not owed or order.due_on is None:
            continue
        late = order.due_on < today
        on = today + timedelta(days=LATE_ALLOWED) if late else order.due_on
        first = pieces(owed[0].rest, owed[0].part_name)
        more = f" and {counted(len(owed) - 1, 'line')} more" if len(owed) > 1 else ""
        words = f"{order.supplier}: {first}{more}{', late' if late else ''}"
        midday = datetime(on.year, on.month, on.day, 12, tzinfo=made_at.tzinfo)
        yield _Thing(max(midday, made_at), 0, "post", words, urls.order(build.id, order.id))


def _visits(build: Face, blocks: Iterable[Block], made_at: datetime) -> Iterable[_Thing]:
    for block in blocks:
        for visit in block.visits:
            if block.end > made_at:
                able = f", {visit.skills[0]}" if visit.skills else ""
                start = max(block.start, made_at)
                yield _Thing(start, 0, "visit", f"{visit.helper} comes{able}", urls.visit(build.id, visit.id))


def _row(one: _Thing) -> Row:
    when = f"{day_text(one.start.date())}" + ("" if one.kind == "post" else f" {one.start:%H:%M}")
    long = minutes_text(one.minutes) if one.minutes else {"post": "by post"}.get(one.kind, "")
    return Row(when, Link(one.href, one.text), long, one.heavy)


def _weeks(things: Sequence[_Thing]) -> dict[date, list[_Thing]]:
    """By Monday, what is in each week with something in it."""
    by_week: dict[date, list[_Thing]] = {}
    for one in things:
        day = one.start.date()
        by_week.setdefault(day - timedelta(days=day.weekday()), []).append(one)
    return by_week


def _week(monday: date, things: Sequence[_Thing]) -> Week:
    y, last = 4.0, None
    rules: list[float] = []
    marks: list[Mark] = []
    for one in things:
        day = one.start.date()
        if day != last:
            if last is not None:
                y += HEAD
            rules.append(y)
            y += 4
        words = _lines(one)
        height = float(LINE * len(words))
        marks.append(Mark(y, height, day_text(day) if day != last else "", one.kind, words, one.heavy))
        y += height + 3
        last = day
    count = len({one.start.date() for one in things})
    title = f"Week of {day_text(monday)}"
    return Week(
        title,
        f"{title}: {counted(count, 'day')} with work, visits or post",
        y + 4,
        tuple(rules),
        tuple(marks),
    )


@lru_cache(maxsize=1024)
def _wrapped(text: str, letters: int) -> tuple[str, ...]:
    """Remembered: most of a strip says what it said before."""
    return tuple(wrap(text, letters))


def _lines(one: _Thing) -> tuple[str, ...]:
    """The words beside a mark, three lines at the most; how long it takes is always there."""
    long = f" · {minutes_text(one.minutes)}".replace(" ", NO_BREAK) if one.minutes else ""
    words = _wrapped(one.text + long.replace(NO_BREAK, " ", 1), LETTERS_HEAVY if one.heavy else LETTERS)
    return words if len(words) <= MOST_LINES else (*words[: MOST_LINES - 1], f"…{long}")
