"""Card that stands in, borrowed fittings and hoses offered up. Rules: common practice."""

from dataclasses import replace

import pytest

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.rule import Verdict
from server.core.phrase import say
from server.core.tube.run import EndForm, Offered, Origin, PieceKind, PiecePlan, Place, RunPlan
from server.core.units import System
from tests.core.checks.runs import charge_case, check, clamped, port, sizes, with_piece


def hose_case(place: Place = Place.HEATER, **changes: object) -> Case:
    """One free hose between two spigots."""
    hose = PiecePlan(
        1,
        1,
        PieceKind.HOSE,
        "Heater hose",
        "EPDM",
        sizes(bore=19.0, wall=4.5, length=600.0),
        EndForm.CUFF,
        EndForm.CUFF,
    )
    ends = (port(41, "Heater inlet", 19.0), port(42, "Engine outlet", 19.0))
    plan = RunPlan(place, *ends, (replace(hose, **changes),), (clamped(81, 19.0), clamped(82, 19.0)))  # type: ignore[arg-type]
    return Case(plan)


def test_a_mock_up_is_not_measured_until_a_real_piece_takes_its_place() -> None:
    assert "mock-up" not in {one.rule.code for one in answer(charge_case()).checks}
    found = check(with_piece(charge_case(), 4, origin=Origin.MOCK_UP), "mock-up")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Tube (4) is a mock-up: draw the piece that takes its place."


@pytest.mark.parametrize(
    ("tried", "verdict"),
    [
        ("", Verdict.NOT_MEASURED),
        ("not tried", Verdict.NOT_MEASURED),
        ("fits", Verdict.GO),
        ("does not", Verdict.NO_GO),
    ],
)
def test_a_borrowed_fitting_waits_for_being_tried_on(tried: str, verdict: Verdict) -> None:
    case = with_piece(charge_case(), 4, origin=Origin.BORROWED, tried=tried)
    assert check(case, "tried-on").verdict is verdict


@pytest.mark.parametrize(
    ("place", "offered", "verdict"),
    [
        (Place.HEATER, Offered.NOT_YET, Verdict.NOT_MEASURED),
        (Place.SIGNAL, Offered.NOT_YET, Verdict.NOT_MEASURED),
        (Place.HEATER, Offered.FITS, Verdict.GO),
        (Place.HEATER, Offered.TOUCHES, Verdict.TIGHT),
        (Place.FUEL, Offered.TOUCHES, Verdict.NO_GO),
        (Place.OIL_DRAIN, Offered.TOUCHES, Verdict.NO_GO),
        (Place.HEATER, Offered.SHORT, Verdict.NO_GO),
    ],
)
def test_a_free_hose_is_offered_up_before_it_is_believed(
    place: Place, offered: Offered, verdict: Verdict
) -> None:
    assert check(hose_case(place, offered=offered), "offered-up").verdict is verdict


def test_where_a_hose_touches_is_told_as_it_was_written_down() -> None:
    case = hose_case(offered=Offered.TOUCHES, offered_note="the steering shaft at full lock")
    found = check(case, "offered-up")
    assert "the steering shaft at full lock" in say(found.phrase, System.metric)
    assert found.cure is not None
    assert "offer up again" in say(found.cure.phrase, System.metric) or "draw another way" in say(
        found.cure.phrase, System.metric
    )


def test_a_coupler_that_nobody_offered_up_is_not_asked_for_it() -> None:
    assert "offered-up" not in {one.rule.code for one in answer(charge_case()).checks}
