"""The list of subsystems, and one subsystem with its designs side by side."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.checks.answer import Answers
from server.core.tube.port import PortFacts
from server.core.units import System
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.verdicts.page import (
    DesignLike,
    DesignStanding,
    FlowSummary,
    Subsystem,
    count_words,
    flow_summary,
    overall,
    standing,
)
from server.web import urls
from server.web.view import FormState, Page, Verdict


@dataclass(frozen=True, slots=True)
class SubsystemLine:
    """One subsystem of the list, with the verdict of the design that stands for it."""

    href: str
    letter: str
    name: str
    design: str
    why: str
    verdict: Verdict | None


@dataclass(frozen=True, kw_only=True)
class SubsystemsPage(Page):
    """Every subsystem of a build, and the form for one more."""

    template: ClassVar[str] = "subsystems/list.html"

    build_id: int
    subsystems: tuple[SubsystemLine, ...]
    kinds: tuple[str, ...]
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


@dataclass(frozen=True, slots=True)
class SidePortLine:
    """A line that must find a place on this subsystem's run."""

    href: str
    name: str
    stretch: str


@dataclass(frozen=True, kw_only=True)
class SubsystemPage(Page):
    """One subsystem: what it must join and keep, its designs, and the form for a new design."""

    template: ClassVar[str] = "subsystems/subsystem.html"

    build_id: int
    id: int
    letter: str
    name: str
    kind: str
    designs: tuple[DesignColumn, ...]
    side_ports: tuple[SidePortLine, ...]
    run_ends: tuple[tuple[str, str], ...]
    meter_piece: bool
    form: FormState


def subsystems_page(
    build: Face,
    standings: Sequence[DesignStanding],
    kinds: Sequence[str],
    today: date,
    refused: Refused | None,
) -> SubsystemsPage:
    lines = tuple(
        SubsystemLine(
            urls.subsystem(build.id, item.subsystem_id),
            item.letter,
            item.subsystem_name,
            item.design_name,
            item.why,
            Verdict(item.word, item.percent) if item.design_id is not None else None,
        )
        for item in standings
    )
    return SubsystemsPage(
        **heading(build, "Subsystems", today),
        build_id=build.id,
        subsystems=lines,
        kinds=tuple(kinds),
        form=FormState.of(refused),
    )


def subsystem_page(
    *,
    build: Face,
    subsystem: Subsystem,
    designs: Sequence[tuple[DesignLike, str, int, Answers | None]],
    ports: Sequence[PortFacts],
    today: date,
    refused: Refused | None,
) -> SubsystemPage:
    """`designs`: each with the reason it was chosen, its number of pieces, and what its checks answer."""
    ends = [(str(port.id), port.name) for port in ports if port.role == "run end"]
    return SubsystemPage(
        **heading(build, f"{subsystem.letter} · {subsystem.name}", today, within="Subsystems"),
        build_id=build.id,
        id=subsystem.id,
        letter=subsystem.letter,
        name=subsystem.name,
        kind=subsystem.kind,
        designs=tuple(
            _column(build.id, subsystem, design, because, pieces, answers, build.system)
            for design, because, pieces, answers in designs
        ),
        side_ports=tuple(
            SidePortLine(urls.port(build.id, port.id), port.name, port.stretch)
            for port in ports
            if port.role == "side port" and port.subsystem_id == subsystem.id
        ),
        run_ends=(("", "not said yet"), *ends),
        meter_piece=subsystem.kind == "intake",
        form=FormState.of(refused),
    )


def _column(
    build_id: int,
    subsystem: Subsystem,
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
    )
