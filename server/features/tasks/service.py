"""What can be done with one task, and its sheet."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.measure.opening import DIMENSIONS
from server.core.tube.port import PortFacts
from server.core.work.causes import reading_hold
from server.core.work.rows import NeedRow, WaitRow
from server.core.work.tasks import After, find_cycle
from server.errors import BadInput, FieldError, NotFound, Stale
from server.features.builds.service import build_face, clashes, kept_while, subsystem_faces
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.causes.service import PIECES, Book, awaited_of, wait_hold
from server.features.news.service import news_of as work_news
from server.features.parts.service import part_faces
from server.features.parts.store import PartFace
from server.features.photos import service as photos
from server.features.photos.page import album
from server.features.ports.service import port_facts
from server.features.setbacks.page import setback_line
from server.features.setbacks.service import news_of as setback_news
from server.features.tasks import forms, page
from server.features.work import store
from server.features.work.service import WorkState, work_state
from server.features.work.tables import Dependency, Hold, Need, Wait
from server.web import urls
from server.web.view import News, Option, Undo
from server.web.with_photo import WithPhoto
from server.web.words import minutes_typed


def edit_task(session: Session, build_id: int, task_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale with both values of every field that differs."""
    stands = store.load_task(session, build_id, task_id)
    edit = forms.task_edit(typed, [face.id for face in subsystem_faces(session, build_id)])
    values = asdict(edit.form)
    if not store.edit_task(session, task_id, edit.version, values):
        raise Stale(clashes(page.LABELS, _as_shown(values), _as_shown(stands.model_dump())), typed)
    session.expire(stands)


def _as_shown(values: Mapping[str, object]) -> dict[str, object]:
    """A task's values under the names and in the words of its form."""
    shown = {name: "" if value is None else value for name, value in values.items()}
    for name in ("low", "likely", "high"):
        minutes = values[f"minutes_{name}"]
        shown[name] = minutes_typed(minutes) if isinstance(minutes, int) else ""
    for name in ("hot_work", "splits"):
        shown[name] = "yes" if values[name] else "no"
    return shown


def add_after(session: Session, build_id: int, task_id: int, typed: Mapping[str, str]) -> None:
    """Put this task after another. Raises NotFound, and BadInput for a ring, with its tasks by name."""
    store.load_task(session, build_id, task_id)
    plans = [row.plan for row in store.load_rows(session, build_id).tasks]
    form = forms.after_form(typed, [plan.id for plan in plans])
    wanted = After(form.after_task_id, form.least_wait)
    ring = find_cycle(
        plan._replace(after=(*plan.after, wanted)) if plan.id == task_id else plan for plan in plans
    )
    if ring is not None:
        titles = {plan.id: plan.title for plan in plans}
        words = ", then ".join(f"‘{titles[number]}’" for number in (*ring, ring[0]))
        message = f"That would go round in a ring and never begin: {words}."
        accepts = "a task that does not itself wait for this one"
        raise BadInput((FieldError("after_task_id", message, accepts),), typed)
    store.set_after(session, task_id, form.after_task_id, form.least_wait)


def add_need(session: Session, build_id: int, task_id: int, typed: Mapping[str, str]) -> None:
    """So many of a part for this task, whatever was set before. Raises NotFound, BadInput."""
    store.load_task(session, build_id, task_id)
    form = forms.need_form(typed, [part.id for part in part_faces(session, build_id)])
    store.set_need(session, task_id, form.part_id, form.quantity)


def waits_offered(
    ports: Iterable[PortFacts], subsystems: Sequence[SubsystemFace]
) -> tuple[forms.WaitForm, ...]:
    """What a task of a build with these ports and subsystems can wait for."""
    readings = [
        forms.WaitForm("reading", port_id=port.id, dimension=dimension)
        for port in ports
        for dimension in dict.fromkeys((*port.wanted, *port.sizes))
    ]
    decisions = [forms.WaitForm("decision", subsystem_id=face.id) for face in subsystems]
    of_design = [
        forms.WaitForm(kind, subsystem_id=face.id) for kind in ("checks", *PIECES) for face in subsystems
    ]
    return (*readings, *decisions, *of_design)


def add_wait(session: Session, build_id: int, task_id: int, typed: Mapping[str, str]) -> None:
    """Let the task wait for a reading, a decision or checks. Raises NotFound, BadInput."""
    store.load_task(session, build_id, task_id)
    offered = waits_offered(port_facts(session, build_id), subsystem_faces(session, build_id))
    form = forms.wait_form(typed, offered)
    waits = store.load_rows(session, build_id).waits
    if not any(row.task_id == task_id and code_of(row) == form.code for row in waits):
        store.add(session, Wait(task_id=task_id, **asdict(form)))


def code_of(row: WaitRow) -> str:
    """A stored wait as the list of choices names it."""
    return forms.WaitForm(row.kind, row.port_id, row.dimension, row.subsystem_id).code


