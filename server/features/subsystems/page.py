"""The list of subsystems, and one subsystem with its designs side by side."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Protocol

from server.core.checks.answer import Answers
from server.core.checks.figures import FIGURES
from server.core.tube.port import PortFacts
from server.core.tube.run import WITHOUT_RUN, Place
from server.core.units import System
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.verdicts.page import (
    DesignLike,
    DesignStanding,
    FlowSummary,
    count_words,
    flow_summary,
    overall,
    standing,
)
from server.web import urls
from server.web.view import FormState, Link, Page, Undo, Verdict, VerdictWord
from server.web.words import counted


class Shown(Protocol):
    """What the pages need to know of a subsystem."""

    @property
    def id(self) -> int: ...
    @property
    def version(self) -> int: ...
    @property
    def letter(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def removed(self) -> bool: ...


SHOWN = 24
"""Subsystems on one sheet, before the next ones are asked for."""


@dataclass(frozen=True, slots=True)
class SubsystemLine:
    """One subsystem of the list: the verdict of the design that stands for it, and what to do next.

    group: designed, waiting (for its first design), or work (and parts only).
    """

    href: str
    letter: str
    name: str
    design: str
    why: str
    verdict: Verdict | None
    group: str


@dataclass(frozen=True, slots=True)
class Aside:
    """A subsystem that was set aside, with what puts it back."""

    letter: str
    name: str
    undo: Undo


@dataclass(frozen=True, slots=True)
class Started:
    """What was just added from the starting set; what the answers about the car left out of it or put in."""

    subsystems: str
    ports: str
    tasks: str
    left_out: str
    put_in: str


@dataclass(frozen=True, kw_only=True)
class SubsystemsPage(Page):
    """Every subsystem of a build, those that want something first, and the form for one more.

    subsystems: those on this sheet, of `count` in all; rest: the sheet with the next ones. wanted: the kind
    that has the figure somebody looked for, empty where nobody did; wanted_aside: whether one was set aside.
    """

    template: ClassVar[str] = "subsystems/list.html"

    build_id: int
    count: int
    subsystems: tuple[SubsystemLine, ...]
    rest: Link | None
    aside: tuple[Aside, ...]
    started: Started | None
    kinds: tuple[str, ...]
    wanted: str
    wanted_aside: bool
    form: FormState


@dataclass(frozen=True, slots=True)
class DesignColumn:
    """One design beside the others."""

    id: int
    href: str
    name: str
    verdict: Verdict
    counts: str
    why: str
    pieces: int
    flow: FlowSummary | None
    chosen: bool
    chosen_because: str
    pattern: bool


@dataclass(frozen=True, slots=True)
class SidePortLine:
    """A line that must find a place on this subsystem's run."""

    href: str
    name: str
    stretch: str


@dataclass(frozen=True, kw_only=True)
class SubsystemPage(Page):
    """One subsystem: what it must join and keep, its designs, and the forms for a new design and for itself.

    compare: where its designs stand side by side line by line, empty where there is only one; start_from:
    what a new design may begin as a copy of; figures: the sheet of what is fitted, empty where
    there is none; has_run: designs of pipe are made for it; else it is work and
    parts only.
    """

    template: ClassVar[str] = "subsystems/subsystem.html"

    build_id: int
    id: int
    version: int
    letter: str
    name: str
    kind: str
    kinds: tuple[str, ...]
    removed: bool
    has_run: bool
    figures: str
    from_set: str
    designs: tuple[DesignColumn, ...]
    designs_aside: tuple[Undo, ...]
    compare: str
    start_from: tuple[tuple[str, str], ...]
    side_ports: tuple[SidePortLine, ...]
    run_ends: tuple[tuple[str, str], ...]
    likely_ends: tuple[str, str]
    """Port numbers that a new design most likely goes from and to; empty where none stands out."""
    meter_piece: bool
    form: FormState
    editing: FormState


def subsystems_page(
    *,
    build: Face,
    standings: Sequence[DesignStanding],
    ports: Sequence[PortFacts],
    aside: Sequence[Shown],
    first: int,
    started: Started | None,
    kinds: Sequence[str],
    wanted: str,
    today: date,
    refused: Refused | None,
) -> SubsystemsPage:
    """first: how many were on the sheets before this one."""
    ordered = sorted(standings, key=_worst_first)
    shown = ordered[first : first + SHOWN]
    to_measure = Counter(port.subsystem_id for port in ports if port.wanted)
    left = len(ordered) - first - SHOWN
    return SubsystemsPage(
        **heading(build, "Subsystems", today),
        build_id=build.id,
        count=len(ordered),
        subsystems=tuple(_line(build.id, item, to_measure[item.subsystem_id]) for item in shown),
        rest=Link(urls.subsystems_from(build.id, first + SHOWN), f"Show the next {min(left, SHOWN)}")
        if left > 0
        else None,
        aside=tuple(
            Aside(face.letter, face.name, Undo(urls.subsystem_return(build.id, face.id), (), "Put it back"))
            for face in aside
        ),
        started=started,
        kinds=tuple(kinds),
        wanted=wanted if wanted in kinds else "",
        wanted_aside=any(face.kind == wanted for face in aside),
        form=FormState.of(refused),
    )


