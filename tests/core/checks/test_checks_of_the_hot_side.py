"""Checks of a downpipe: what passes, what fails, and what is done about it. Rules: common practice."""

from dataclasses import replace
from math import radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.core.checks.answer import Check, answer
from server.core.checks.case import Case, engine_case
from server.core.checks.cure import CureKind
from server.core.checks.facts import Facts
from server.core.checks.flow import flow_of
from server.core.checks.register import rules_for
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.measure.opening import WITH_FLAP
from server.core.phrase import say
from server.core.tube.run import JointKind, PieceKind, Place
from server.core.units import System
from tests.core.checks.hot_runs import downpipe_case, flex, weld
from tests.core.checks.runs import (
    MM,
    charge_case,
    check,
    check_of,
    coupler,
    engine,
    sheet,
    sizes,
    with_joint,
    with_piece,
    with_piece_sizes,
)


def words(found: Check) -> str:
    return say(found.phrase, System.metric)


def with_boss(case: Case, **changes: object) -> Case:
    """The same downpipe with its sensor's boss changed."""
    boss = case.plan.pieces[2].bungs[0]
    return with_piece(case, 3, bungs=(replace(boss, **changes),))  # type: ignore[arg-type]


def test_a_sound_downpipe_passes_every_check_but_the_sensor_that_is_a_little_near() -> None:
    found = answer(downpipe_case())
    odd = {one.rule.code: one.verdict for one in found.checks if one.verdict is not Verdict.GO}
    assert odd == {"sensor-boss": Verdict.TIGHT}
    assert found.flow is not None
    assert found.flow.back_pressure is not None
    assert found.cost is None, "no simple sum tells what back pressure costs"


def test_exhaust_is_the_air_and_its_fuel_at_the_usual_heat_where_nobody_typed_it() -> None:
    case = engine(Place.DOWNPIPE)
    state = case.state({name: size.value for name, size in case.variables().items()})
    assert state.flow == pytest.approx(state.demand.flow * (1.0 + 1.0 / (0.80 * 14.6)))
    assert state.temperature == pytest.approx(1073.15)
    assert "nobody typed it" in words(check(downpipe_case(), "back-pressure"))


def test_what_was_typed_goes_before_the_usual_and_is_less_in_doubt() -> None:
    typed = engine_case(
        replace(sheet(), exhaust_temperature=1123.15, mixture=0.86),
        Place.DOWNPIPE,
        efficiency_doubt=0.03,
        boost_doubt=3000.0,
        bonnet_temperature=363.15,
    )
    assert typed is not None
    assert typed.exhaust_temperature.value == 1123.15
    assert typed.exhaust_temperature.doubt < engine(Place.DOWNPIPE).exhaust_temperature.doubt
    found = check(replace(downpipe_case(), engine=typed), "back-pressure")
    assert "850 °C" in words(found)
    assert "nobody typed" not in words(found)


def test_an_intake_knows_of_the_exhaust_only_how_hot_it_is_since_that_may_stand_beside_it() -> None:
    known = {name for name in engine(Place.INTAKE).variables() if "exhaust" in name or "mixture" in name}
    assert known == {"engine.exhaust_temperature"}


def test_a_narrow_tube_is_judged_by_speed_and_back_pressure_with_a_bore_that_cures_it() -> None:
    case = with_piece_sizes(downpipe_case(), 3, sizes(outside_diameter=60.0))
    speed, back = check(case, "gas-speed"), check(case, "back-pressure")
    assert speed.verdict is Verdict.TIGHT
    assert back.verdict is Verdict.TIGHT
    assert back.cure is not None
    assert back.cure.kind is CureKind.NUMBER
    assert back.cure.variable is not None
    assert back.cure.value is not None
    assert check(case.with_size(back.cure.variable, back.cure.value), "back-pressure").verdict is Verdict.GO


def test_a_place_a_little_narrow_beyond_a_wall_is_tight_by_the_little_it_loses() -> None:
    case = with_piece_sizes(downpipe_case(), 3, sizes(outside_diameter=71.5))
    assert check(case, "bore-held").verdict is Verdict.TIGHT
    assert (
        check(with_piece_sizes(case, 3, sizes(outside_diameter=55.0)), "bore-held").verdict is Verdict.NO_GO
    )


def test_a_pipe_so_narrow_that_exhaust_goes_sonic_is_no_go_and_says_where() -> None:
    found = answer(with_piece_sizes(downpipe_case(), 3, sizes(outside_diameter=40.0)))
    assert "Mach 1 in Tube (3)" in words(check_of(found, "gas-speed"))
    assert check_of(found, "back-pressure").verdict is Verdict.NO_GO


