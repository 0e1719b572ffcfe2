"""What to measure next: worked out when it is asked for, run by run, and kept for as long as a run stays.

Sheets that lead here (garage, design) ask for their short part once they are on the screen, so that none of
them waits for it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.checks.answer import Answers
from server.core.checks.case import Case
from server.core.checks.next_reading import NextReading, next_readings, open_run
from server.core.checks.wanted import AnsweredRun, ForWork, wanted_readings
from server.core.phrase import Phrase
from server.core.tube.run import variable
from server.core.work.holds import Hold, HoldKind
from server.errors import NotFound
from server.features.builds.service import build_face, kept, kept_while
from server.features.builds.store import BuildFace
from server.features.causes.service import awaited_of, wait_hold
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.designs.service import Checked, Surroundings
from server.features.designs.tables import Design
from server.features.measuring import page
from server.features.measuring.page import Asker
from server.features.verdicts.page import DesignStanding
from server.features.work.service import WorkState, minute_of, work_state


@dataclass(frozen=True, slots=True)
class _Asking:
    """A run that is asked, and who asks."""

    asker: Asker
    case: Case
    answers: Answers


def measuring_page(session: Session, build_id: int, now: datetime, design: str = "") -> page.MeasuringPage:
    """`design`: number of the one design that is asked about, empty for the build. Raises NotFound."""
    build = build_face(session, build_id)
    return kept(build, ("measuring page", minute_of(now), design), lambda: _page(session, build, now, design))


def _page(session: Session, build: BuildFace, now: datetime, design: str) -> page.MeasuringPage:
    around = designs.surroundings(session, build)
    state = work_state(session, build, now)
    only = _one_design(session, build.id, design) if design else None
    asked = _of_design(session, around, only) if only else _whole_build(session, build)
    titles = _held_by_checks(state, [one.asker for one in asked])
    runs = [
        AnsweredRun(
            one.asker.key,
            one.case,
            one.answers,
            doubts_of(build, one),
            len(titles[one.asker.key]),
        )
        for one in asked
    ]
    by_variable = {} if only else _held_by_readings(state)
    for_work = [ForWork(name, _ask(hold), len(some)) for name, (hold, some) in by_variable.items()]
    return page.measuring_page(
        build,
        wanted_readings(runs, for_work),
        {one.asker.key: one.asker for one in asked},
        titles,
        {name: some for name, (_, some) in by_variable.items()},
        around.ports,
        only,
        now.date(),
    )


def doubts_of(build: BuildFace, one: _Asking) -> tuple[NextReading, ...]:
    """The readings that may settle open checks of one run, worked out once for what they rest on."""
    case, answers = one.case, one.answers

    def make() -> tuple[NextReading, ...]:
        return next_readings([open_run("", case, answers)])

    return kept_while(build.id, ("next readings", one.asker.key), (case, answers), make)


def _one_design(session: Session, build_id: int, design: str) -> Design:
    if not design.isdecimal() or len(design) > 9:
        raise NotFound("There is no such design in this build.")
    return design_store.load_design(session, build_id, int(design))


def _whole_build(session: Session, build: BuildFace) -> list[_Asking]:
    """Of each subsystem the design that the garage shows, the chosen, else the latest; then the figures."""

    def make() -> list[_Asking]:
        around, found = designs.surroundings(session, build), designs.survey(session, build)
        asked = [
            _run(around, one.subsystem_id, one.design_id, one.design_name, found.checked[one.design_id])
            for one in sorted(found.standings, key=lambda one: one.design_id or 0)
            if one.design_id is not None
        ]
        return [one for one in asked if one is not None] + _figures(around, found.standings)

    return kept(build, ("runs to measure",), make)


def _run(
    around: Surroundings, subsystem_id: int, design_id: int, name: str, checked: Checked
) -> _Asking | None:
    if checked.answers is None:
        return None
    subsystem = around.every_subsystem[subsystem_id]
    asker = page.design_asker(around.build_id, subsystem, design_id, name, checked.case.plan)
    return _Asking(asker, checked.case, checked.answers)


def _of_design(session: Session, around: Surroundings, design: Design) -> list[_Asking]:
    checked = designs.checked(design_store.rows_of(session, [design])[design.key], around)
    asked = _run(around, design.subsystem_id, design.key, design.name, checked)
    return [] if asked is None else [asked]


def _figures(around: Surroundings, standings: Iterable[DesignStanding]) -> list[_Asking]:
    """What is fitted where no run is designed."""
    without = {one.subsystem_id for one in standings if one.design_id is None}
    asked = []
    for subsystem in around.subsystems.values():
        if subsystem.id in without and subsystem.id in around.figures:
            case = designs.figure_case(subsystem, around)
            asker = page.figures_asker(around.build_id, subsystem, case.plan)
            asked.append(_Asking(asker, case, designs.figure_answers(subsystem, around)))
    return asked


def _held_by_checks(state: WorkState, askers: Iterable[Asker]) -> Mapping[str, tuple[str, ...]]:
    """The tasks that wait for the checks of each asker; none for a design that is only looked at."""
    held = state.plan.held
    stands = {one.subsystem_id: one.design_id for one in state.book.designs}
    return {
        one.key: held.get((HoldKind.CHECK, one.subsystem_id), ())
        if stands.get(one.subsystem_id) == one.design_id
        else ()
        for one in askers
    }


def _held_by_readings(state: WorkState) -> Mapping[str, tuple[Hold, tuple[str, ...]]]:
    """The readings that tasks wait for by themselves, with the titles of the tasks they hold."""
    held: dict[Hold, list[str]] = {}
    for task in state.plan.tasks:
        for root in state.plan.standings[task.id].roots:
            if root.kind is HoldKind.READING:
                held.setdefault(root, []).append(task.title)
    found: dict[str, tuple[Hold, tuple[str, ...]]] = {}
    awaited = awaited_of(state.book)
    for wait in state.book.rows.waits:
        hold = wait_hold(awaited, wait) if wait.kind == "reading" else None
        if hold in held and wait.port_id is not None:
            found[variable("port", wait.port_id, wait.dimension)] = (hold, tuple(held[hold]))
    return found


def _ask(hold: Hold) -> Phrase:
    return Phrase("Measure {what}.", {"what": hold.what})
