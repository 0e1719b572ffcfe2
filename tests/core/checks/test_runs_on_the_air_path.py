"""Runs on the path from filter to tailpipe are those that the checks march."""

from dataclasses import replace

import pytest

from server.core.air.path import ColdRun, HotRun
from server.core.checks.air_path import NotKnown, cold_doubts, cold_run, hot_run, rated_drop
from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.figures import Figures
from server.core.checks.flow import flow_of
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import Place
from server.core.units import System
from tests.core.checks.hot_runs import downpipe_case, downpipe_run
from tests.core.checks.runs import (
    charge_case,
    engine,
    intake_case,
    intake_run,
    sizes,
    with_piece,
)


def cold(case: Case) -> ColdRun:
    found = cold_run(case, None)
    assert isinstance(found, ColdRun)
    return found


def hot(case: Case, behind: float | None = None) -> HotRun:
    found = hot_run(case, None, behind)
    assert isinstance(found, HotRun)
    return found


@pytest.mark.parametrize("case", [intake_case(), charge_case()], ids=["intake", "charge pipe"])
def test_the_losses_are_those_of_the_checks_and_so_is_their_doubt(case: Case) -> None:
    answers = answer(case)
    assert answers.flow is not None
    found = cold_run(case, answers)
    assert isinstance(found, ColdRun)
    assert found.drop == pytest.approx(answers.flow.loss, abs=0.5)
    assert found.doubt == answers.loss_doubt
    by_number = {piece.number: piece.drop for piece in found.pieces}
    assert all(by_number[piece.number] == piece.loss for piece in answers.flow.pieces)


def test_a_bend_is_as_long_as_its_legs_and_its_arc() -> None:
    """Geometry: 60 mm + 60 mm + 90 mm × π / 2."""
    second = cold(charge_case()).pieces[1]
    assert second.length == pytest.approx(0.12 + 0.09 * 3.14159265 / 2, rel=1e-6)


def test_a_piece_without_a_length_is_none_the_less_passed() -> None:
    bare = {name: size for name, size in intake_run().pieces[2].sizes.items() if name != "length"}
    found = cold(with_piece(intake_case(), 3, sizes=bare))
    assert found.pieces[2].length is None
    assert found.pieces[2].drop >= 0.0


def test_a_step_into_the_end_port_is_told_as_a_step_of_its_own() -> None:
    case = charge_case()
    assert case.plan.end is not None
    narrow = replace(case.plan.end, sizes=sizes(outside_diameter=50.0, wall=1.5))
    found = cold(charge_case(end=narrow))
    assert found.pieces[-1].number is None
    assert found.pieces[-1].drop > 100.0
    assert found.pieces[-1].length == 0.0


def test_what_is_missing_is_named() -> None:
    found = cold_run(with_piece(charge_case(), 4, sizes={}), None)
    assert isinstance(found, NotKnown)
    assert say(found.phrase, System.metric) == "Type the bore of Tube (4)."
    no_engine = cold_run(replace(charge_case(), engine=None), None)
    assert isinstance(no_engine, NotKnown)
    assert no_engine.phrase.text == "Fill in the engine sheet."
    empty = hot_run(downpipe_case(pieces=(), joints=downpipe_run().joints[:1]), None)
    assert isinstance(empty, NotKnown)
    assert empty.phrase.text == "Add the first piece."


def test_a_run_that_can_not_pass_the_flow_is_not_drawn() -> None:
    thin = sizes(outside_diameter=30.0, wall=1.5, length=300.0)
    air = cold_run(with_piece(charge_case(), 4, sizes=thin), None)
    assert isinstance(air, NotKnown)
    assert "chokes" in air.phrase.text
    gas = hot_run(with_piece(downpipe_case(), 3, sizes=thin), None)
    assert isinstance(gas, NotKnown)
    assert "Mach 1" in gas.phrase.text


def test_the_pressure_at_a_downpipes_inlet_is_the_one_that_its_check_finds() -> None:
    case = downpipe_case()
    answers = answer(case)
    found = hot_run(case, answers)
    assert isinstance(found, HotRun)
    back = flow_of(Facts.at_best(case)).back_pressure
    assert back is not None
    outside = Facts.at_best(case).engine.ambient_pressure
    assert found.pieces[0].pressure_in - outside == pytest.approx(back, abs=0.01)
    assert found.pieces[-1].pressure_out - outside == pytest.approx(4000.0, abs=0.01)
    check = next(one for one in answers.checks if one.rule.code == "back-pressure")
    assert check.finding is not None
    assert found.doubt == check.finding.doubt
    assert found.doubt > 0.0


def test_a_downpipe_is_marched_again_where_what_is_behind_it_is_known() -> None:
    case = downpipe_case()
    outside = Facts.at_best(case).engine.ambient_pressure
    usual, more = hot(case), hot(case, outside + 9000.0)
    assert more.pieces[-1].pressure_out == pytest.approx(outside + 9000.0, abs=0.01)
    assert usual.pieces[0].pressure_in < more.pieces[0].pressure_in < usual.pieces[0].pressure_in + 5000.0
    joined = zip(more.pieces, more.pieces[1:], strict=False)
    assert all(before.pressure_out == after.pressure_in for before, after in joined)


def test_the_compressors_doubt_is_the_doubt_of_its_temperature() -> None:
    """By hand: the rise goes as 1 / efficiency, so 0.02 of 0.72 is 2.8 % of it, the boost's part aside."""
    case = engine(Place.INTAKE, boost_doubt=0.0)
    found = cold_doubts(case)
    rise = case.at_peak.compressor_outlet_temperature - case.at_peak.ambient_temperature
    assert found.compressor_outlet == pytest.approx(rise * 0.02 / 0.72, rel=0.01)
    assert found.cooler_outlet == pytest.approx(found.compressor_outlet * 0.3, rel=0.01)
    assert found.boost == 0.0
    assert cold_doubts(engine(Place.INTAKE)).boost == pytest.approx(3000.0, rel=1e-6)


def test_a_coolers_rated_drop_needs_all_four_of_its_figures() -> None:
    """By hand: 1 bar over 101.325 kPa (U.S. Standard Atmosphere, 1976) at 100 °C is 1.8798 kg/m³."""
    numbers = {
        "cooler.drop": Estimate(6e3),
        "cooler.flow": Estimate(0.25),
        "cooler.boost": Estimate(100e3),
        "cooler.temperature": Estimate(373.15),
    }
    found = rated_drop(Figures(numbers))
    assert found is not None
    assert (found.drop, found.flow) == (6e3, 0.25)
    assert found.density == pytest.approx(201_325.0 / (287.05 * 373.15), rel=1e-4)
    for key in numbers:
        assert rated_drop(Figures({name: one for name, one in numbers.items() if name != key})) is None