@settings(max_examples=15, deadline=None)
@given(st.floats(64.0, 90.0), st.floats(0.5, 6.0))
def test_a_wider_run_never_asks_for_more_pressure(outside: float, more: float) -> None:
    def back(size: float) -> float:
        case = downpipe_case()
        for number in (2, 3, 5):
            case = with_piece_sizes(case, number, sizes(outside_diameter=size))
        for number in (1, 4):
            case = with_piece_sizes(case, number, sizes(bore=size - 3.0))
        plain = replace(case, plan=replace(case.plan, start=None, end=None))
        found = flow_of(Facts.at_best(plain)).back_pressure
        assert found is not None
        return found

    assert back(outside + more) < back(outside)


@pytest.mark.parametrize(
    ("material", "verdict"),
    [
        ("304 stainless", Verdict.GO),
        ("mild steel", Verdict.GO),
        ("carbon steel", Verdict.GO),
        ("aluminised steel", Verdict.GO),
        ("aluminium", Verdict.NO_GO),
        ("galvanised steel", Verdict.NO_GO),
        ("carbon fibre", Verdict.NO_GO),
        ("", Verdict.NOT_MEASURED),
    ],
)
def test_only_metal_that_stands_exhaust_is_let_near_it(material: str, verdict: Verdict) -> None:
    assert check(with_piece(downpipe_case(), 3, material=material), "hot-metal").verdict is verdict


def test_a_hose_in_a_downpipe_burns_and_is_no_flex_either() -> None:
    pieces = list(downpipe_case().plan.pieces)
    pieces[3] = coupler(4, 73.2)
    case = downpipe_case(pieces=tuple(pieces))
    assert check(case, "hot-metal").verdict is Verdict.NO_GO
    assert check(case, "flex").verdict is Verdict.GO
    found = check(case, "exhaust-flex")
    assert found.verdict is Verdict.NO_GO
    assert "No metal flex between the engine and the body" in words(found)


@pytest.mark.parametrize(
    ("liner", "verdict"),
    [
        ("downstream", Verdict.GO),
        ("none", Verdict.TIGHT),
        ("upstream", Verdict.NO_GO),
        ("", Verdict.NOT_MEASURED),
    ],
)
def test_the_liner_of_a_flex_points_downstream(liner: str, verdict: Verdict) -> None:
    assert check(with_piece(downpipe_case(), 4, liner=liner), "exhaust-flex").verdict is verdict


def test_a_flex_wants_straight_beside_it_and_the_pipe_after_it_held() -> None:
    near = with_piece_sizes(downpipe_case(), 5, sizes(length=25.0))
    assert check(near, "exhaust-flex").verdict is Verdict.TIGHT
    in_bend = with_piece_sizes(downpipe_case(), 5, sizes(length=0.0))
    assert check(in_bend, "exhaust-flex").verdict is Verdict.NO_GO
    loose = check(with_piece(downpipe_case(), 4, supported=False), "exhaust-flex")
    assert loose.verdict is Verdict.TIGHT
    assert "hangs on the flex" in words(loose)


def test_two_flexes_let_the_pipe_between_them_swing() -> None:
    case = downpipe_case()
    pieces = (*case.plan.pieces[:5], replace(flex(6, 73.2)))
    joints = (*case.plan.joints[:5], weld(76), case.plan.joints[5])
    found = check(downpipe_case(pieces=pieces, joints=joints), "exhaust-flex")
    assert found.verdict is Verdict.TIGHT
    assert "2 flexes" in words(found)


def test_growth_is_held_against_the_travel_of_the_flex() -> None:
    """By hand: 0.945 m of 304 stainless, 17.2e-6, from 25 to 800 °C; no heat lost, one line."""
    found = check(downpipe_case(), "growth")
    assert found.finding is not None
    along = 0.020 + 2 * 0.060 + 0.1143 * radians(60.0) + 0.320 + 0.150 + 2 * 0.060 + 0.1143 * radians(45.0)
    assert found.finding.value == pytest.approx(along * 17.2e-6 * 775.0, rel=1e-3)
    short = with_piece_sizes(downpipe_case(), 4, {"travel": Estimate(15.0 * MM, 0.5 * MM)})
    assert check(short, "growth").verdict is Verdict.TIGHT
    shorter = with_piece_sizes(downpipe_case(), 4, {"travel": Estimate(8.0 * MM, 0.5 * MM)})
    assert check(shorter, "growth").verdict is Verdict.NO_GO
    unknown = check(with_piece_sizes(downpipe_case(), 4, {}, without=("travel",)), "growth")
    assert unknown.verdict is Verdict.NOT_MEASURED
    assert unknown.missing[0].variable == "piece.4.travel"


