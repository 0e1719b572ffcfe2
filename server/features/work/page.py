"""The sheet of all work: what is in hand, what can be done now, what is held and by what it comes down to."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import ClassVar

from server.core.work.causes import lower_first
from server.core.work.cautions import WorkCaution, cautions_of
from server.core.work.do_now import Next
from server.core.work.holding import Holding
from server.core.work.holds import Hold, HoldKind
from server.core.work.standing import Standing, Word
from server.core.work.tasks import TaskPlan, expected_minutes
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Link, News, Option, Page, Tally
from server.web.words import counted, day_text, days_late, minutes_text, moment_text


@dataclass(frozen=True, slots=True)
class Subsystem:
    """What a page needs to know of a subsystem."""

    id: int
    letter: str
    name: str


@dataclass(frozen=True, slots=True)
class Plan:
    """The work of a build at one moment, as the pages take it."""

    tasks: tuple[TaskPlan, ...]
    standings: Mapping[int, Standing]
    next: tuple[Next, ...]
    subsystems: tuple[Subsystem, ...]
    now: datetime
    risks: Mapping[int, str] = field(default_factory=dict)
    """What may go wrong with a task, in words, by the task's number."""
    held: Holding = field(default_factory=dict)

    def task(self, task_id: int) -> TaskPlan:
        return next(task for task in self.tasks if task.id == task_id)


@dataclass(frozen=True, slots=True)
class StateAct:
    """One tap that sets a state: the state, the words to press, and whether it is what one would do next."""

    state: str
    words: str
    main: bool = False


@dataclass(frozen=True, slots=True)
class TaskLine:
    """One task of a list."""

    id: int
    href: str
    letter: str
    title: str
    word: str
    why: str
    about: str
    late: str
    carry: str
    signal: str
    acts: tuple[StateAct, ...]


GROUPS = ("ready", "held", "waiting", "done")
FIRST_SHOWN, SHOWN = 20, 30
"""Of each group on the whole sheet, and of one group alone."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Which part of the work is asked for: everything where `group` is empty."""

    group: str = ""
    start: int = 0


WHOLE = Asked()


@dataclass(frozen=True, kw_only=True)
class WorkPage(Page):
    """The tasks of the build by what can be done with them, and the form for a new one.

    stuck: how many of the held ones, the first of them, are held from outside; the others wait their turn.
    group: the one group that is shown; empty where every group begins.
    """

    template: ClassVar[str] = "work/list.html"
    fragments: ClassVar[dict[str, str]] = {"work-list": "work_list"}

    build_id: int
    in_hand: tuple[TaskLine, ...]
    ready: tuple[TaskLine, ...]
    held: tuple[TaskLine, ...]
    stuck: int
    done: tuple[TaskLine, ...]
    group: str
    tally_ready: Tally
    tally_held: Tally
    tally_waiting: Tally
    tally_done: Tally
    aside: tuple[Link, ...]
    """The tasks set aside, each with the address where it is put back."""
    subsystems: tuple[Option, ...]
    news: News | None
    form: FormState


def hold_phrase(hold: Hold, now: datetime, *, late: bool = True) -> str:
    """E.g. "the 101.6 to 80 mm reducer, in the post until Thu 3 Dec"; `late` says how late it is too."""
    one_part = hold.kind is HoldKind.PART and "×" not in hold.what
    words = f"the {lower_first(hold.words)}" if one_part else hold.words
    if hold.until is not None:
        return f"{words} until {moment_text(hold.until, now)}"
    if hold.due is None:
        return words
    if hold.late_days:
        due = f"{words}, due {day_text(hold.due)}"
        return f"{due}, {days_late(hold.late_days)}" if late else due
    return f"{words} until {day_text(hold.due)}"


def by_holds(holds: Sequence[Hold], now: datetime) -> str:
    """Why a task is held, the latest first: "by the elbow, in the post, due Mon 23 Nov; and 2 more"."""
    if not holds:
        return ""
    first = f"by {hold_phrase(most_late(holds), now, late=False)}"
    return f"{first}; and {len(holds) - 1} more" if len(holds) > 1 else first