def add_hold(session: Session, build_id: int, task_id: int, typed: Mapping[str, str], now: datetime) -> None:
    """Hold the task by hand. Raises NotFound, BadInput."""
    store.load_task(session, build_id, task_id)
    store.add(session, Hold(task_id=task_id, set_at=now, **asdict(forms.hold_form(typed))))


def clear_hold(
    session: Session, build_id: int, task_id: int, hold_id: int, cleared: bool, now: datetime
) -> None:
    """Clear a hold that was set by hand, or set it again. Raises NotFound."""
    store.load_task(session, build_id, task_id)
    hold = store.load_of_task(session, Hold, task_id, hold_id)
    if cleared != (hold.cleared_at is not None):
        hold.cleared_at = now if cleared else None
        store.add(session, hold)


def remove_after(session: Session, build_id: int, task_id: int, row_id: int) -> str:
    """Let this task no longer wait for another; how the sheet tells it. Raises NotFound."""
    store.load_task(session, build_id, task_id)
    row = store.load_of_task(session, Dependency, task_id, row_id)
    store.remove(session, row)
    return f"unafter-{task_id}:{row.after_task_id}:{row.least_wait}"


def remove_need(session: Session, build_id: int, task_id: int, row_id: int) -> str:
    """Let this task no longer need a part; how the sheet tells it. Raises NotFound."""
    store.load_task(session, build_id, task_id)
    row = store.load_of_task(session, Need, task_id, row_id)
    store.remove(session, row)
    return f"unneed-{task_id}:{row.part_id}:{row.quantity}"


def remove_wait(session: Session, build_id: int, task_id: int, row_id: int) -> str:
    """Let this task no longer wait for something; how the sheet tells it. Raises NotFound."""
    store.load_task(session, build_id, task_id)
    row = store.load_of_task(session, Wait, task_id, row_id)
    code = forms.WaitForm(row.kind, row.port_id, row.dimension, row.subsystem_id).code
    store.remove(session, row)
    return f"unwait-{task_id}:{code}"


def set_aside(session: Session, build_id: int, task_id: int, aside: bool, now: datetime) -> None:
    """Set a task aside, or put it back; what stands so already stays.

    What comes after it is not held by it meanwhile. Raises NotFound.
    """
    task = store.load_task(session, build_id, task_id)
    if aside != (task.removed_at is not None):
        store.set_removed(session, task, now if aside else None)


def is_aside(session: Session, build_id: int, task_id: int) -> bool:
    """Raises NotFound."""
    return store.load_task(session, build_id, task_id).removed_at is not None


def add_photo(session: Session, build_id: int, task_id: int, sent: WithPhoto) -> None:
    """A photo of a task. Raises NotFound, BadInput."""
    store.load_task(session, build_id, task_id)
    photos.attach_required(session, build_id, ("task", task_id), sent)


REMOVED = re.compile(
    r"un(after|need|wait)-([0-9]{1,9}):([a-z_ ]{1,20}|[0-9]{1,9}):([0-9]{1,9}(?::[a-z_]{1,20})?)"
)


def news_of(session: Session, build: BuildFace, told: str, now: datetime) -> News | None:
    """What a task's sheet begins with after an act: a tie that was removed can be put back."""
    removed = REMOVED.fullmatch(told)
    if removed is None:
        return setback_news(session, build, told) or work_news(session, build, told, now)
    kind, task, first, second = removed.groups()
    task_id = int(task)
    if kind == "after":
        undo = _again(urls.task_afters(build.id, task_id), after_task_id=first, least_wait=f"{second} min")
        return News("Removed: what came first.", undo=undo)
    if kind == "need":
        undo = _again(urls.task_needs(build.id, task_id), part_id=first, quantity=second)
        return News("Removed: a part it needed.", undo=undo)
    undo = _again(urls.task_waits(build.id, task_id), waits_for=f"{first}:{second}")
    return News("Removed: what it waited for.", undo=undo)


def _again(address: str, **fields: str) -> Undo:
    return Undo(address, tuple(fields.items()), "Put it back")


FIRST_SHOWN = page.RefusedForm()


def task_page(
    session: Session,
    build_id: int,
    task_id: int,
    now: datetime,
    told: str = "",
    refused: page.RefusedForm = FIRST_SHOWN,
    find: str = "",
) -> page.TaskPage:
    """`told` names what was just done, so that the sheet begins with what came of it; `find`: words of the
    name of something that it is to be tied to. Raises NotFound.
    """
    build = build_face(session, build_id)
    state = work_state(session, build, now)
    row = next((row for row in state.book.rows.tasks if row.plan.id == task_id), None)
    if row is None:
        raise NotFound("There is no such task in this build.")
    return page.task_page(
        build,
        state.plan,
        state.plan.task(task_id),
        row.version,
        row.note,
        store.load_task(session, build_id, task_id).start_stage,
        _ties(build, state, task_id, refused),
        _known_candidates(build, state.book),
        find,
        album(photos.photos_of_many(session, build_id, "task", (task_id,), now).get(task_id, ())),
        news_of(session, build, told, now),
        refused,
    )


