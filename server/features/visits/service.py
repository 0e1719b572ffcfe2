"""A visit worked out: its readiness and its sheet."""

from collections.abc import Iterable
from datetime import date, datetime

from sqlmodel import Session

from server.core.tube.centreline import lay_out
from server.core.tube.cutting.bench import benched
from server.core.work.hours import Visit, later, minutes_between, moment_of
from server.core.work.readiness import Readiness, readiness
from server.errors import NotFound
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.designs.service import Bill, surroundings, survey
from server.features.planning.service import PlanState, plan_state
from server.features.stints.service import garage_of
from server.features.trimming.service import left_on
from server.features.visits import page
from server.features.work.service import WorkState, minute_of, work_state
from server.web import urls
from server.web.view import Link


def visit_page(session: Session, build_id: int, visit_id: int, now: datetime) -> page.VisitPage:
    """Raises NotFound, also for a visit that was set aside."""
    build = build_face(session, build_id)
    name = ("visit page", visit_id, minute_of(now))
    return kept(build, name, lambda: _page(session, build, visit_id, now))


def _page(session: Session, build: BuildFace, visit_id: int, now: datetime) -> page.VisitPage:
    garage = garage_of(session, build)
    visit = next((one for one in garage.hours.visits if one.id == visit_id), None)
    if visit is None:
        raise NotFound("That visit is not there in this build, or was set aside.")
    planned, work = plan_state(session, build, now), work_state(session, build, now)
    starts, found = _found(planned, work, visit, now)
    tasks = {task.id: task for task in work.plan.tasks}
    hot = dict.fromkeys(tasks[at].subsystem_id or 0 for at in found.work if tasks[at].hot_work)
    return page.visit_page(
        build=build,
        plan=work.plan,
        now=now.astimezone(garage.tz(now)),
        visit=visit,
        reached=next((one.contact for one in garage.helpers if one.id == visit.helper_id), ""),
        found=found,
        planned=starts,
        runs=kept(build, ("visit runs", tuple(hot)), lambda: _runs(session, build, tuple(hot))),
        raising=garage.raising,
    )


def _found(
    state: PlanState, work: WorkState, visit: Visit, now: datetime
) -> tuple[dict[int, datetime], Readiness]:
    """When each task begins by the plan, and how the visit stands."""
    zone = state.garage.tz(now)
    begins, ends = (moment_of(visit.day, at, zone) for at in (visit.span.begins, visit.span.ends))
    since, until = (minutes_between(state.made_at, at) for at in (begins, ends))
    placed = state.schedule.placed if state.schedule else ()
    starts = {one.id: later(state.made_at, one.start) for one in placed}
    inside = {one.id for one in placed if any(part.start < until and part.end > since for part in one.parts)}
    expected: dict[str, date] = {}
    for some in state.to_plan.arrivals.values() if state.to_plan else ():
        for arrival in some:
            expected[arrival.what] = max(arrival.on, expected.get(arrival.what, arrival.on))
    found = readiness(work.plan.tasks, work.plan.standings, visit, zone, frozenset(inside), expected)
    return starts, found


def _runs(session: Session, build: BuildFace, subsystem_ids: tuple[int, ...]) -> tuple[page.RunSheet, ...]:
    """The sheets of the chosen designs of these subsystems, as far as something of them is welded."""
    found, around = survey(session, build), surroundings(session, build)
    checked, on_shelf = found.checked, {part.spec: part.on_shelf for part in around.parts if part.spec}
    sheets = []
    for bill in found.bills:
        if bill.subsystem_id not in subsystem_ids:
            continue
        plan, answers = checked[bill.design_id].case.plan, checked[bill.design_id].answers
        sheets.append(
            page.run_sheet(
                build,
                bill.design_id,
                f"{around.subsystems[bill.subsystem_id].letter} {bill.subsystem_name}",
                Link(urls.design(build.id, bill.design_id), bill.design_name),
                urls.cuts(build.id, bill.design_id),
                plan,
                benched(lay_out(plan), left_on(session, build, plan)),
                answers,
                _bends(bill, on_shelf),
            )
        )
    return tuple(sheet for sheet in sheets if sheet.welds)


def _bends(bill: Bill, on_shelf: dict[str, int]) -> Iterable[page.Bend]:
    for item in bill.items:
        if item.kind == "bend":
            yield page.Bend(item.name, item.count, on_shelf.get(item.spec))
