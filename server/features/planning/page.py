"""The sheet of the plan: a dated strip of stints, what sets the date, and the same facts as a table."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from textwrap import wrap
from typing import ClassVar

from server.core.buying.order import OrderFace
from server.core.work.driving import Link as ChainLink
from server.core.work.driving import Why
from server.core.work.forecast.foresee import DRAWS, Driver, Forecast, Kind
from server.core.work.hours import Block, later, minutes_between
from server.core.work.left_open import part_awaited
from server.core.work.plan.schedule import CarChange, Placed, Schedule
from server.core.work.tasks import ON_STANDS, is_first_start
from server.core.work.to_plan import LATE_ALLOWED, UNKNOWN_LEAD, ToPlan
from server.features.builds.page import Face, heading
from server.features.work.page import Plan, hold_phrase
from server.web import urls
from server.web.view import Link, Page
from server.web.words import counted, day_text, minutes_text, pieces

LINE, HEAD = 17, 10
"""Heights of a line of the strip and of the rule between two days."""
LETTERS, LETTERS_HEAVY, MOST_LINES, NO_BREAK = 36, 31, 3, "\N{NO-BREAK SPACE}"
WEEKS, LINES = 16, 60
"""Of the strip and of the table no more are shown."""

HOW = (
    "The same build gets the same plan. Times are those expected, at your pace; what may go wrong is not"
    " counted, so the plan is early rather than late. A late order is given"
    f" {LATE_ALLOWED} days more, a part without a day or an offer {UNKNOWN_LEAD} days; what comes by post can"
    " be used from the evening of its day."
)
HOW_FORESEEN = (
    f"The order of this plan is gone through {DRAWS} times, each time with other durations, parcels and"
    " mishaps: a task's three times are drawn (beta-PERT), a parcel takes as long as its supplier says and"
    " did so far (log-normal; one that is late is counted as not here yet), and what may go wrong does so as"
    " often as was noted."
)
MOST_DRIVERS, DAY = 5, 1440


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
class Trouble:
    """What the plan can't place or does not know, why, and the way out."""

    what: str
    why: str
    out: Link


@dataclass(frozen=True, slots=True)
class Hanging:
    """What moves the later date: how much earlier it were with this as planned."""

    what: Link
    earlier: str


@dataclass(frozen=True, kw_only=True)
class PlanPage(Page):
    """The work in its stints, what sets the date, and what finds no place."""

    template: ClassVar[str] = "planning/plan.html"
    fragments: ClassVar[dict[str, str]] = {"first-start": "first_start"}

    build_id: int
    answer: str
    troubles: tuple[Trouble, ...]
    why: str = ""
    odds: str = ""
    hangs_on: tuple[Hanging, ...] = ()
    chain: tuple[Link, ...] = ()
    weeks: tuple[Week, ...] = ()
    rest: str = ""
    rows: tuple[Row, ...] = ()
    assumed: tuple[str, ...] = ()
    how: str = ""
    how_foreseen: str = ""


@dataclass(frozen=True, slots=True)
class _Thing:
    """Something with its moment, before it is drawn."""

    start: datetime
    minutes: int
    kind: str
    text: str
    href: str
    heavy: bool = False


def plan_page(
    *,
    build: Face,
    plan: Plan,
    orders: Sequence[OrderFace],
    made_at: datetime,
    to_plan: ToPlan | None,
    schedule: Schedule | None,
    target: int | None,
    chain: Sequence[ChainLink],
    ring: Sequence[int],
    foreseen: Forecast | None,
    mishaps: Mapping[int, tuple[str, int]],
    parts: Mapping[int, str],
) -> PlanPage:
    """made_at: the origin of the plan, on the clock of the garage.

    mishaps: what may go wrong and the task in which it may, by number; parts: their names.
    """
    titles = {task.id: task.title for task in plan.tasks}
    if to_plan is None or schedule is None:
        return _without_plan(build, made_at, [titles[at] for at in ring], ring)
    titles |= to_plan.readings
    sets = {link.id for link in chain}
    things = [*_work(build, schedule.placed, titles, sets, made_at)]
    things += _turns(build, schedule.changes, made_at)
    things += _post(build, orders, made_at)
    things += _visits(build, to_plan.blocks, made_at)
    end = schedule.makespan
    things = sorted(
        (one for one in things if minutes_between(made_at, one.start) <= end + 1440),
        key=lambda one: (one.start, ORDER.index(one.kind)),
    )
    weeks = _weeks(things)
    rows = tuple(_row(one) for one in things)
    placed = schedule.by_id()
    return PlanPage(
        **heading(build, "Plan", made_at.date(), within="Work"),
        build_id=build.id,
        answer=_answer(titles, placed, target, made_at),
        why=_why(to_plan, chain, titles),
        odds=_odds(foreseen, made_at),
        hangs_on=_hangs_on(build, foreseen, titles, mishaps, parts),
        chain=tuple(Link(_href(build, link.id), titles[link.id]) for link in chain),
        weeks=weeks[:WEEKS],
        rest=f"{counted(len(weeks) - WEEKS, 'week')} more follow." if len(weeks) > WEEKS else "",
        rows=rows[:LINES],
        troubles=tuple(_troubles(build, to_plan, schedule, titles)),
        assumed=tuple(hold_phrase(hold, made_at) for hold in to_plan.assumed[:12]),
        how=f"The best of {counted(schedule.passes, 'schedule')} tried. {HOW}",
        how_foreseen=HOW_FORESEEN if foreseen else "",
    )


ORDER = ("post", "visit", "turn", "work")