def test_a_run_welded_from_end_to_end_does_not_come_out_again() -> None:
    assert check(downpipe_case(), "comes-apart").verdict is Verdict.GO
    one = with_joint(downpipe_case(), 5, kind=JointKind.WELD)
    assert check(one, "comes-apart").verdict is Verdict.TIGHT
    none = check(with_joint(one, 0, kind=JointKind.WELD), "comes-apart")
    assert none.verdict is Verdict.NO_GO
    assert none.cure is not None
    assert "V-band" in say(none.cure.phrase, System.metric)


@pytest.mark.parametrize(
    ("first", "second", "filler", "verdict"),
    [
        ("304 stainless", "304 stainless", "308L", Verdict.GO),
        ("321 stainless", "321 stainless", "347", Verdict.GO),
        ("304 stainless", "mild steel", "309L", Verdict.GO),
        ("mild steel", "mild steel", "ER70S-6", Verdict.GO),
        ("304 stainless", "mild steel", "ER70S-6", Verdict.TIGHT),
        ("304 stainless", "304 stainless", "", Verdict.NOT_MEASURED),
        ("304 stainless", "aluminium", "4043", Verdict.NO_GO),
        ("304 stainless", "", "308L", Verdict.NOT_MEASURED),
        ("aluminised steel", "mild steel", "ER70S-6", Verdict.GO),
        ("cast iron", "mild steel", "ENi-CI", Verdict.GO),
        ("cast iron", "mild steel", "aluminium rod", Verdict.TIGHT),
        ("titanium", "titanium", "stick", Verdict.TIGHT),
    ],
)
def test_a_weld_has_a_filler_for_the_two_metals(
    first: str, second: str, filler: str, verdict: Verdict
) -> None:
    """Classes: AWS A5.9 and A5.18; which is usual, common practice."""
    case = with_piece(with_piece(downpipe_case(), 2, material=first), 3, material=second)
    for index in (1, 3):
        case = with_joint(case, index, kind=JointKind.FLANGE)
    case = with_joint(case, 4, kind=JointKind.FLANGE)
    assert check(with_joint(case, 2, filler=filler), "filler").verdict is verdict


def test_a_weld_on_the_air_side_says_its_filler_and_that_aluminium_is_not_purged() -> None:
    """Filler: AWS A5.10 for what 4043 is; which is usual, and the care, common practice."""
    welded = with_joint(charge_case(), 2, kind=JointKind.WELD)
    case = with_piece(welded, 3, kind=PieceKind.TUBE, material="aluminium")
    asked = check(case, "filler")
    assert asked.verdict is Verdict.NOT_MEASURED
    assert "Usual is 4043" in words(asked)
    assert "No purge" in words(asked)
    assert check(with_joint(case, 2, filler="4043"), "filler").verdict is Verdict.GO


def test_a_filler_that_nobody_said_is_asked_for_with_what_is_usual() -> None:
    found = check(with_joint(downpipe_case(), 2, filler=""), "filler")
    assert "Usual is 308L" in words(found)
    assert "confirm with the welder" in words(found)


@pytest.mark.parametrize(
    ("degrees", "passes"),
    [(0.0, True), (80.0, True), (-60.0, True), (300.0, True), (85.0, False), (180.0, False)],
)
def test_a_sensor_stands_ten_degrees_above_level_or_more(degrees: float, passes: bool) -> None:
    found = check(with_boss(downpipe_case(), clock=radians(degrees), at=240.0 * MM), "sensor-boss")
    assert (found.verdict is Verdict.GO) is passes


def test_a_sensor_near_the_turbine_is_moved_along_its_piece_where_that_is_enough() -> None:
    found = check(downpipe_case(), "sensor-boss")
    assert found.cure is not None
    assert found.cure.kind is CureKind.NUMBER
    assert found.cure.variable == "bung.31.at"
    at_joint = check(with_boss(downpipe_case(), at=318.0 * MM), "sensor-boss")
    assert at_joint.verdict is Verdict.NO_GO


