"""One task: how it stands, what it is tied to, and its settings."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from server.core.buying.stock import Allotment
from server.core.first_start.holds import NO_STAGE
from server.core.first_start.whole import TITLES
from server.core.work.cautions import CAUTIONS, LAST_WORD, LICENSED
from server.core.work.holds import Hold, HoldKind
from server.core.work.tasks import TaskPlan
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.photos.page import Album
from server.features.setbacks.page import SetbackLine
from server.features.work.page import (
    Plan,
    TaskLine,
    cautions_shown,
    hold_phrase,
    subsystem_options,
    task_line,
)
from server.web import urls
from server.web.view import Caution, FormState, Link, News, Option, Page
from server.web.words import counted, day_text, days_late, minutes_typed

LABELS = {
    "title": "What is to be done",
    "subsystem_id": "Subsystem",
    "low": "If all goes well",
    "likely": "Likely",
    "high": "If it fights back",
    "place": "Where",
    "car_state": "The car must stand",
    "hands": "People",
    "helper_skill": "A helper must be able to",
    "hot_work": "Hot work",
    "splits": "May be spread over days",
    "caution": "Caution",
    "licensed": "Needs a licensed person",
    "start_stage": "Holds the first start at",
    "carry": "Carry with you",
    "note": "Note",
}

STAGES = (
    Option("", "as worked out"),
    *(Option(code, title) for code, title in TITLES.items()),
    Option(NO_STAGE, "nothing: it does not matter for it"),
)


@dataclass(frozen=True, slots=True)
class Reason:
    """One hold or root in words, with the page where it can be solved."""

    text: str
    href: str
    late: bool


@dataclass(frozen=True, slots=True)
class Before:
    """A task that must be done first, and the least wait after it."""

    id: int
    link: Link
    wait: str
    done: bool


@dataclass(frozen=True, slots=True)
class NeedLine:
    """A part that the task needs, and how it stands with it."""

    id: int
    part: Link
    quantity: int
    state: str
    here: bool


@dataclass(frozen=True, slots=True)
class WaitLine:
    """A reading, decision or set of checks that the task waits for."""

    id: int
    text: str
    state: str
    solved: bool


@dataclass(frozen=True, slots=True)
class HoldLine:
    """A hold set by hand."""

    id: int
    kind: str
    reason: str
    until: str
    cleared: bool


@dataclass(frozen=True, slots=True)
class TaskFields:
    """What stands in the fields of the task's own form."""

    title: str
    subsystem_id: str
    low: str
    likely: str
    high: str
    place: str
    car_state: str
    hands: int
    helper_skill: str
    hot_work: bool
    splits: bool
    caution: str
    licensed: str
    start_stage: str
    carry: str
    note: str


OFFERED = 100
"""A list of choices is no longer; the rest is found by name."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """Something a task can be tied to, and the subsystems it belongs to."""

    option: Option
    subsystems: frozenset[int]


@dataclass(frozen=True, slots=True)
class Candidates:
    """All that the tasks of a build can be tied to."""

    tasks: tuple[Candidate, ...]
    parts: tuple[Candidate, ...]
    waits: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True)
class Offered:
    """What a list offers out of `total`; `missed`: nothing has the words that were looked for."""

    options: tuple[Option, ...]
    total: int
    missed: bool = False

    @property
    def hint(self) -> str:
        if len(self.options) == self.total:
            return ""
        shown = f"{len(self.options)} of {self.total} are in this list"
        return f"nothing has that name; {shown}" if self.missed else shown


@dataclass(frozen=True, slots=True)
class Choices:
    """What the lists of the task's forms offer; `find`: the words looked for."""

    subsystems: tuple[Option, ...]
    cautions: tuple[Option, ...]
    licensed: tuple[Option, ...]
    stages: tuple[Option, ...]
    tasks: Offered
    parts: Offered
    waits: Offered
    find: str


@dataclass(frozen=True, slots=True)
class Ties:
    """What a task is tied to: tasks before it, parts, what it waits for, holds by hand."""

    before: tuple[Before, ...] = ()
    needs: tuple[NeedLine, ...] = ()
    waits: tuple[WaitLine, ...] = ()
    holds: tuple[HoldLine, ...] = ()
    setbacks: tuple[SetbackLine, ...] = ()
    setbacks_aside: tuple[SetbackLine, ...] = ()


@dataclass(frozen=True, slots=True)
class RefusedForm:
    """A form that was refused, and which one of the sheet's: task, after, need, wait, hold, photo,
    setback (a new one), or setback-7."""

    refused: Refused | None = None
    which: str = "task"

    def of(self, which: str) -> FormState:
        return FormState.of(self.refused if which == self.which else None)


@dataclass(frozen=True, kw_only=True)
class TaskPage(Page):
    """One task: how it stands, what comes first, what it needs and waits for, and its settings."""

    template: ClassVar[str] = "tasks/task.html"
    fragments: ClassVar[dict[str, str]] = {"task": "task"}

    build_id: int
    id: int
    version: int
    line: TaskLine
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]
    ties: Ties
    follows: tuple[Link, ...]
    fields: TaskFields
    choices: Choices
    photos: Album
    news: News | None
    form: FormState
    after_form: FormState = field(default_factory=FormState)
    need_form: FormState = field(default_factory=FormState)
    wait_form: FormState = field(default_factory=FormState)
    hold_form: FormState = field(default_factory=FormState)
    setback_form: FormState = field(default_factory=FormState)
    photo_form: FormState = field(default_factory=FormState)