def _without_plan(build: Face, now: datetime, names: Sequence[str], ring: Sequence[int]) -> PlanPage:
    if names:
        round_it = ", then ".join(f"‘{name}’" for name in (*names, names[0]))
        out = Link(urls.task(build.id, ring[0]), "Take one of the ties away there")
        troubles = (Trouble("No plan: tasks wait for each other", f"{round_it}.", out),)
        answer = "No date: tasks go round in a ring."
    else:
        out = Link(urls.stints(build.id), "Say when you are in the garage")
        troubles = (Trouble("No plan yet", "It needs stints to put the work in, and work to put in.", out),)
        answer = "No date yet: the plan needs stints and tasks."
    return PlanPage(
        **heading(build, "Plan", now.date(), within="Work"),
        build_id=build.id,
        answer=answer,
        troubles=troubles,
    )


def _href(build: Face, at: int) -> str:
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
                _href(build, one.id),
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


def _weeks(things: Sequence[_Thing]) -> tuple[Week, ...]:
    """One strip for each week with something in it."""
    by_week: dict[date, list[_Thing]] = {}
    for one in things:
        day = one.start.date()
        by_week.setdefault(day - timedelta(days=day.weekday()), []).append(one)
    return tuple(_week(monday, some) for monday, some in by_week.items())


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


def _lines(one: _Thing) -> tuple[str, ...]:
    """The words beside a mark, three lines at the most; how long it takes is always there."""
    long = f" · {minutes_text(one.minutes)}".replace(" ", NO_BREAK) if one.minutes else ""
    words = wrap(one.text + long.replace(NO_BREAK, " ", 1), LETTERS_HEAVY if one.heavy else LETTERS)
    return tuple(words) if len(words) <= MOST_LINES else (*words[: MOST_LINES - 1], f"…{long}")


def _answer(
    titles: Mapping[int, str], placed: Mapping[int, Placed], target: int | None, made_at: datetime
) -> str:
    if target is None:
        return "No date: nothing finds a place."
    name = titles[target]
    if target not in placed:
        return f"No date for ‘{name}’: something before it finds no place."
    at = later(made_at, placed[target].finish)
    if is_first_start(name):
        return f"First start by the plan: {day_text(at.date())} {at:%Y}."
    return f"All done by the plan: {day_text(at.date())} {at:%Y}, with ‘{name}’ last."


def _odds(foreseen: Forecast | None, made_at: datetime) -> str:
    """The two dates that half and four fifths of the draws keep to, as far as there are stints for them."""
    if foreseen is None:
        return ""
    dates = [later(made_at, one) for one in (foreseen.likely, foreseen.safe) if one is not None]
    begins = ("As likely before as after", "four chances in five by")
    told = [f"{words} {day_text(at.date())} {at:%Y}" for words, at in zip(begins, dates, strict=False)]
    if len(dates) < len(begins):
        missed = round(100 * foreseen.without_date)
        told.append(
            f"in {missed} of 100 tries something misses the last stint or visit that is laid out for it:"
            " one more day with the helper, or more stints, would take that up"
        )
    text = "; ".join(told)
    return f"{text[0].upper()}{text[1:]}."


def _hangs_on(
    build: Face,
    foreseen: Forecast | None,
    titles: Mapping[int, str],
    mishaps: Mapping[int, tuple[str, int]],
    parts: Mapping[int, str],
) -> tuple[Hanging, ...]:
    """What the later date hangs on most, a day's worth at the least."""

    def named(one: Driver) -> Link:
        if one.kind is Kind.TASK:
            return Link(_href(build, one.id), f"‘{titles[one.id]}’ takes as long as is likely")
        if one.kind is Kind.RISK:
            title, task_id = mishaps[one.id]
            return Link(urls.task(build.id, task_id), f"no ‘{title}’")
        part = part_awaited(one.id)
        return Link(urls.part(build.id, part), f"{parts[part]} comes on its day")

    most = [one for one in (foreseen.drivers if foreseen else ()) if one.minutes >= DAY]
    return tuple(Hanging(named(one), counted(round(one.minutes / DAY), "day")) for one in most[:MOST_DRIVERS])


def _why(to_plan: ToPlan, chain: Sequence[ChainLink], titles: Mapping[int, str]) -> str:
    """What the chain begins with, in one sentence."""
    if not chain:
        return ""
    first = chain[0]
    arrivals = to_plan.arrivals.get(first.id, ())
    if first.why is Why.ARRIVAL and arrivals:
        last = max(arrivals, key=lambda one: one.on)
        late = ", late already" if last.late else ""
        return f"The date hangs on {last.what}, expected {day_text(last.on)}{late}."
    if first.why is Why.SLOT:
        return f"The date hangs on the slot of ‘{titles[first.id]}’."
    return "The date hangs on hours in the garage: an extra stint brings it forward."


def _troubles(
    build: Face, to_plan: ToPlan, schedule: Schedule, titles: Mapping[int, str]
) -> Iterable[Trouble]:
    """What has no place, the causes before what only comes after them; and parts that nobody offers."""
    behind = 0
    for one in schedule.no_place:
        if one.why.startswith("What it comes after"):
            behind += 1
            continue
        if "a helper" in one.why or "people who help" in one.why:
            out = Link(urls.stints(build.id), "Note a day on which such a helper comes")
        elif "in one go" in one.why:
            out = Link(_href(build, one.id), "Let it be spread over days, or give it a longer stint")
        else:
            out = Link(_href(build, one.id), "Look at its settings")
        yield Trouble(titles[one.id], one.why, out)
    if behind:
        out = Link(urls.work(build.id), "All work")
        yield Trouble(counted(behind, "more task"), "Comes after what has no place.", out)
    for hold in to_plan.unoffered[:10]:
        out = Link(urls.part(build.id, hold.subject_id or 0), "Note an offer, or make it of something else")
        yield Trouble(hold.what, f"No supplier offers it; {UNKNOWN_LEAD} days are assumed.", out)
