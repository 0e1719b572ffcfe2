"""What a link opens, and what it may do there. Everything else is not there for it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from pathlib import Path

from sqlmodel import Session

from server.core.tube.port import PortFacts
from server.core.work.tasks import TaskPlan
from server.errors import NotAllowed, NotFound, Refused
from server.features.builds.service import after_write, build_face
from server.features.builds.store import BuildFace
from server.features.cuts import service as cuts
from server.features.designs.service import survey
from server.features.helping import page, store
from server.features.isometric.service import drawing_of
from server.features.links.page import visit_words
from server.features.log import service as log
from server.features.photos import service as photos
from server.features.photos.page import Picture
from server.features.ports import service as ports
from server.features.sharing.page import Link, Scope
from server.features.stints.service import garage_of
from server.features.visits.page import VisitPage
from server.features.visits.service import visit_page
from server.features.work import forms as work_forms
from server.features.work import service as work
from server.features.work.service import WorkState
from server.web import urls
from server.web.handout import File
from server.web.view import Link as Href
from server.web.with_photo import WithPhoto

NOT_HERE = "This link does not open that."
READ_ONLY = "This link is for looking only. Ask who gave it for one that may also write."


@dataclass(frozen=True)
class Reach:
    """What one link shows and may change, worked out where it is asked for."""

    session: Session
    link: Link
    token: str
    now: datetime
    visit_id: int | None
    """The visit whose sheet is shown; none for the work of the whole build."""

    def moment(self, made: datetime) -> datetime:
        """When an act by the link was made: not before the link, though the phone's clock may be behind."""
        return max(made, self.link.created_at).astimezone(made.tzinfo)

    @cached_property
    def build(self) -> BuildFace:
        return build_face(self.session, self.link.build_id)

    @cached_property
    def frame(self) -> page.Frame:
        return page.Frame(self.build, self.link, self.token, self.now)

    @cached_property
    def visit(self) -> VisitPage | None:
        """Raises NotFound for a visit that was called off."""
        if self.visit_id is None:
            return None
        return visit_page(self.session, self.link.build_id, self.visit_id, self.now)

    @cached_property
    def state(self) -> WorkState:
        return work.work_state(self.session, self.build, self.now)

    @cached_property
    def tasks(self) -> tuple[TaskPlan, ...]:
        """Those of the visit, else what can be done now; after them what was begun or done by the link."""
        by_id = {task.id: task for task in self.state.plan.tasks}
        if self.visit is not None:
            first = [line.id for line in self.visit.work]
        else:
            first = [entry.task_id for entry in self.state.plan.next[: page.MOST_TASKS]]
        own = sorted(store.acted_on(self.session, self.link))
        return tuple(by_id[number] for number in dict.fromkeys((*first, *own)) if number in by_id)

    @cached_property
    def runs(self) -> Mapping[int, str]:
        """The chosen designs that are shown: their names by their numbers."""
        if self.visit is not None:
            return {run.design_id: run.name for run in self.visit.runs}
        return {
            bill.design_id: f"{bill.subsystem_name}, {bill.design_name}"
            for bill in survey(self.session, self.build).bills
        }

    @cached_property
    def ports(self) -> Mapping[int, PortFacts]:
        """Those of the whole build, or those that the runs of the visit begin and end at."""
        known = {port.id: port for port in ports.known_ports(self.session, self.build)}
        if self.visit is None:
            return known
        return {number: known[number] for run in self.visit.runs for number in run.ports if number in known}

    def may(self, task_id: int) -> bool:
        """Whether the link may set the state of a task."""
        if self.visit_id is None:
            return any(task.id == task_id for task in self.state.plan.tasks)
        return any(task.id == task_id for task in self.tasks)


def reach(session: Session, link: Link, token: str, now: datetime, visit_id: int | None = None) -> Reach:
    """`visit_id`: of the visit that is asked for. Raises NotFound where the link is for another one, or for
    seeing from outside how it goes.
    """
    if link.scope is Scope.SHOW:
        raise NotFound(NOT_HERE)
    if visit_id is not None and link.visit_id is not None and visit_id != link.visit_id:
        raise NotFound(NOT_HERE)
    return Reach(session, link, token, now, visit_id if visit_id is not None else link.visit_id)


def helper_page(reached: Reach, told: str = "", refused: Refused | None = None) -> page.HelperPage:
    """Raises NotFound."""
    shown = reached.tasks
    notes = store.notes(reached.session, reached.link)
    pictures = photos.photos_of_many(
        reached.session, reached.link.build_id, "log", [number for number, _, _ in notes], reached.now
    )
    return page.helper_page(
        reached.frame,
        reached.state.plan,
        shown,
        {row.plan.id: row.note for row in reached.state.book.rows.tasks},
        reached.ports.values(),
        [Href(urls.helping.run(reached.token, number), name) for number, name in reached.runs.items()],
        page.own_notes(
            notes, {at: _seen_by(reached.token, some) for at, some in pictures.items()}, reached.now
        ),
        reached.visit,
        _visits(reached),
        told,
        refused,
    )


