"""Card that stands in, borrowed fittings and hoses offered up. Rules: common practice."""

from dataclasses import replace

import pytest

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.levers import DIAMETER_AS_SOLD, with_another
from server.core.checks.rule import Verdict
from server.core.phrase import say
from server.core.tube.run import EndForm, Offered, Origin, PieceKind, PiecePlan, Place, RunPlan
from server.core.units import System
from tests.core.checks.runs import charge_case, check, clamped, port, sizes, with_piece, with_piece_sizes


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


def narrowed(outside: float) -> Case:
    """The charge pipe with its bend of another outside diameter [mm]."""
    return with_piece_sizes(charge_case(), 2, sizes(outside_diameter=outside))


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


@pytest.mark.parametrize("origin", [Origin.IN_GARAGE, Origin.SALVAGED, Origin.BORROWED])
def test_a_pipe_that_is_there_is_not_made_wider_another_takes_its_place(origin: Origin) -> None:
    """Its diameters are as they are; what is put in its place was tried, as sure as a bought pipe is."""
    case = with_piece(narrowed(48.0), 2, origin=origin, tried="fits")
    cure = check(case, "bore-held").cure
    assert cure is not None
    assert say(cure.phrase, System.metric) == (
        "Put a piece of 57 mm bore (60 mm outside) in place of 90° bend (2)."
    )
    assert cure.variable == "piece.2.outside_diameter"
    assert cure.value == pytest.approx(0.060)
    there = case.plan.pieces[1]
    another = with_another(case, there).with_size("piece.2.outside_diameter", 0.060)
    assert check(another, "bore-held").verdict is Verdict.GO
    assert another.plan.pieces[1].origin is Origin.NEW
    assert another.variables()["piece.2.outside_diameter"].doubt >= DIAMETER_AS_SOLD


def test_a_pipe_to_be_bought_is_bought_wider() -> None:
    cure = check(narrowed(48.0), "bore-held").cure
    assert cure is not None
    assert say(cure.phrase, System.metric) == (
        "A bore of 57 mm (60 mm outside) in 90° bend (2) turns this to go."
    )
