"""The path from filter to tailpipe: each place adds up, nothing is made up, and it is drawn by its length."""

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air import cost
from server.core.air.demand import DemandPoint, EnginePoint, EngineSheet, demand_curve
from server.core.air.intercooler import RatedDrop
from server.core.air.path import (
    RUNS,
    Basis,
    ColdDoubts,
    ColdPiece,
    ColdRun,
    Cooler,
    HotPiece,
    HotRun,
    PathPlace,
    Step,
    cold_path,
    hot_path,
    ratio_to_hold,
    widths,
)
from server.core.measure.estimate import Estimate

SURE = ColdDoubts(0.0, 0.0, 0.0)
COOLER = Cooler(7e3)
HEAT = Estimate(1073.15, 60.0)
INTAKE = ColdRun((ColdPiece(1, 0.3, 300.0), ColdPiece(2, 0.1, 150.0)), doubt=45.0)
CHARGE = ColdRun((ColdPiece(1, 0.5, 2000.0), ColdPiece(None, 0.0, 100.0)), doubt=200.0)
COOLER_PIPE = ColdRun((ColdPiece(1, 0.9, 800.0),), doubt=80.0)
EVERY = {
    PathPlace.INTAKE: INTAKE,
    PathPlace.CHARGE_PIPE: CHARGE,
    PathPlace.COOLER_PIPE: COOLER_PIPE,
}


def engine(**changes: float) -> DemandPoint:
    """A 2.1 litre four at 1000 m asked for 1 bar at 6000 rpm."""
    numbers = {
        "elevation": 1000.0,
        "ambient_temperature": 298.15,
        "compressor_efficiency": 0.72,
        "intercooler_effectiveness": 0.7,
        "intercooler_loss": 7e3,
        "intake_loss": 2e3,
    } | changes
    boost = numbers.pop("boost", 100e3)
    sheet = EngineSheet(
        displacement=2.1e-3,
        redline=6600.0,
        points=(EnginePoint(6000.0, 0.9, boost),),
        fuel="petrol-95",
        overboost=130e3,
        **numbers,
    )
    return demand_curve(sheet, [6000.0])[0]


def ends(steps: tuple[Step, ...]) -> dict[PathPlace, Step]:
    """The last step of each place."""
    return {step.place: step for step in steps}


def test_the_air_begins_and_the_exhaust_ends_at_the_pressure_outside() -> None:
    """U.S. Standard Atmosphere, 1976, table I: 898.76 mb at a geometric altitude of 1000 m."""
    at = engine()
    assert cold_path(at, EVERY, COOLER, SURE)[0].pressure_in == pytest.approx(89_876.0, rel=1e-4)
    assert hot_path(at.ambient_pressure, HEAT, None, None, 4e3)[-1].pressure_out == pytest.approx(
        89_876.0, rel=1e-4
    )


@pytest.mark.parametrize(
    ("inlet", "ratio", "efficiency", "outlet"),
    [(246.79444, 1.685, 0.8948, 291.18491), (291.6, 1.935, 0.9243, 356.96842)],
)
def test_the_rise_over_the_compressor_is_the_published_one(
    inlet: float, ratio: float, efficiency: float, outlet: float
) -> None:
    """Cycle library pyCycle, test data compressor.csv (from a NASA cycle code); theirs with real gas."""
    outside = engine().ambient_pressure
    at = engine(
        ambient_temperature=inlet,
        compressor_efficiency=efficiency,
        intake_loss=0.0,
        intercooler_loss=0.0,
        boost=(ratio - 1.0) * outside,
    )
    step = ends(cold_path(at, EVERY, COOLER, SURE))[PathPlace.COMPRESSOR]
    assert step.pressure_out / step.pressure_in == pytest.approx(ratio)
    assert step.temperature_in == inlet
    assert step.temperature_out == pytest.approx(outlet, rel=1e-3)