def most_late(holds: Sequence[Hold]) -> Hold:
    """The one that is the most days late, else the one expected last."""
    return max(holds, key=lambda hold: hold.late_days)


def about_task(task: TaskPlan) -> str:
    """How long, where and who, e.g. "40 min, under the car, 2 people"."""
    words = [minutes_text(expected_minutes(task)), task.place]
    if task.car_state not in ("any", task.place):
        words.append(f"car {task.car_state}" if task.car_state != "engine bay open" else task.car_state)
    if task.hands > 1:
        words.append(f"{task.hands} people")
    if task.hot_work:
        words.append("hot work")
    return ", ".join(words)


def risk_words(risks: Iterable[tuple[float, int]]) -> str:
    """Chances between 0 and 1, and times [min], e.g. "30 % that 2 h more, 5 % that 8 h more"."""
    likeliest = sorted(risks, reverse=True)
    return ", ".join(f"{chance * 100:.0f} % that {minutes_text(time)} more" for chance, time in likeliest)


def acts_of(word: Word) -> tuple[StateAct, ...]:
    """What can be done with a task that stands so, the likely act first."""
    if word is Word.IN_HAND:
        return (StateAct("done", "Done", main=True), StateAct("open", "Pause"))
    if word is Word.READY:
        return (StateAct("in hand", "Start", main=True),)
    return (StateAct("open", "Reopen"),) if word is Word.DONE else ()


def task_line(
    build: Face, plan: Plan, task: TaskPlan, why: str = "", told: Sequence[Hold] | None = None
) -> TaskLine:
    """`told`: the holds that the line speaks of, all roots where not given."""
    standing = plan.standings[task.id]
    holds = standing.roots if told is None else told
    late = most_late(holds).late_days if holds else 0
    warned = cautions_shown(task)
    return TaskLine(
        id=task.id,
        href=urls.task(build.id, task.id),
        letter=next((one.letter for one in plan.subsystems if one.id == task.subsystem_id), ""),
        title=task.title,
        word=standing.word.value,
        why=why or by_holds(holds, plan.now),
        about=", and ".join(
            filter(None, (about_task(task), "" if task.done else plan.risks.get(task.id, "")))
        ),
        late=days_late(late) if late and standing.word is Word.HELD else "",
        carry=task.carry,
        signal=", ".join(caution.name for caution in warned),
        acts=acts_of(standing.word),
    )


def _and_risks(plan: Plan, task: TaskPlan) -> str:
    risks = "" if task.done else plan.risks.get(task.id, "")
    return f", and {risks}" if risks else ""


def cautions_shown(task: TaskPlan) -> tuple[WorkCaution, ...]:
    return cautions_of(task.place, task.hot_work, task.caution, task.licensed)


def next_lines(build: Face, plan: Plan, most: int) -> tuple[TaskLine, ...]:
    """The first of the tasks in hand and the ready ones, as one would do them, each with its why."""
    return tuple(
        task_line(build, plan, plan.task(entry.task_id), entry.reason.words) for entry in plan.next[:most]
    )


def stuck_tasks(plan: Plan) -> list[TaskPlan]:
    """The tasks held by something from outside, the latest of them first."""
    return [task for task in _held(plan) if held_from_outside(plan.standings[task.id])]


def _held(plan: Plan) -> list[TaskPlan]:
    """The held tasks, those held by something from outside first, the latest of them first."""
    held = [task for task in plan.tasks if plan.standings[task.id].word is Word.HELD]
    return sorted(held, key=lambda task: _outside_first(plan.standings[task.id]))


def line_of_own_holds(build: Face, plan: Plan, task: TaskPlan) -> TaskLine:
    """A held task with its own holds and the number of tasks behind it."""
    standing = plan.standings[task.id]
    own = standing.outside
    why = by_holds(own, plan.now)
    behind = standing.frees.in_all
    return task_line(build, plan, task, f"{why}; {counted(behind, 'task')} behind it" if behind else why, own)


