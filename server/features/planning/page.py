"""The sheet of the plan: a dated strip of stints, what sets the date, and the same facts as a table."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import ClassVar

from server.core.buying.order import OrderFace
from server.core.work.driving import Link as ChainLink
from server.core.work.driving import Why
from server.core.work.forecast.foresee import DRAWS, Driver, Forecast, Kind, Risk
from server.core.work.hours import later
from server.core.work.left_open import part_awaited
from server.core.work.order_by import OrderBy
from server.core.work.pace import Pace
from server.core.work.plan.schedule import Placed, Schedule
from server.core.work.tasks import is_first_start
from server.core.work.to_plan import LATE_ALLOWED, UNKNOWN_LEAD, ToPlan
from server.features.builds.page import Face, heading
from server.features.forecasts.page import NOTHING, History
from server.features.stint_now.page import pace_words
from server.features.strip.page import EMPTY, Strip, href_of, strip
from server.features.work.page import Plan, hold_phrase
from server.web import urls
from server.web.view import Link, Page
from server.web.words import counted, day_text, minutes_text

HOW = (
    "The same build gets the same plan. Times are those expected, at your pace; what may go wrong is not"
    " counted, so the plan is early rather than late. A late order is given"
    f" {LATE_ALLOWED} days more, a part without a day or an offer {UNKNOWN_LEAD} days; what comes by post can"
    " be used from the evening of its day."
)
HOW_FORESEEN = (
    f"The order of this plan is gone through {DRAWS} times, each time with other durations, parcels and"
    " mishaps: a task's three times are drawn (beta-PERT), a parcel takes as long as its supplier says and"
    " did so far (log-normal; one that is late is counted as not here yet), what may go wrong does so as"
    " often as was noted, and pieces do not fit, or are cut too short, as often as checks and trims have it."
)
HOW_AGAIN = (
    "What was not measured, or fails by its best estimate, is not in these chances. A new part is waited for"
    " where none lies here; making it again takes its share of making and fitting the run."
)
MOST_DRIVERS, ORDERS_SHOWN, DAY = 5, 4, 1440
WORTH_A_LINE = 0.005
"""Chance from which a piece that may have to be made again is told by itself [-]."""
SOON = 3
"""Days ahead for which the garage says what must be ordered."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """What the plan can't place or does not know, why, and the way out."""

    what: str
    why: str
    out: Link


@dataclass(frozen=True, slots=True)
class ToOrder:
    """A part that nobody ordered yet: until when somebody must, and what for."""

    what: Link
    day: date
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class Hanging:
    """What moves the later date: how much earlier it were with this as planned."""

    what: Link
    earlier: str


@dataclass(frozen=True, slots=True)
class Again:
    """A piece that may have to be made again. days: that a new part takes [days], 0 where one lies here."""

    risk: Risk
    piece: str
    why: str
    days: int
    href: str


