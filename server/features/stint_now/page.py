"""The sheet of a stint: what to do in the time there is, in order, each with its why."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import ClassVar

from server.core.work.cautions import LAST_WORD, WorkCaution, cautions_of
from server.core.work.next_stint import Chosen, Suggestion
from server.core.work.pace import PRIOR_TASKS, Pace
from server.core.work.tasks import ON_STANDS, ON_WHEELS
from server.errors import BadInput
from server.features.builds.page import Face, heading
from server.features.work.page import Plan, TaskLine, cautions_shown, task_line
from server.web import urls
from server.web.view import Caution, FormState, Link, News, Option, Page
from server.web.words import counted, day_text, minutes_text, minutes_typed

HOW = (
    "Points decide: 1 for a task finished, 1 more for each that waits for it, 5 where it sets the date,"
    " 2 where it is in hand; what is only begun counts nine tenths of its share. The car is turned once at"
    " most, and the time for that is counted. Hot work counts as noise. Common practice, no source."
)


UNPROVED = "There is more to choose from than was weighed: another list may be worth more points."


@dataclass(frozen=True, slots=True)
class AskedFor:
    """What was asked; query: the same, to ask for it again."""

    minutes: int
    start: datetime
    until: datetime
    helper_id: int | None
    quiet: bool
    wet: bool
    car: str
    query: str


@dataclass(frozen=True, slots=True)
class StintLine:
    """One thing to do. when: on the clock; first: how to turn the car before; reading: where to measure."""

    when: str
    first: str
    title: str
    why: str
    task: TaskLine | None
    reading: Link | None


@dataclass(frozen=True, kw_only=True)
class StintPage(Page):
    """What to do in the time there is, and the short form that says how long and who."""

    template: ClassVar[str] = "stint_now/stint.html"
    fragments: ClassVar[dict[str, str]] = {"stint": "stint"}

    build_id: int
    news: News | None
    lead: str
    lines: tuple[StintLine, ...]
    spare: str
    unproved: str
    nothing: str
    left_out: tuple[str, ...]
    asked: str
    minutes: str
    who: tuple[Option, ...]
    with_whom: str
    cars: tuple[Option, ...]
    car: str
    quiet: bool
    wet: bool
    pace: str
    how: str
    cautions: tuple[Caution, ...]
    form: FormState


def pace_words(pace: Pace) -> str:
    """How the times that were counted compare with the estimates, and what comes of it."""
    if not pace.tasks:
        return (
            "Times are the estimates as typed. Start, pause and finish tasks here, and the time they really"
            " take corrects the next ones."
        )
    return (
        f"Times are the estimates × {pace.factor:.2f}: {counted(pace.tasks, 'timed task')} took typically"
        f" {pace.observed:.2f} of the likely time, against a weight of {PRIOR_TASKS:g} tasks for the"
        " estimates as typed."
    )


def stint_page(
    *,
    build: Face,
    plan: Plan,
    now: datetime,
    asked: AskedFor,
    helpers: Mapping[int, str],
    suggestion: Suggestion,
    readings: Mapping[int, tuple[str, int]],
    pace: Pace,
    news: News | None,
    refused: BadInput | None,
) -> StintPage:
    """now: on the clock of the garage; readings: title and port by the id in the suggestion."""
    lines: list[StintLine] = []
    at = asked.start
    for one in suggestion.chosen:
        start = at + timedelta(minutes=one.setting_up)
        at = start + timedelta(minutes=one.minutes)
        lines.append(_line(build, plan, one, (start, at), asked.car, readings, pace))
    return StintPage(
        **heading(build, "Next stint", now.date(), within="Work"),
        build_id=build.id,
        news=news,
        lead=_lead(asked, now),
        lines=tuple(lines),
        spare=f"{suggestion.spare} min are left over." if suggestion.spare and lines else "",
        unproved="" if suggestion.exact else UNPROVED,
        nothing="" if lines else _nothing(asked.minutes),
        left_out=_left_out(suggestion),
        asked=asked.query,
        minutes=minutes_typed(asked.minutes),
        who=(Option("alone", "alone"), *(Option(str(at), f"with {name}") for at, name in helpers.items())),
        with_whom="alone" if asked.helper_id is None else str(asked.helper_id),
        cars=(Option(ON_WHEELS, "down, on its wheels"), Option(ON_STANDS, "up, on stands")),
        car=asked.car,
        quiet=asked.quiet,
        wet=asked.wet,
        pace=pace_words(pace),
        how=HOW,
        cautions=_cautions(plan, suggestion),
        form=FormState.of(refused),
    )


def _lead(asked: AskedFor, now: datetime) -> str:
    """E.g. "2 h, until 12:00", or the next stint of the week where nobody asked."""
    until = asked.until.astimezone(now.tzinfo)
    if asked.start > now:
        day = day_text(asked.start.date())
        return f"The next stint: {day} {asked.start:%H:%M}–{until:%H:%M}, {minutes_typed(asked.minutes)}"
    return f"{minutes_typed(asked.minutes)}, until {until:%H:%M}"


def _nothing(minutes: int) -> str:
    if not minutes:
        return "The time is over. Say how long there is."
    return "Nothing that can be done fits. Give it more time, a helper, or turn the car; or see what is held."


def _line(
    build: Face,
    plan: Plan,
    one: Chosen,
    when: tuple[datetime, datetime],
    car: str,
    readings: Mapping[int, tuple[str, int]],
    pace: Pace,
) -> StintLine:
    paced = " at your pace" if pace.tasks and one.id not in readings else ""
    told = f"{when[0]:%H:%M}–{when[1]:%H:%M}, {minutes_text(one.minutes)}{paced}"
    turn = "Lower the car to its wheels" if car == ON_STANDS else "Raise the car on its stands"
    first = f"{turn} first: {minutes_text(one.setting_up)}" if one.setting_up else ""
    why = "; ".join(one.why)
    if one.id in readings:
        title, port_id = readings[one.id]
        return StintLine(told, first, title, why, None, Link(urls.port(build.id, port_id), "Measure"))
    line = task_line(build, plan, plan.task(one.id), why)
    return StintLine(told, first, line.title, why, line, None)


def _left_out(suggestion: Suggestion) -> tuple[str, ...]:
    """E.g. "3 that could be done: needs a helper who welds"."""
    counts = Counter(why for _, why in suggestion.left_out)
    return tuple(f"{counted(number, 'task')}: {why}" for why, number in counts.most_common())


def _cautions(plan: Plan, suggestion: Suggestion) -> tuple[Caution, ...]:
    shown: dict[WorkCaution, None] = {}
    for one in suggestion.chosen:
        if one.setting_up:
            shown |= dict.fromkeys(cautions_of("under the car", False, ""))
        if one.id > 0:
            shown |= dict.fromkeys(cautions_shown(plan.task(one.id)))
    return tuple(Caution(one.signal, f"{one.text} {LAST_WORD}") for one in shown)