def gated(reach: float | None = None, swing: float | None = None, medium: str = WITH_FLAP) -> Case:
    """A turbine with the gate inside: a straight pipe after the flange, the flap read or not [mm]."""
    case = downpipe_case()
    start = case.plan.start
    assert start is not None
    read = {"flap_reach": reach, "flap_swing": swing}
    taken = {name: Estimate(value * MM, 0.2 * MM) for name, value in read.items() if value is not None}
    return downpipe_case(start=replace(start, medium=medium, sizes={**start.sizes, **taken}))


def test_the_flap_of_a_gate_has_to_be_read_where_there_is_one() -> None:
    found = check(gated(), "flap-room")
    assert found.verdict is Verdict.NOT_MEASURED
    assert found.missing[0].variable == "port.17.flap_reach"
    assert "flap-room" not in {one.rule.code for one in answer(downpipe_case()).checks}
    unsaid = check(gated(medium="air"), "flap-room")
    assert "Say on Turbine outlet what flows there" in words(unsaid)


@pytest.mark.parametrize(
    ("reach", "swing", "verdict"),
    [
        (30.0, 30.0, Verdict.GO),
        (30.0, 35.5, Verdict.TIGHT),
        (30.0, 40.0, Verdict.NO_GO),
        (110.0, 30.0, Verdict.NO_GO),
    ],
)
def test_the_open_flap_has_room_in_the_mouth(reach: float, swing: float, verdict: Verdict) -> None:
    assert check(gated(reach, swing), "flap-room").verdict is verdict


def test_an_exhaust_takes_the_downpipe_before_it_into_account_and_need_not_come_apart_twice() -> None:
    case = downpipe_case(place=Place.EXHAUST)
    case = replace(case, engine=engine(Place.EXHAUST))
    case = with_joint(case, 5, kind=JointKind.WELD, filler="309L")
    assert check(case, "comes-apart").verdict is Verdict.GO
    assert "5 kPa of it taken for the rest" in words(check(case, "back-pressure"))
    assert "flap-room" not in {one.code for one in rules_for(Place.EXHAUST)}


def test_without_an_engine_sheet_the_hot_side_asks_for_it() -> None:
    found = answer(replace(downpipe_case(), engine=None))
    for code in ("gas-speed", "back-pressure", "growth"):
        assert words(check_of(found, code)) == "Fill in the engine sheet."


@pytest.mark.parametrize("place", list(Place))
def test_every_place_answers_without_a_run_a_port_or_an_engine(place: Place) -> None:
    plain = replace(downpipe_case().plan, place=place)
    for plan in (
        plain,
        replace(plain, start=None, end=None),
        replace(plain, pieces=(), joints=plain.joints[:1]),
    ):
        for case in (Case(plan), Case(plan, engine(place))):
            found = answer(case)
            assert {one.rule.code for one in found.checks} <= {one.code for one in rules_for(place)}
            for one in found.checks:
                assert "{" not in say(one.phrase, System.inch)


def test_air_and_exhaust_rules_are_not_asked_of_oil_or_water() -> None:
    asked = {one.code for one in rules_for(Place.OIL_DRAIN) if not one.on_figures}
    of_water = {one.code for one in rules_for(Place.HEATER) if not one.on_figures}
    assert asked - of_water == {"oil-and-fuel-hose", "line-beside-heat"}
    assert of_water <= asked
    assert not asked & {"speed", "intake-loss", "back-pressure", "gas-speed", "hose-heat", "filler"}


@settings(max_examples=15, deadline=None)
@given(st.data())
def test_whatever_is_missing_or_absurd_the_hot_side_gets_a_verdict(data: st.DataObject) -> None:
    case = data.draw(st.sampled_from([downpipe_case(), gated(30.0, 30.0)]))
    for piece in case.plan.pieces:
        kept = data.draw(st.sets(st.sampled_from(sorted(piece.sizes)), min_size=len(piece.sizes) - 1))
        odd = {name: Estimate(piece.sizes[name].value) for name in kept}
        if data.draw(st.integers(0, 3)) == 0:
            name = data.draw(st.sampled_from(sorted(piece.sizes)))
            odd[name] = Estimate(data.draw(st.sampled_from([0.0, 1e-6, 0.002, 5.0])))
        case = with_piece(case, piece.number, sizes=odd)
    for one in answer(case).checks:
        assert one.verdict in Verdict
        assert "{" not in say(one.phrase, System.metric)
        for system in System:
            assert all("{" not in say(item.phrase, system) for item in one.items)
            assert one.cure is None or "{" not in say(one.cure.phrase, system)