TaskNamed = tuple[int, str, int | None]
"""A task's number, title and subsystem: what a tick leaves as it was."""


def _candidates(
    tasks: Sequence[TaskNamed],
    needs: Iterable[NeedRow],
    ports: Sequence[PortFacts],
    parts: Iterable[PartFace],
    subsystems: Sequence[SubsystemFace],
) -> page.Candidates:
    """All that a task can be tied to, each with the subsystems that it belongs to."""
    subsystem_of = {number: subsystem for number, _, subsystem in tasks}
    asked_for: dict[int, set[int]] = {}
    for need in needs:
        asked_for.setdefault(need.part_id, set()).add(subsystem_of[need.task_id] or 0)
    at_port = {port.id: port.subsystem_id for port in ports}
    names = Names.of(ports, subsystems)

    def candidate(value: object, text: str, subsystems: Iterable[int | None]) -> page.Candidate:
        return page.Candidate(Option(str(value), text), frozenset(one for one in subsystems if one))

    return page.Candidates(
        tuple(candidate(number, title, (subsystem,)) for number, title, subsystem in tasks),
        tuple(
            candidate(part.id, part.name, asked_for.get(part.id, ())) for part in parts if not part.set_aside
        ),
        tuple(
            candidate(wait.code, names.wait(wait), (wait.subsystem_id, at_port.get(wait.port_id or 0)))
            for wait in waits_offered(ports, subsystems)
        ),
    )


def _known_candidates(build: BuildFace, book: Book) -> page.Candidates:
    tasks = tuple((row.plan.id, row.plan.title, row.plan.subsystem_id) for row in book.rows.tasks)
    inputs = tasks, book.rows.needs, book.ports, book.parts, book.subsystems
    return kept_while(build.id, ("candidates",), inputs, lambda: _candidates(*inputs))


@dataclass(frozen=True, slots=True)
class Names:
    """Of what tasks may wait for, by number."""

    ports: Mapping[int, str]
    subsystems: Mapping[int, str]

    @classmethod
    def of(cls, ports: Iterable[PortFacts], subsystems: Iterable[SubsystemFace]) -> "Names":
        return cls({one.id: one.name for one in ports}, {one.id: one.name for one in subsystems})

    def wait(self, wait: WaitRow | forms.WaitForm) -> str:
        """E.g. "the bore of Meter outlet", "the choice of a design for Intake".

        What was set aside has no name here: "a reading of a port that is set aside".
        """
        if wait.kind == "reading":
            port_id = wait.port_id or 0
            if port_id not in self.ports:
                return "a reading of a port that is set aside"
            return reading_hold(port_id, self.ports[port_id], DIMENSIONS[wait.dimension]).what
        name = self.subsystems.get(wait.subsystem_id or 0, "a subsystem that is set aside")
        words = {
            "decision": "the choice of a design for",
            "checks": "the checks of",
            "to make": "the pieces to make for",
            "to fit": "the pieces to fit of",
        }
        return f"{words[wait.kind]} {name}"


def _ties(build: BuildFace, state: WorkState, task_id: int, refused: page.RefusedForm) -> page.Ties:
    rows = state.book.rows
    setbacks = [
        (row.set_aside, setback_line(build, state.plan, row, refused.of(f"setback-{row.id}")))
        for row in rows.setbacks
        if row.task_id == task_id
    ]
    after_ids = {row.after_task_id: row.id for row in rows.afters if row.task_id == task_id}
    needs = []
    for need in rows.needs:
        if need.task_id == task_id:
            part = next(one for one in state.book.parts if one.id == need.part_id)
            got = next((one for one in state.supplies[part.id].allotted if one.task_id == task_id), None)
            needs.append(page.need_line(build, need.id, part.id, part.name, need.quantity, got))
    waits, awaited = [], awaited_of(state.book)
    names = Names.of(state.book.ports, state.book.subsystems)
    for wait in rows.waits:
        if wait.task_id == task_id:
            hold = wait_hold(awaited, wait)
            state_words = hold.state if hold else "there"
            waits.append(page.WaitLine(wait.id, names.wait(wait), state_words, hold is None))
    return page.Ties(
        page.before_lines(build, state.plan, state.plan.task(task_id), after_ids),
        tuple(needs),
        tuple(waits),
        tuple(
            page.hold_line(hold.id, hold.kind, hold.reason, hold.until, hold.cleared)
            for hold in rows.holds
            if hold.task_id == task_id
        ),
        tuple(line for aside, line in setbacks if not aside),
        tuple(line for aside, line in setbacks if aside),
    )