def hold_href(hold: Hold, build_id: int) -> str:
    """The page where the hold can be solved; empty where that is the task's own."""
    if hold.subject_id is None:
        return ""
    pages = {
        HoldKind.PART: urls.part,
        HoldKind.TASK: urls.task,
        HoldKind.WAIT: urls.task,
        HoldKind.READING: urls.port,
        HoldKind.DECISION: urls.subsystem,
        HoldKind.CHECK: urls.subsystem,
    }
    page = pages.get(hold.kind)
    return page(build_id, hold.subject_id) if page else ""


def task_fields(task: TaskPlan, note: str, start_stage: str) -> TaskFields:
    """The task as its form shows it."""
    return TaskFields(
        title=task.title,
        subsystem_id=str(task.subsystem_id or ""),
        low=minutes_typed(task.minutes_low),
        likely=minutes_typed(task.minutes_likely),
        high=minutes_typed(task.minutes_high),
        place=task.place,
        car_state=task.car_state,
        hands=task.hands,
        helper_skill=task.helper_skill,
        hot_work=task.hot_work,
        splits=task.splits,
        caution=task.caution,
        licensed=task.licensed,
        start_stage=start_stage,
        carry=task.carry,
        note=note,
    )


def before_lines(build: Face, plan: Plan, task: TaskPlan, after_ids: Mapping[int, int]) -> tuple[Before, ...]:
    """`after_ids`: number of the stored dependency, by the task that comes first."""
    return tuple(
        Before(
            after_ids[after.task_id],
            Link(urls.task(build.id, after.task_id), plan.task(after.task_id).title),
            f"then wait {minutes_typed(after.least_wait)}" if after.least_wait else "",
            plan.task(after.task_id).done,
        )
        for after in task.after
    )


def need_line(
    build: Face, need_id: int, part_id: int, name: str, quantity: int, got: Allotment | None
) -> NeedLine:
    """`got`: what the task gets of the part; none for a task that is done and has used it."""
    if got is None:
        state = "used"
    elif got.met:
        state = "in the garage"
    elif got.short:
        state = f"{got.short} short"
    else:
        due = got.last.due_on if got.last else None
        late = got.last.late_days if got.last else 0
        state = "in the post" + (f", {days_late(late)}" if late else f" until {day_text(due)}" if due else "")
    part = Link(urls.part(build.id, part_id), name)
    return NeedLine(need_id, part, quantity, state, got is None or got.met)


def hold_line(hold_id: int, kind: str, reason: str, until: date | None, cleared: bool) -> HoldLine:
    return HoldLine(hold_id, kind, reason, f"until {day_text(until)}" if until else "", cleared)


def offered(candidates: Sequence[Candidate], subsystem_id: int | None, find: str, typed: str) -> Offered:
    """Those with every word looked for; without words, those of the task's own subsystem first.

    typed: what was chosen before in a form that was refused; it stays in the list.
    """
    words = find.casefold().split()
    hits = [one for one in candidates if _has_all(one, words)] if words else candidates
    near = [one for one in hits or candidates if subsystem_id in one.subsystems]
    near += [one for one in hits or candidates if subsystem_id not in one.subsystems]
    shown = [one.option for one in near[:OFFERED]]
    shown += [one.option for one in near[OFFERED:] if typed and one.option.value == typed]
    return Offered(tuple(shown), len(candidates), not hits)


def _has_all(candidate: Candidate, words: Sequence[str]) -> bool:
    text = candidate.option.text.casefold()
    return all(word in text for word in words)


def task_page(
    build: Face,
    plan: Plan,
    task: TaskPlan,
    version: int,
    note: str,
    start_stage: str,
    ties: Ties,
    candidates: Candidates,
    find: str,
    photos: Album,
    news: News | None,
    refused: RefusedForm,
) -> TaskPage:
    """`find`: words of the name of something that the task is to be tied to."""

    def listed(some: Sequence[Candidate], form: str, name: str) -> Offered:
        return offered(some, task.subsystem_id, find, refused.of(form).text(name, ""))

    own = str(task.id)
    others = tuple(one for one in candidates.tasks if one.option.value != own)
    standing = plan.standings[task.id]
    followers = [other for other in plan.tasks if any(after.task_id == task.id for after in other.after)]
    waiting = counted(standing.frees.in_all, "task") + " waiting for it" if standing.frees.in_all else ""
    unsuited = next((one.reason.unsuited for one in plan.next if one.task_id == task.id), "")
    why = "; ".join(filter(None, (unsuited, waiting)))
    return TaskPage(
        **heading(build, "Task", plan.now.date(), within="Work"),
        build_id=build.id,
        id=task.id,
        version=version,
        line=task_line(build, plan, task, unsuited if standing.roots else why),
        reasons=tuple(
            Reason(hold_phrase(root, plan.now), hold_href(root, build.id), bool(root.late_days))
            for root in standing.roots
        ),
        cautions=tuple(
            Caution(one.signal, f"{one.text} {LAST_WORD}") for one in cautions_shown(task) if not task.done
        ),
        ties=ties,
        follows=tuple(Link(urls.task(build.id, other.id), other.title) for other in followers),
        fields=task_fields(task, note, start_stage),
        choices=Choices(
            subsystem_options(plan.subsystems),
            (Option("", "—"), *(Option(one.code, one.name) for one in CAUTIONS)),
            (Option("", "no"), *(Option(one, one) for one in LICENSED)),
            STAGES,
            listed(others, "after", "after_task_id"),
            listed(candidates.parts, "need", "part_id"),
            listed(candidates.waits, "wait", "waits_for"),
            find,
        ),
        photos=photos,
        news=news,
        form=refused.of("task"),
        after_form=refused.of("after"),
        need_form=refused.of("need"),
        wait_form=refused.of("wait"),
        hold_form=refused.of("hold"),
        setback_form=refused.of("setback"),
        photo_form=refused.of("photo"),
    )