def _seen_by(token: str, pictures: tuple[Picture, ...]) -> tuple[Picture, ...]:
    """The same pictures at the addresses of the link."""
    found = []
    for one in pictures:
        href, source = urls.helping.photo(token, one.id), urls.helping.photo(token, one.id, small=True)
        original = one.original and replace(one.original, href=urls.helping.original(token, one.id))
        found.append(replace(one, href=href, source=source, original=original))
    return tuple(found)


def _visits(reached: Reach) -> list[Href]:
    """The visits to come, for a link that is for the whole build."""
    if reached.visit_id is not None:
        return []
    garage = garage_of(reached.session, reached.build)
    today = reached.now.astimezone(garage.tz(reached.now)).date()
    return [
        Href(urls.helping.visit(reached.token, visit.id), visit_words(visit))
        for visit in garage.hours.visits
        if visit.day >= today
    ]


def run_page(reached: Reach, design_id: int) -> page.HelperRunPage:
    """Raises NotFound."""
    _shown(design_id, reached.runs)
    shown, plan = cuts.cuts_and_plan(reached.session, reached.link.build_id, design_id, reached.now)
    drawing = drawing_of(reached.session, reached.build, plan)
    return page.HelperRunPage(
        **reached.frame.parts("To be made"), design_id=design_id, cuts=shown, drawing=drawing
    )


def run_pdf(reached: Reach, design_id: int, paper: str) -> File:
    """Raises NotFound."""
    _shown(design_id, reached.runs)
    return cuts.cuts_pdf(reached.session, reached.link.build_id, design_id, reached.now, paper)


def port_page(
    reached: Reach, port_id: int, measure: str, told: str = "", refused: Refused | None = None
) -> page.HelperPortPage:
    """Raises NotFound."""
    _shown(port_id, reached.ports)
    shown = ports.port_page(
        reached.session, reached.link.build_id, port_id, reached.now, measure, taking=refused
    )
    news = "Your reading is noted." if told == "reading" else ""
    return page.HelperPortPage(**reached.frame.parts(f"Port {shown.number}"), port=shown, news=news)


def photo(reached: Reach, folder: Path, photo_id: int, small: bool) -> tuple[bytes, str]:
    """A picture that came by the link, and its digest. Raises NotFound."""
    if not store.is_own_photo(reached.session, reached.link, photo_id):
        raise NotFound(NOT_HERE)
    return photos.content(reached.session, folder, reached.link.build_id, photo_id, small)


def original(reached: Reach, folder: Path, photo_id: int) -> tuple[bytes, str, str]:
    """The original of a picture that came by the link, its digest and its ending. Raises NotFound."""
    if not store.is_own_photo(reached.session, reached.link, photo_id):
        raise NotFound(NOT_HERE)
    return photos.original(reached.session, folder, reached.link.build_id, photo_id)


def _shown(number: int, among: Mapping[int, object]) -> None:
    if number not in among:
        raise NotFound(NOT_HERE)


def may_write(link: Link) -> None:
    """Raises NotAllowed."""
    if link.scope is not Scope.WORK:
        raise NotAllowed(READ_ONLY)


# What a link does


def set_state(reached: Reach, task_id: int, typed: Mapping[str, str], made: datetime) -> str:
    """What the sheet is to begin with. Raises NotFound, NotAllowed, BadInput."""
    may_write(reached.link)
    if not reached.may(task_id):
        raise NotFound(NOT_HERE)
    state, seen_open = work_forms.task_state(typed), work_forms.seen_open(typed)
    build_id, name = reached.link.build_id, reached.link.name
    work.set_state(reached.session, build_id, task_id, state, reached.moment(made), name, seen_open=seen_open)
    _written(reached)
    return f"task-{task_id}"


def add_note(reached: Reach, sent: WithPhoto) -> str:
    """What the sheet is to begin with. Raises NotAllowed, BadInput."""
    may_write(reached.link)
    build_id, sent = reached.link.build_id, replace(sent, made=reached.moment(sent.made))
    note_id = log.add_note(reached.session, build_id, sent.typed, sent.made, sent.actor)
    photos.attach(reached.session, build_id, ("log", note_id), sent)
    _written(reached)
    return f"note-{note_id}"


def add_reading(reached: Reach, port_id: int, sent: WithPhoto) -> None:
    """Raises NotFound, NotAllowed, BadInput."""
    may_write(reached.link)
    _shown(port_id, reached.ports)
    build_id, sent = reached.link.build_id, replace(sent, made=reached.moment(sent.made))
    reading = ports.add_reading(reached.session, build_id, port_id, sent.typed, sent.made, sent.actor)
    photos.attach(reached.session, build_id, ("reading", reading), sent)
    _written(reached)


def _written(reached: Reach) -> None:
    """An address of a link does not name its build, so that it is marked here that the build changed."""
    after_write(reached.session, {"build_id": reached.link.build_id})