GROUPS = ("designed", "waiting", "work")
WORST_FIRST = (VerdictWord.NO_GO, VerdictWord.NOT_MEASURED, VerdictWord.TIGHT, VerdictWord.GO)


def has_run(kind: str) -> bool:
    """Whether runs of pieces are designed for this kind of subsystem."""
    return Place(kind) not in WITHOUT_RUN


def _group(item: DesignStanding) -> str:
    if item.answered:
        return "designed"
    return "waiting" if has_run(item.kind) else "work"


def _worst_first(item: DesignStanding) -> tuple[int, int]:
    """Designs by verdict, then subsystems that have none yet, then those that have no run."""
    group = _group(item)
    return GROUPS.index(group), WORST_FIRST.index(item.word) if group == "designed" else 0


def _line(build_id: int, item: DesignStanding, to_measure: int) -> SubsystemLine:
    group = _group(item)
    why = {"designed": item.why, "work": "work and parts only", "waiting": "no design yet: start one"}[group]
    if group == "waiting" and to_measure:
        why = f"measure {counted(to_measure, 'port')}, then a design"
    return SubsystemLine(
        urls.subsystem(build_id, item.subsystem_id),
        item.letter,
        item.subsystem_name,
        item.design_name,
        why,
        Verdict(item.word, item.percent, item.rough) if group == "designed" else None,
        group,
    )


def subsystem_page(
    *,
    build: Face,
    subsystem: Shown,
    kinds: Sequence[str],
    designs: Sequence[tuple[DesignLike, str, int, Answers | None]],
    designs_aside: Sequence[tuple[int, str]],
    ports: Sequence[PortFacts],
    last_ends: tuple[int | None, int | None],
    today: date,
    refused: Refused | None,
    editing: Refused | None,
) -> SubsystemPage:
    """`designs`: each with the reason it was chosen, its number of pieces, and what its checks answer.

    `last_ends`: the ports that the latest design goes from and to.
    """
    ends = [(str(port.id), port.name) for port in ports if port.role == "run end"]
    return SubsystemPage(
        **heading(build, f"{subsystem.letter} · {subsystem.name}", today, within="Subsystems"),
        build_id=build.id,
        id=subsystem.id,
        version=subsystem.version,
        letter=subsystem.letter,
        name=subsystem.name,
        kind=subsystem.kind,
        kinds=tuple(kinds),
        removed=subsystem.removed,
        has_run=has_run(subsystem.kind),
        figures=urls.figures(build.id, subsystem.id) if Place(subsystem.kind) in FIGURES else "",
        from_set="" if subsystem.kind == Place.OTHER else urls.start_of(build.id, subsystem.kind),
        designs=tuple(
            _column(build.id, subsystem, design, because, pieces, answers, build.system)
            for design, because, pieces, answers in designs
        ),
        designs_aside=tuple(
            Undo(urls.design_return(build.id, number), (), f"Put back: {name}")
            for number, name in designs_aside
        ),
        compare=urls.compare(build.id, subsystem.id)
        if sum(not design.pattern for design, *_ in designs) > 1
        else "",
        start_from=(("", "an empty run"), *((str(design.key), design.name) for design, *_ in designs)),
        side_ports=tuple(
            SidePortLine(urls.port(build.id, port.id), port.name, port.stretch)
            for port in ports
            if port.role == "side port" and port.subsystem_id == subsystem.id
        ),
        run_ends=(("", "not said yet"), *ends),
        likely_ends=_likely_ends(last_ends, subsystem.id, ports),
        meter_piece=subsystem.kind == "intake",
        form=FormState.of(refused),
        editing=FormState.of(editing),
    )


def _column(
    build_id: int,
    subsystem: Shown,
    design: DesignLike,
    because: str,
    pieces: int,
    answers: Answers | None,
    system: System,
) -> DesignColumn:
    return DesignColumn(
        id=design.key,
        href=urls.design(build_id, design.key),
        name=design.name,
        verdict=overall(answers),
        counts=count_words(answers),
        why=standing(subsystem, design, answers, 1, system).why,
        pieces=pieces,
        flow=flow_summary(answers, system),
        chosen=design.chosen,
        chosen_because=because,
        pattern=design.pattern,
    )


def _likely_ends(
    last: tuple[int | None, int | None], subsystem_id: int, ports: Sequence[PortFacts]
) -> tuple[str, str]:
    """Those of the latest design; before there is one, the subsystem's own two, in their order."""
    own = [port.id for port in ports if port.role == "run end" and port.subsystem_id == subsystem_id]
    start, end = last if any(last) else own if len(own) == 2 else (None, None)
    return str(start or ""), str(end or "")
