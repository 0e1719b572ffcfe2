"""The dossier of a subsystem, as a page and as PDF."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlmodel import Session

from server.core.checks.answer import Answers
from server.core.checks.figures import FIGURES, Figure
from server.core.measure.opening import Reading
from server.core.tube.port import PortFacts
from server.core.tube.run import Place
from server.core.units import System
from server.errors import NotFound
from server.features.builds import service as builds
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.designing.service import run_drawing
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.designs.service import Surroundings
from server.features.designs.store import DesignRows
from server.features.designs.tables import Design
from server.features.dossier import page
from server.features.engine import service as engine
from server.features.engine.page import Answer
from server.features.figures import store as figure_store
from server.features.limits import service as limits
from server.features.ports import service as ports
from server.web.handout import File, file_name
from server.web.paper import sheet_pdf

ENGINE_BEARS_ON = frozenset(Place) - {Place.OIL_DRAIN, Place.HEATER, Place.BREATHER, Place.SIGNAL}
"""Subsystems whose checks rest on the engine sheet."""


def dossier_page(
    session: Session, build_id: int, subsystem_id: int, now: datetime, by: str, design_id: int | None = None
) -> page.DossierPage:
    """Of a design that is named, else of the chosen one or the latest. Raises NotFound."""
    build = builds.build_face(session, build_id)
    subsystem = builds.subsystem_face(session, build_id, subsystem_id)
    around = designs.surroundings(session, build)
    rows = _rows(session, build_id, subsystem_id, design_id)
    answers = _answers(rows, subsystem, around)
    case = designs.case_of(rows, around) if rows is not None else designs.figure_case(subsystem, around)
    touched = _ports(rows, subsystem, around)
    subject = page.Subject(
        subsystem=subsystem,
        design=rows.design if rows is not None else None,
        concessions=_conceded(rows, subsystem, around),
        case=case,
        answers=answers,
        drawing=run_drawing(build, rows.design.key, case.plan, answers)
        if rows and case.plan.pieces
        else None,
        ports=touched,
        readings=_readings(session, build_id, touched),
        asked=_asked(subsystem),
        figures=figure_store.sheet(session, subsystem_id),
        engine=_engine(build, subsystem, around, answers),
        changes=limits.changes_by_key(session, build_id),
    )
    return page.dossier_page(build, subject, now, by)


def dossier_pdf(
    session: Session, build_id: int, subsystem_id: int, now: datetime, by: str, design_id: int | None = None
) -> File:
    """A4, or letter paper for a build in inches. Raises NotFound."""
    build = builds.build_face(session, build_id)
    shown = dossier_page(session, build_id, subsystem_id, now, by, design_id)
    content = sheet_pdf(page.sheet(shown, letter=build.system is System.inch))
    return File(file_name("dossier", f"{shown.subsystem} {build.name}", now.date(), "pdf"), content)


def _rows(session: Session, build_id: int, subsystem_id: int, design_id: int | None) -> DesignRows | None:
    """Raises NotFound where a design is named that is not one of this subsystem."""
    if design_id is not None:
        named = design_store.load_design(session, build_id, design_id)
        if named.subsystem_id != subsystem_id:
            raise NotFound("There is no such design in this subsystem.")
        return design_store.rows_of(session, [named])[design_id]
    shown = _shown(design_store.designs_of(session, build_id, subsystem_id))
    return design_store.rows_of(session, [shown])[shown.key] if shown is not None else None


def _shown(every: Sequence[Design]) -> Design | None:
    """The chosen design, else the latest that can be built."""
    own = [one for one in every if not one.pattern]
    return next((one for one in own if one.chosen), own[-1] if own else None)


def _answers(rows: DesignRows | None, subsystem: SubsystemFace, around: Surroundings) -> Answers | None:
    if rows is not None:
        return designs.answers_of(rows, around)
    return designs.figure_answers(subsystem, around) if _asked(subsystem) else None


def _conceded(
    rows: DesignRows | None, subsystem: SubsystemFace, around: Surroundings
) -> tuple[page.ConcessionRow, ...]:
    """What was conceded on the figures of what is fitted and on the design."""
    found: dict[str, page.ConcessionRow] = {**around.conceded_on(subsystem.id)}
    found |= {row.rule: row for row in rows.concessions} if rows is not None else {}
    return tuple(found.values())


def _asked(subsystem: SubsystemFace) -> tuple[Figure, ...]:
    return FIGURES.get(Place(subsystem.kind), ())


def _ports(rows: DesignRows | None, subsystem: SubsystemFace, around: Surroundings) -> tuple[PortFacts, ...]:
    """The ports of the run and the side ports that must find a place on it; else the subsystem's own."""
    if rows is None:
        return tuple(port for port in around.ports if port.subsystem_id == subsystem.id)
    sides = {port.id for port in designs.side_ports_of(around, rows)}
    numbers = sides | {rows.design.start_port_id, rows.design.end_port_id}
    return tuple(port for port in around.ports if port.id in numbers)


def _readings(
    session: Session, build_id: int, touched: Sequence[PortFacts]
) -> Mapping[int, Sequence[Reading]]:
    return ports.readings_of(session, build_id) if touched else {}


def _engine(
    build: BuildFace, subsystem: SubsystemFace, around: Surroundings, answers: Answers | None
) -> Answer | None:
    """The engine at its peak, where the checks rest on it."""
    numbers = around.engine
    bears = answers is not None and Place(subsystem.kind) in ENGINE_BEARS_ON
    if numbers is None or not bears:
        return None
    rests_on = (numbers, build.system)
    return builds.kept_for("engine answered", rests_on, lambda: engine.answered(numbers, build))
