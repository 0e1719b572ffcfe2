"""What to measure next: worked out when it is asked for, run by run, and kept for as long as a run stays.

Sheets that lead here (garage, design) ask for their short part once they are on the screen, so that none of
them waits for it.
"""

from collections.abc import Iterable, Mapping, Sequence
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
from server.features.builds.service import build_face, kept, kept_for
from server.features.builds.store import BuildFace
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.designs.service import Surroundings
from server.features.designs.tables import Design
from server.features.measuring import page
from server.features.measuring.page import Asker
from server.features.verdicts.page import DesignStanding
from server.features.work.page import holding
from server.features.work.service import WorkState, minute_of, wait_hold, work_state


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
    asked = _designs(session, around, [only]) if only else _whole_build(session, build)
    titles = _held_by_checks(state, [one.asker for one in asked])
    runs = [
        AnsweredRun(
            one.asker.key,
            one.case,
            one.answers,
            doubts_of(one.case, one.answers),
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


def doubts_of(case: Case, answers: Answers) -> tuple[NextReading, ...]:
    """The readings that may settle open checks of one run, worked out once for what they rest on."""
    return kept_for("next readings", case, lambda: next_readings([open_run("", case, answers)]))


def _one_design(session: Session, build_id: int, design: str) -> Design:
    if not design.isdecimal() or len(design) > 9:
        raise NotFound("There is no such design in this build.")
    return design_store.load_design(session, build_id, int(design))


def _whole_build(session: Session, build: BuildFace) -> list[_Asking]:
    """Of each subsystem the design that the garage shows, the chosen, else the latest; then the figures."""

    def make() -> list[_Asking]:
        around, standings = designs.surroundings(session, build), designs.standings(session, build)
        shown = {one.design_id for one in standings}
        wanted = [one for one in design_store.designs_of(session, build.id) if one.key in shown]
        return _designs(session, around, wanted) + _figures(around, standings)

    return kept(build, ("runs to measure",), make)


def _designs(session: Session, around: Surroundings, wanted: Sequence[Design]) -> list[_Asking]:
    asked = []
    for rows in design_store.rows_of(session, wanted).values():
        answers = designs.answers_of(rows, around)
        if answers is not None:
            case = designs.case_of(rows, around)
            subsystem = around.every_subsystem[rows.design.subsystem_id]
            asker = page.design_asker(around.build.id, subsystem, rows.design, case.plan)
            asked.append(_Asking(asker, case, answers))
    return asked


def _figures(around: Surroundings, standings: Iterable[DesignStanding]) -> list[_Asking]:
    """What is fitted where no run is designed."""
    without = {one.subsystem_id for one in standings if one.design_id is None}
    asked = []
    for subsystem in around.subsystems.values():
        if subsystem.id in without and subsystem.id in around.figures:
            case = designs.figure_case(subsystem, around)
            asker = page.figures_asker(around.build.id, subsystem, case.plan)
            asked.append(_Asking(asker, case, designs.figure_answers(subsystem, around)))
    return asked


def _held_by_checks(state: WorkState, askers: Iterable[Asker]) -> Mapping[str, tuple[str, ...]]:
    """The tasks that wait for the checks of each asker; none for a design that is only looked at."""
    held = holding(state.plan)
    stands = {one.subsystem_id: one.design_id for one in state.book.designs}
    return {
        one.key: held.get((HoldKind.CHECK, one.subsystem_id), ())
        if stands.get(one.subsystem_id) == one.design_id
        else ()
        for one in askers
    }


def _held_by_readings(state: WorkState) -> Mapping[str, tuple[Hold, tuple[str, ...]]]:
    """The readings that tasks wait for by themselves, with the titles of the tasks they hold."""
    found: dict[str, tuple[Hold, tuple[str, ...]]] = {}
    for wait in state.book.rows.waits:
        hold = wait_hold(state.book, wait) if wait.kind == "reading" else None
        if hold is None or wait.port_id is None:
            continue
        titles = tuple(task.title for task in state.plan.tasks if hold in state.plan.standings[task.id].roots)
        if titles:
            found[variable("port", wait.port_id, wait.dimension)] = (hold, titles)
    return found


def _ask(hold: Hold) -> Phrase:
    return Phrase("Measure {what}.", {"what": hold.what})
