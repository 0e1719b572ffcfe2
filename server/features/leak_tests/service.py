"""What can be done with pressure tests of the charge side, and their page."""

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import datetime

from sqlmodel import Session

from server.core.air.atmosphere import standard
from server.core.lines import leak
from server.core.tube.centreline import lay_out
from server.core.tube.run import Place
from server.core.tube.volume import inside
from server.errors import BadInput, Refused
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.designs.service import surroundings, survey
from server.features.leak_tests import forms, page, store
from server.features.leak_tests.tables import LeakTest
from server.web.view import Happening

USUAL_AIR = 293.15
"""Of the air under test where nobody has said [K]; it moves the fall that is allowed by 1 % in 3 K."""


def basis_of(session: Session, build: BuildFace) -> page.Basis:
    """Worked out once for each state of the build."""
    return kept(build, ("pressure test",), lambda: _basis(session, build))


def _basis(session: Session, build: BuildFace) -> page.Basis:
    found, around = survey(session, build), surroundings(session, build)
    runs = [
        (one.subsystem_name, inside(lay_out(found.checked[one.design_id].case.plan)))
        for one in found.standings
        if one.design_id is not None and Place(one.kind) in {Place.CHARGE_PIPE, Place.COOLER_PIPE}
    ]
    sheet = around.engine.sheet if around.engine is not None else None
    boosts = [point.boost for point in sheet.points if point.boost > 0.0] if sheet is not None else []
    return page.Basis(
        sum(volume for _, volume in runs),
        tuple(name for name, volume in runs if volume),
        max(boosts, default=None),
        standard(sheet.elevation if sheet is not None else 0.0).pressure,
    )


def note(session: Session, build_id: int, typed: Mapping[str, str], made: datetime) -> None:
    """Note what a test came to. Raises NotFound, BadInput."""
    basis = basis_of(session, build_face(session, build_id))
    form = forms.result_form(typed, basis.boost)
    store.add(session, LeakTest(build_id=build_id, at=made, outside=basis.outside, **asdict(form)))


def set_withdrawn(
    session: Session, build_id: int, test_id: int, typed: Mapping[str, str], now: datetime
) -> None:
    """Let a test no longer count, or count again. Raises NotFound, BadInput."""
    build_face(session, build_id)
    store.set_withdrawn(session, build_id, test_id, now if forms.withdrawn(typed) else None)


def last_passes(session: Session, build_id: int) -> bool | None:
    """Whether the last test that counts passed; None where there is none."""
    counting = [one for one in store.tests_of(session, build_id) if not one.withdrawn]
    return page.passes(counting[0]) if counting else None


def leak_test_page(
    session: Session,
    build_id: int,
    asked: Mapping[str, str],
    now: datetime,
    by: str,
    refused: Refused | None = None,
) -> page.LeakTestPage:
    """asked: volume, step and leak that the test is worked out with, as the address brings them.

    Raises NotFound.
    """
    build = build_face(session, build_id)
    basis, refused_plan = basis_of(session, build), None
    plan = forms.PlanForm(None, forms.USUAL_STEP, forms.USUAL_LEAK)
    try:
        plan = forms.plan_form(asked)
    except BadInput as problem:
        refused_plan = problem
    volume = plan.volume or basis.pipes
    planned, lacking = None, ""
    if basis.boost is None:
        lacking = "Fill in the engine sheet first: no test goes above the boost intended."
    elif not volume:
        lacking = "Type the volume under test: no design of the charge side tells it yet."
    else:
        taken = leak.rate_of(plan.taken, USUAL_AIR)
        planned = leak.plan(volume, basis.boost, taken, plan.step)
    made = page.leak_test_page(
        build,
        basis,
        planned,
        lacking,
        asked,
        plan.step,
        store.tests_of(session, build_id),
        now,
        by,
        refused,
        refused_plan,
    )
    return replace(made, safe=forms.SAFE)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """The tests that were made, for the log, in one query."""
    return page.happenings(build_id, store.tests_of(session, build_id))