@dataclass(frozen=True, slots=True)
class AgainRow:
    """The same in words."""

    piece: Link
    why: str
    chance: str
    costs: str


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
    hangs_title: str = ""
    again: tuple[AgainRow, ...] = ()
    again_more: int = 0
    how_again: str = ""
    to_order: tuple[ToOrder, ...] = ()
    to_order_more: int = 0
    order_soon: str = ""
    history: History = NOTHING
    chain: tuple[Link, ...] = ()
    strip: Strip = EMPTY
    assumed: tuple[str, ...] = ()
    pace: str = ""
    how: str = ""
    how_foreseen: str = ""


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
    again: Sequence[Again],
    parts: Mapping[int, str],
    order_by: Sequence[OrderBy],
    history: History,
    pace: Pace,
) -> PlanPage:
    """made_at: the origin of the plan, on the clock of the garage.

    mishaps: what may go wrong and the task in which it may, by number; again: pieces that may have to be made
    again; parts: their names.
    """
    titles = {task.id: task.title for task in plan.tasks}
    if to_plan is None or schedule is None:
        return _without_plan(build, made_at, [titles[at] for at in ring], ring)
    titles |= to_plan.readings
    placed = schedule.by_id()
    return PlanPage(
        **heading(build, "Plan", made_at.date(), within="Work"),
        build_id=build.id,
        answer=_answer(titles, placed, target, made_at),
        why=_why(to_plan, chain, titles),
        odds=_odds(foreseen, made_at),
        hangs_on=_hangs_on(build, foreseen, titles, mishaps, again, parts),
        hangs_title="What the later date hangs on"
        if foreseen is None or foreseen.safe is not None
        else "What the even-odds date hangs on",
        again=tuple(_again_row(one) for one in _likeliest(again)),
        again_more=len([one for one in again if one.risk.chance < WORTH_A_LINE]),
        how_again=HOW_AGAIN if again else "",
        to_order=to_order(build, order_by[:ORDERS_SHOWN], titles, made_at.date()),
        order_soon=_order_soon(order_by, made_at.date()),
        to_order_more=max(len(order_by) - ORDERS_SHOWN, 0),
        history=history,
        chain=tuple(Link(href_of(build, link.id), titles[link.id]) for link in chain),
        strip=strip(build, schedule, to_plan.blocks, orders, titles, {link.id for link in chain}, made_at),
        troubles=tuple(_troubles(build, to_plan, schedule, titles)),
        assumed=tuple(hold_phrase(hold, made_at) for hold in to_plan.assumed[:12]),
        pace=pace_words(pace),
        how=f"The best of {counted(schedule.passes, 'schedule')} tried. {HOW}",
        how_foreseen=HOW_FORESEEN if foreseen else "",
    )


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
    again: Sequence[Again],
    parts: Mapping[int, str],
) -> tuple[Hanging, ...]:
    """What the date looked at hangs on most, a day's worth at the least."""
    recuts = {(one.risk.kind, one.risk.id): one for one in again}

    def named(one: Driver) -> Link:
        if one.kind is Kind.TASK:
            return Link(href_of(build, one.id), f"‘{titles[one.id]}’ takes as long as is likely")
        if one.kind is Kind.RISK:
            title, task_id = mishaps[one.id]
            return Link(urls.task(build.id, task_id), f"no ‘{title}’")
        if one.kind in (Kind.FIT, Kind.TRIM):
            known = recuts[one.kind, one.id]
            goes_well = "fits at once" if one.kind is Kind.FIT else "is not cut short"
            return Link(known.href, f"{known.piece} {goes_well}")
        part = part_awaited(one.id)
        return Link(urls.part(build.id, part), f"{parts[part]} comes on its day")

    drivers = foreseen.drivers if foreseen else ()
    most = [one for one in drivers if max(one.minutes, one.mean) >= DAY]
    return tuple(Hanging(named(one), _earlier(one)) for one in most[:MOST_DRIVERS])


def _earlier(one: Driver) -> str:
    """E.g. "4 days", or "2 days on average" where the date itself waits for a visit."""
    if one.minutes >= DAY:
        return counted(round(one.minutes / DAY), "day")
    return f"{counted(round(one.mean / DAY), 'day')} on average"


def _likeliest(again: Sequence[Again]) -> list[Again]:
    told = [one for one in again if one.risk.chance >= WORTH_A_LINE]
    return sorted(told, key=lambda one: -one.risk.chance)


def _again_row(one: Again) -> AgainRow:
    costs = minutes_text(one.risk.minutes)
    costs += f" and {counted(one.days, 'day')} for a new part" if one.days else ""
    return AgainRow(Link(one.href, one.piece), one.why, f"{round(100 * one.risk.chance)} in 100", costs)


def to_order(
    build: Face, some: Iterable[OrderBy], titles: Mapping[int, str], today: date
) -> tuple[ToOrder, ...]:
    """Until when each part must be ordered; titles: of the tasks, by number."""
    return tuple(
        ToOrder(
            Link(urls.part(build.id, one.part_id), one.what),
            one.day,
            order_by_text(one.day, today),
            f"for ‘{titles[one.task_id]}’ on {day_text(one.starts.date())};"
            f" the post takes {counted(one.days, 'day')}{'' if one.told else ', as assumed'}",
        )
        for one in some
    )


def _order_soon(some: Sequence[OrderBy], today: date) -> str:
    """What must be ordered within days, in one line: "Order today: 76 mm bend, flange and 2 more."."""
    if not some or some[0].day > today + timedelta(days=SOON):
        return ""
    first = [one.what for one in some if one.day <= max(some[0].day, today)]
    more = f" and {len(first) - 2} more" if len(first) > 2 else ""
    return f"{order_by_text(some[0].day, today)}: {', '.join(first[:2])}{more}."


def order_by_text(day: date, today: date) -> str:
    """E.g. "Order by Fri 27 Nov"; "Order today" where the plan can't wait."""
    return "Order today" if day <= today else f"Order by {day_text(day)}"


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
            out = Link(href_of(build, one.id), "Let it be spread over days, or give it a longer stint")
        else:
            out = Link(href_of(build, one.id), "Look at its settings")
        yield Trouble(titles[one.id], one.why, out)
    if behind:
        out = Link(urls.work(build.id), "All work")
        yield Trouble(counted(behind, "more task"), "Comes after what has no place.", out)
    for hold in to_plan.unoffered[:10]:
        out = Link(urls.part(build.id, hold.subject_id or 0), "Note an offer, or make it of something else")
        yield Trouble(hold.what, f"No supplier offers it; {UNKNOWN_LEAD} days are assumed.", out)