def held_from_outside(standing: Standing) -> bool:
    """Held by something of its own, not only by tasks that come first."""
    return bool(standing.outside)


def _outside_first(standing: Standing) -> tuple[bool, int, int]:
    return (not standing.outside, -standing.late_days, -standing.frees.in_all)


def still_held(plan: Plan, part_ids: Collection[int]) -> str:
    """The tasks that still wait for one of these parts, with what for; "" where none does."""
    told = []
    for task in plan.tasks:
        own = plan.standings[task.id].outside
        waits = [hold for hold in own if hold.kind is HoldKind.PART and hold.subject_id in part_ids]
        if waits:
            told.append(f"‘{task.title}’ {by_holds(waits, plan.now)}")
    if not told:
        return ""
    more = f" And {counted(len(told) - 2, 'more task')}." if len(told) > 2 else ""
    return f"Still held: {'; '.join(told[:2])}.{more}"


def work_page(
    build: Face,
    plan: Plan,
    news: News | None,
    refused: Refused | None,
    aside: Sequence[Link] = (),
    asked: Asked = WHOLE,
) -> WorkPage:
    how = plan.standings
    by_id = {task.id: task for task in plan.tasks}
    in_hand = [one for one in plan.next if how[one.task_id].word is Word.IN_HAND]
    ready = [one for one in plan.next if how[one.task_id].word is Word.READY]
    held = _held(plan)
    stuck = [task for task in held if held_from_outside(how[task.id])]
    waiting = held[len(stuck) :]
    done = [task for task in plan.tasks if task.done]
    done.reverse()
    every = (len(ready), len(stuck), len(waiting), len(done))
    parts = [_part(name, total, asked) for name, total in zip(GROUPS, every, strict=True)]
    tallies = [_tally(build, name, total, asked) for name, total in zip(GROUPS, every, strict=True)]
    shown_stuck = stuck[parts[1]]
    return WorkPage(
        **heading(build, "Work", plan.now.date()),
        build_id=build.id,
        in_hand=tuple(task_line(build, plan, by_id[one.task_id], one.reason.words) for one in in_hand),
        ready=tuple(task_line(build, plan, by_id[one.task_id], one.reason.words) for one in ready[parts[0]]),
        held=tuple(task_line(build, plan, task) for task in (*shown_stuck, *waiting[parts[2]])),
        stuck=len(shown_stuck),
        done=tuple(task_line(build, plan, task) for task in done[parts[3]]),
        group=asked.group,
        tally_ready=tallies[0],
        tally_held=tallies[1],
        tally_waiting=tallies[2],
        tally_done=tallies[3],
        aside=tuple(aside),
        subsystems=subsystem_options(plan.subsystems),
        news=news,
        form=FormState.of(refused),
    )


def _part(group: str, total: int, asked: Asked) -> slice:
    """Which tasks of a group are shown."""
    if not asked.group:
        return slice(0, FIRST_SHOWN)
    if group != asked.group:
        return slice(0, 0)
    start = asked.start if asked.start < total else 0
    return slice(start, start + SHOWN)


def _tally(build: Face, group: str, total: int, asked: Asked) -> Tally:
    if asked.group not in ("", group):
        return Tally(total)
    at = partial(urls.work_part, build.id, group)
    return Tally.of(total, _part(group, total, asked), SHOWN, at)


def subsystem_options(subsystems: Iterable[Subsystem]) -> tuple[Option, ...]:
    named = [Option(str(one.id), f"{one.letter} {one.name}") for one in subsystems]
    return (Option("", "—"), *named)


def holds_words(titles: Sequence[str]) -> str:
    """E.g. "holds ‘Fit the intake’ and 2 more"."""
    if not titles:
        return ""
    more = f" and {len(titles) - 1} more" if len(titles) > 1 else ""
    return f"holds ‘{titles[0]}’{more}"
