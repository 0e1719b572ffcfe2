"""What a link opens: the sheet of a visit or of the work, a run to be made, and the form for a reading."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, TypedDict

from server.core.tube.isometric.sheet import Sheet
from server.core.tube.port import PortFacts
from server.core.work.cautions import LAST_WORD
from server.core.work.tasks import TaskPlan, TaskState
from server.errors import Refused
from server.features.builds.page import Face
from server.features.cuts.page import CutsPage
from server.features.links.page import MAY
from server.features.photos.page import Picture
from server.features.ports.page import PortPage
from server.features.sharing.page import Link, Scope
from server.features.visits.page import VisitPage
from server.features.work.page import Plan, TaskLine, cautions_shown, task_line
from server.web import urls
from server.web.view import Caution, FormState, News, Page, TitleBlock, Undo
from server.web.view import Link as Href
from server.web.words import date_text, moment_text

MOST_TASKS = 20
"""Of those that can be done now, on the sheet of a link for the whole build."""


@dataclass(frozen=True, slots=True)
class HelperTask:
    """A task that the link shows, with the cautions of its work and what is written down about it."""

    line: TaskLine
    note: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class PortLine:
    """A port that can be measured by the link."""

    href: str
    number: int
    name: str
    wanted: bool


@dataclass(frozen=True, slots=True)
class OwnNote:
    """A note that came by this link."""

    when: str
    text: str
    photos: tuple[Picture, ...]


@dataclass(frozen=True, kw_only=True)
class LinkedPage(Page):
    """What every page of a link carries: its token, and who may do what until when."""

    token: str
    work: bool
    """Whether the link may do more than look."""
    told: str


@dataclass(frozen=True, kw_only=True)
class HelperPage(LinkedPage):
    """The sheet of a visit, or of the work of the build; `visit` is none for the latter."""

    template: ClassVar[str] = "helping/sheet.html"
    fragments: ClassVar[dict[str, str]] = {"helping": "helping"}

    news: News | None
    visit: VisitPage | None
    visits: tuple[Href, ...]
    tasks: tuple[HelperTask, ...]
    bring: tuple[str, ...]
    runs: tuple[Href, ...]
    ports: tuple[PortLine, ...]
    others: tuple[PortLine, ...]
    """Ports that have been measured already."""
    notes: tuple[OwnNote, ...]
    form: FormState


@dataclass(frozen=True, kw_only=True)
class HelperRunPage(LinkedPage):
    """A run to be made: its drawing, its pieces with every mark, and the same on paper."""

    template: ClassVar[str] = "helping/run.html"

    design_id: int
    cuts: CutsPage
    drawing: Sheet | None


@dataclass(frozen=True, kw_only=True)
class HelperPortPage(LinkedPage):
    """The form for a reading of one port."""

    template: ClassVar[str] = "helping/port.html"

    port: PortPage
    news: str


class Parts(TypedDict):
    """What every page of a link shares: `SomePage(**frame.parts(...), ...)`."""

    title: TitleBlock
    token: str
    work: bool
    told: str


@dataclass(frozen=True, slots=True)
class Frame:
    """What all pages of a link are made with."""

    build: Face
    link: Link
    token: str
    now: datetime

    def parts(self, sheet: str) -> "Parts":
        until = date_text(self.link.expires_at.astimezone(self.now.tzinfo).date())
        return Parts(
            title=TitleBlock(self.build.name, sheet, self.now.date(), self.build.stage, self.build.car_state),
            token=self.token,
            work=self.link.scope is Scope.WORK,
            told=f"For {self.link.name}, who may {MAY[self.link.scope]}, until {until}.",
        )


def helper_page(
    frame: Frame,
    plan: Plan,
    tasks: Sequence[TaskPlan],
    written: Mapping[int, str],
    ports: Iterable[PortFacts],
    runs: Sequence[Href],
    notes: Sequence[OwnNote],
    visit: VisitPage | None,
    visits: Sequence[Href],
    told: str,
    refused: Refused | None,
) -> HelperPage:
    """tasks, ports and runs: those that the link shows; written: the notes of tasks by their number; visits:
    those that it leads to; told: what was just done, e.g. "task-7".
    """
    lines = [_port_line(frame.token, port) for port in ports]
    return HelperPage(
        **frame.parts("Visit" if visit is not None else "Work"),
        news=_news(frame, tasks, told),
        visit=visit,
        visits=tuple(visits),
        tasks=tuple(_task(frame.build, plan, task, written.get(task.id, "")) for task in tasks),
        bring=tuple(dict.fromkeys(task.carry for task in tasks if task.carry and not task.done)),
        runs=tuple(runs),
        ports=tuple(line for line in lines if line.wanted),
        others=tuple(line for line in lines if not line.wanted),
        notes=tuple(notes),
        form=FormState.of(refused),
    )


def _task(build: Face, plan: Plan, task: TaskPlan, note: str) -> HelperTask:
    cautions = () if task.done else cautions_shown(task)
    said = tuple(Caution(one.signal, f"{one.text} {LAST_WORD}") for one in cautions)
    return HelperTask(task_line(build, plan, task), note, said)


def _port_line(token: str, port: PortFacts) -> PortLine:
    return PortLine(urls.helping.port(token, port.id), port.number, port.name, bool(port.wanted))


def _news(frame: Frame, tasks: Iterable[TaskPlan], told: str) -> News | None:
    what, _, number = told.partition("-")
    if what == "note":
        return News("Your note is in the log.", "The builder sees it there.")
    task = next((one for one in tasks if str(one.id) == number), None)
    if what != "task" or task is None:
        return None
    word, back, words = STATES[task.state]
    where = urls.helping.task_state(frame.token, task.id)
    undo = Undo(where, (("state", back),), words) if back else None
    return News(f"{word}: ‘{task.title}’.", "", undo=undo)


STATES = {
    TaskState.DONE: ("Done", "in hand", "Not done yet"),
    TaskState.IN_HAND: ("In hand", "open", "Undo"),
    TaskState.OPEN: ("Put down", "", ""),
}
"""What the sheet says after a task was set to a state, which state takes that back, and in what words."""


def own_notes(
    rows: Iterable[tuple[int, datetime, str]],
    photos: Mapping[int, Sequence[Picture]],
    now: datetime,
) -> tuple[OwnNote, ...]:
    """rows: number, moment and text of each note, newest first; photos by the note's number, as the builder's
    pages show them.
    """
    return tuple(
        OwnNote(moment_text(at, now), text, tuple(photos.get(number, ()))) for number, at, text in rows
    )