def test_the_cooler_takes_out_its_effectiveness_of_what_the_compressor_put_in() -> None:
    """Definition of effectiveness, (T_in - T_out) / (T_in - T_coolant) (Incropera, chapter 11)."""
    step = ends(cold_path(engine(), EVERY, COOLER, SURE))[PathPlace.COOLER]
    taken_out = (step.temperature_in - step.temperature_out) / (step.temperature_in - 298.15)
    assert taken_out == pytest.approx(0.7)
    assert step.drop == pytest.approx(7e3)


def test_what_is_short_at_the_throttle_is_what_each_run_is_said_to_cost() -> None:
    """Definition of pressure ratio, at the engine sheet's: a loss ahead of the compressor is multiplied."""
    at = engine()
    arrives = cold_path(at, EVERY, COOLER, SURE)[-1].pressure_out
    costs = (
        cost.intake_cost(INTAKE.drop, at, 0.0).boost,
        cost.charge_cost(CHARGE.drop, at, 0.0).boost,
        cost.charge_cost(COOLER_PIPE.drop, at, 0.0).boost,
    )
    assert at.manifold_pressure - arrives == pytest.approx(sum(costs))


def test_at_the_ratio_that_holds_it_the_boost_asked_for_arrives() -> None:
    """Definition of pressure ratio: the same walk, at that ratio, ends at the manifold's pressure."""
    at = engine()
    steps = cold_path(at, EVERY, COOLER, SURE)
    held = at._replace(pressure_ratio=ratio_to_hold(at, steps))
    assert cold_path(held, EVERY, COOLER, SURE)[-1].pressure_out == pytest.approx(at.manifold_pressure)
    bare = cold_path(at, {}, COOLER, SURE)
    assert ratio_to_hold(at, bare) == pytest.approx(at.pressure_ratio), "nothing is lost but what is typed"


def test_a_run_that_is_not_known_loses_nothing_here_and_says_so() -> None:
    at = engine()
    steps = ends(cold_path(at, {PathPlace.CHARGE_PIPE: None}, COOLER, SURE))
    for place in (PathPlace.INTAKE, PathPlace.CHARGE_PIPE, PathPlace.COOLER_PIPE):
        assert steps[place].basis is Basis.NOT_KNOWN
        assert steps[place].drop == 0.0
        assert steps[place].length is None
    assert steps[PathPlace.THROTTLE].pressure_out == pytest.approx(at.manifold_pressure)
    assert steps[PathPlace.THROTTLE].basis is Basis.NOT_KNOWN, "what it loses itself is not known"


def test_without_a_cooler_the_charge_pipe_ends_at_the_throttle() -> None:
    places = [step.place for step in cold_path(engine(), EVERY, None, SURE)]
    assert PathPlace.COOLER not in places
    assert PathPlace.COOLER_PIPE not in places
    assert places[-2:] == [PathPlace.CHARGE_PIPE, PathPlace.THROTTLE]


def test_doubts_of_losses_add_up_and_join_the_boosts_as_independent_ones() -> None:
    """JCGM 100:2008, 5.1.2; losses of one flow rise and fall together, and so add up."""
    at = engine()
    steps = ends(cold_path(at, EVERY, COOLER, ColdDoubts(5e3, 3.0, 1.5)))
    assert steps[PathPlace.FILTER].pressure_doubt == 0.0
    assert steps[PathPlace.INTAKE].pressure_doubt == pytest.approx(45.0)
    assert steps[PathPlace.THROTTLE].pressure_doubt == pytest.approx(
        hypot(5e3, 45.0 * at.pressure_ratio + 200.0 + 80.0)
    )
    heat = [steps[place].temperature_doubt for place in (PathPlace.INTAKE, PathPlace.CHARGE_PIPE)]
    assert [*heat, steps[PathPlace.THROTTLE].temperature_doubt] == [0.0, 3.0, 1.5]


def test_losses_that_leave_no_pressure_are_refused() -> None:
    with pytest.raises(ValueError, match="cooler leave no pressure"):
        cold_path(engine(), {}, Cooler(1e6), SURE)


