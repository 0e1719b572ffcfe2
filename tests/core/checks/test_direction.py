"""A run is drawn the way it flows, with its meter on its own side: else the check says so."""

from dataclasses import replace

import pytest

from server.core.checks.answer import answer
from server.core.checks.case import Case, MeterPlace
from server.core.checks.rule import Verdict
from server.core.measure.opening import WITH_FLAP
from server.core.tube.run import Frame, PieceKind, Place, RunPlan
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import (
    charge_case,
    check,
    engine,
    intake_case,
    intake_run,
    with_piece,
)


def speaks(case: Case) -> bool:
    """Whether the check has anything to say."""
    return any(one.rule.code == "right-way" for one in answer(case).checks)


def meter_said_to_be(case: Case, place: MeterPlace) -> Case:
    assert case.engine is not None
    return replace(case, engine=replace(case.engine, meter_place=place))


@pytest.mark.parametrize(
    "case", [intake_case(), charge_case(), downpipe_case()], ids=["intake", "charge", "hot"]
)
def test_a_run_drawn_right_is_not_spoken_of(case: Case) -> None:
    assert not speaks(case)


@pytest.mark.parametrize("place", [MeterPlace.AFTER_COMPRESSOR, MeterPlace.NONE])
def test_a_meter_in_the_intake_of_a_car_that_has_it_elsewhere_is_no_go(place: MeterPlace) -> None:
    found = check(meter_said_to_be(intake_case(), place), "right-way")
    assert found.verdict is Verdict.NO_GO
    assert found.phrase.words["said"].startswith(("stands after", "is not there"))
    assert found.cure is not None


def test_a_meter_in_the_charge_pipe_is_right_where_the_build_says_so() -> None:
    wrong = with_piece(charge_case(), 2, kind=PieceKind.METER)
    assert check(wrong, "right-way").verdict is Verdict.NO_GO
    assert not speaks(meter_said_to_be(wrong, MeterPlace.AFTER_COMPRESSOR))


def test_without_an_engine_sheet_nobody_knows_where_the_meter_stands() -> None:
    assert not speaks(replace(intake_case(), engine=None))


def test_a_downpipe_that_ends_at_the_turbine_was_entered_from_the_wrong_end() -> None:
    case = downpipe_case()
    assert case.plan.end is not None
    turned = replace(case, plan=replace(case.plan, end=replace(case.plan.end, medium=WITH_FLAP)))
    found = check(turned, "right-way")
    assert found.verdict is Verdict.NO_GO
    assert found.phrase.words["port"] == case.plan.end.name
    assert found.cure is not None
    assert "Swap the two ports" in found.cure.phrase.text


def test_a_filter_behind_other_pieces_was_entered_from_the_wrong_end() -> None:
    found = check(with_piece(intake_case(), 3, kind=PieceKind.FILTER), "right-way")
    assert found.verdict is Verdict.NO_GO
    assert found.phrase.words["number"] == "3"


def test_an_intake_to_the_meter_is_wrong_only_with_ports_that_belong_behind_it() -> None:
    plan = intake_run()
    assert plan.end is not None
    pieces = tuple(piece for piece in plan.pieces if piece.kind is not PieceKind.METER)
    kept = RunPlan(
        Place.INTAKE,
        plan.start,
        replace(plan.end, is_meter=True),
        pieces,
        plan.joints[: len(pieces) + 1],
        plan.side_ports,
    )
    case = Case(kept, engine(Place.INTAKE))
    assert check(case, "right-way").verdict is Verdict.NO_GO
    bare = tuple(replace(piece, bungs=()) for piece in pieces)
    assert not speaks(replace(case, plan=replace(kept, pieces=bare)))


def between(place: Place, first: Frame, last: Frame) -> Case:
    """A charge run of which both ends are said to move with something."""
    case = charge_case()
    start, end = case.plan.start, case.plan.end
    assert start is not None
    assert end is not None
    start, end = replace(start, frame=first.value), replace(end, frame=last.value)
    return replace(case, plan=replace(case.plan, place=place, start=start, end=end), engine=engine(place))


@pytest.mark.parametrize(
    ("place", "first", "last"),
    [
        (Place.CHARGE_PIPE, Frame.ENGINE, Frame.BODY),
        (Place.COOLER_PIPE, Frame.BODY, Frame.ENGINE),
        (Place.CHARGE_PIPE, Frame.ENGINE, Frame.ENGINE),
        (Place.COOLER_PIPE, Frame.NOT_SAID, Frame.BODY),
    ],
)
def test_a_charge_pipe_drawn_from_the_compressor_on_is_not_spoken_of(
    place: Place, first: Frame, last: Frame
) -> None:
    assert not speaks(between(place, first, last))


@pytest.mark.parametrize(
    ("place", "first", "last"),
    [(Place.CHARGE_PIPE, Frame.BODY, Frame.ENGINE), (Place.COOLER_PIPE, Frame.ENGINE, Frame.BODY)],
)
def test_a_charge_pipe_drawn_towards_the_compressor_was_entered_backwards(
    place: Place, first: Frame, last: Frame
) -> None:
    found = check(between(place, first, last), "right-way")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert "Swap the two ports" in found.cure.phrase.text