def test_the_exhaust_is_stacked_from_the_air_outside_upstream() -> None:
    exhaust = HotRun((HotPiece(1, 1.8, 106e3, 103e3),), doubt=300.0)
    downpipe = HotRun((HotPiece(1, 0.2, 112e3, 108e3), HotPiece(2, None, 108e3, 106e3)), doubt=400.0)
    steps = hot_path(100e3, HEAT, downpipe, exhaust, 3e3)
    assert [step.place for step in steps] == [
        PathPlace.TURBINE,
        PathPlace.DOWNPIPE,
        PathPlace.DOWNPIPE,
        PathPlace.EXHAUST,
        PathPlace.TAILPIPE,
    ]
    assert [step.pressure_out for step in steps] == [112e3, 108e3, 106e3, 103e3, 100e3]
    assert [step.pressure_doubt for step in steps] == pytest.approx(
        [700.0, 300.0 + 400.0 / 3, 300.0, 0.0, 0.0]
    )
    assert steps[-1].basis is Basis.TAKEN
    assert {step.temperature_out for step in steps} == {HEAT.value}


def test_where_only_a_figure_stands_for_the_exhaust_it_is_marked_taken() -> None:
    downpipe = HotRun((HotPiece(1, 0.2, 107e3, 104e3),), doubt=400.0)
    steps = ends(hot_path(100e3, HEAT, downpipe, None, 4e3))
    assert steps[PathPlace.EXHAUST].basis is Basis.TAKEN
    assert steps[PathPlace.EXHAUST].drop == pytest.approx(4e3)
    assert steps[PathPlace.TURBINE].pressure_out == 107e3
    assert steps[PathPlace.TURBINE].basis is Basis.RECKONED


def test_back_pressure_is_not_known_without_a_downpipe() -> None:
    steps = ends(hot_path(100e3, HEAT, None, None, 4e3))
    assert steps[PathPlace.TURBINE].basis is Basis.NOT_KNOWN
    assert steps[PathPlace.DOWNPIPE].basis is Basis.NOT_KNOWN


lengths = st.one_of(st.none(), st.floats(0.01, 3.0))


@given(st.lists(lengths, min_size=1, max_size=8), st.booleans())
def test_pipes_are_drawn_by_their_length_and_the_rest_in_equal_stretches(
    along: list[float | None], known: bool
) -> None:
    run = ColdRun(tuple(ColdPiece(number, length, 10.0) for number, length in enumerate(along, 1)))
    steps = cold_path(engine(), {PathPlace.INTAKE: run if known else None}, COOLER, SURE)
    shares = widths(steps)
    assert sum(shares) == pytest.approx(1.0)
    assert min(shares) > 0.0
    alone = {
        round(share, 9)
        for step, share in zip(steps, shares, strict=True)
        if step.place not in RUNS or step.basis is Basis.NOT_KNOWN
    }
    assert len(alone) == 1
    pieces = [(step.length, share) for step, share in zip(steps, shares, strict=True) if step.piece]
    scales = {round(share / length, 9) for length, share in pieces if length}
    assert len(scales) <= 1


def test_nothing_can_not_be_drawn() -> None:
    with pytest.raises(ValueError, match="nothing to draw"):
        widths(())


def test_a_cooler_with_a_rated_drop_loses_it_by_flow_squared_over_density() -> None:
    """Kays & London, Compact Heat Exchangers, chapter 2 (from memory): a constant loss coefficient."""
    at = engine()
    rated = RatedDrop(drop=5e3, flow=0.5 * at.flow, density=1.2)
    step = ends(cold_path(at, EVERY, Cooler(7e3, rated), SURE))[PathPlace.COOLER]
    density = step.pressure_in / (287.05 * step.temperature_in)
    assert step.drop == pytest.approx(5e3 * 2.0**2 * 1.2 / density, rel=1e-4)
    assert step.basis is Basis.RECKONED
