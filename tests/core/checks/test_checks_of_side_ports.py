"""The rule of side ports.

Placed, on the right stretch, on a piece that takes them, clear of clamps, wide enough.
"""

from dataclasses import replace
from math import radians

import pytest

from server.core.checks.case import Case
from server.core.checks.rule import RuleClass, Verdict, may_concede
from server.core.checks.side_ports import takes
from server.core.phrase import say
from server.core.tube.run import BungPlan, Fixing, Place, Stretch
from server.core.units import System
from tests.core.checks.runs import (
    MM,
    bung,
    charge_case,
    check,
    coupler,
    intake_case,
    side_port,
    tube,
    with_piece,
)

SIGNAL = side_port(23, "Boost-control signal", 4.0, Stretch.BEFORE_THROTTLE)


def on_tube(*bungs: BungPlan) -> Case:
    return with_piece(intake_case(), 5, bungs=bungs)


def test_both_side_ports_on_the_tube_after_the_meter_are_go() -> None:
    found = check(intake_case(), "side-ports")
    assert found.verdict is Verdict.GO


def test_a_side_port_without_a_place_is_no_go_and_a_piece_is_proposed() -> None:
    found = check(on_tube(bung(32, 22, 150.0, 25.0)), "side-ports")
    assert found.verdict is Verdict.NO_GO
    assert say(found.phrase, System.metric) == "Breather has no place on this run: an open end."
    assert found.cure is not None
    assert "Put the bung for Breather on Tube (5)" in say(found.cure.phrase, System.metric)


def test_a_side_port_ahead_of_the_meter_is_no_go_and_is_moved_behind_it() -> None:
    case = with_piece(on_tube(bung(32, 22, 150.0, 25.0)), 1, bungs=(bung(31, 21, 90.0, 16.0),))
    found = check(case, "side-ports")
    assert found.verdict is Verdict.NO_GO
    assert "it belongs between air meter and compressor" in say(found.phrase, System.metric)


def test_no_port_goes_through_a_plain_hose_on_the_pressure_side() -> None:
    case = charge_case(side_ports=(SIGNAL,))
    on_hose = with_piece(case, 3, bungs=(bung(33, 23, 38.0, 4.0, Fixing.NIPPLE),))
    found = check(on_hose, "side-ports")
    assert found.verdict is Verdict.NO_GO
    assert "never through a plain hose" in say(found.phrase, System.metric)
    on_metal = with_piece(case, 4, bungs=(bung(33, 23, 150.0, 4.0),))
    assert check(on_metal, "side-ports").verdict is Verdict.GO


@pytest.mark.parametrize(
    ("piece", "fixing", "place", "may"),
    [
        (tube(1, 60.0, 200.0), Fixing.WELDED, Place.CHARGE_PIPE, True),
        (tube(1, 60.0, 200.0), Fixing.MOULDED, Place.CHARGE_PIPE, False),
        (coupler(1, 60.0), Fixing.WELDED, Place.INTAKE, False),
        (coupler(1, 60.0), Fixing.MOULDED, Place.CHARGE_PIPE, True),
        (coupler(1, 60.0), Fixing.NIPPLE, Place.INTAKE, True),
        (coupler(1, 60.0), Fixing.NIPPLE, Place.CHARGE_PIPE, False),
    ],
)
def test_each_kind_of_piece_says_how_it_takes_a_side_port(
    piece: object, fixing: Fixing, place: Place, may: bool
) -> None:
    assert takes(piece, fixing, place) is may  # type: ignore[arg-type]


def test_a_port_under_the_clamp_is_no_go_and_its_new_place_is_told() -> None:
    found = check(on_tube(bung(31, 21, 20.0, 16.0), bung(32, 22, 150.0, 25.0)), "side-ports")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.variable == "bung.31.at"
    assert found.cure.value is not None
    # the 30 mm overlap and half the bore, with what 99 % asks of the doubts
    assert 38.0 * MM < found.cure.value < 42.0 * MM


def test_a_bung_narrower_than_its_port_is_no_go() -> None:
    found = check(on_tube(bung(31, 21, 90.0, 10.0), bung(32, 22, 150.0, 25.0)), "side-ports")
    assert found.verdict is Verdict.NO_GO


def test_a_side_port_whose_bore_nobody_measured_is_not_measured() -> None:
    case = intake_case()
    bare = replace(case.plan.side_ports[0], sizes={})
    found = check(
        replace(case, plan=replace(case.plan, side_ports=(bare, case.plan.side_ports[1]))), "side-ports"
    )
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Measure the bore of Breather."


def test_an_open_end_can_hurt_so_it_is_never_conceded() -> None:
    case = replace(on_tube(), concessions={"side-ports": "later"})
    found = check(case, "side-ports")
    assert found.rule.rule_class is RuleClass.INJURY
    assert not may_concede(found.rule)
    assert found.conceded is None
    assert found.holds_work


def test_a_bung_for_a_sensor_must_stand_clear_of_the_clamps_too() -> None:
    on_run = intake_case().plan.pieces[4].bungs
    found = check(on_tube(*on_run, bung(33, None, 250.0, 10.0)), "side-ports")
    assert found.verdict is Verdict.NO_GO
    assert "edge of Bung 33 is 5 mm from the outlet" in say(found.phrase, System.metric)
    assert found.cure is not None


def test_a_bung_that_serves_no_port_is_never_welded_to_a_hose() -> None:
    found = check(with_piece(intake_case(), 4, bungs=(bung(34, None, 60.0, 8.0),)), "side-ports")
    assert found.verdict is Verdict.NO_GO
    assert say(found.phrase, System.metric) == "Coupler (4) can't take a welded port for Bung 34."


def test_a_second_bung_for_the_same_port_is_judged_as_well() -> None:
    first = bung(31, 21, 90.0, 16.0)
    found = check(on_tube(first, bung(32, 22, 150.0, 25.0), bung(35, 21, 4.0, 16.0)), "side-ports")
    assert found.verdict is Verdict.NO_GO


@pytest.mark.parametrize(
    ("second_at", "degrees", "verdict"),
    [
        (150.0, 0.0, Verdict.GO),
        (117.0, 0.0, Verdict.TIGHT),
        (100.0, 0.0, Verdict.NO_GO),
        (100.0, 180.0, Verdict.GO),
        (100.0, 350.0, Verdict.NO_GO),
    ],
)
def test_two_side_ports_on_one_tube_keep_room_along_it_and_round_it(
    second_at: float, degrees: float, verdict: Verdict
) -> None:
    """Bores of 16 and 25 mm: 20.5 mm from middle to middle they touch; 10 mm of room are asked."""
    other = replace(bung(32, 22, second_at, 25.0), clock=radians(degrees))
    found = check(on_tube(bung(31, 21, 90.0, 16.0), other), "side-ports")
    assert found.verdict is verdict
    if verdict is not Verdict.GO:
        assert "between their edges" in say(found.phrase, System.metric)


def test_ports_that_were_moulded_into_one_hose_came_that_way() -> None:
    moulded = (bung(31, 21, 60.0, 16.0, Fixing.MOULDED), bung(32, 22, 75.0, 25.0, Fixing.MOULDED))
    found = check(with_piece(on_tube(), 4, bungs=moulded), "side-ports")
    assert found.verdict is Verdict.GO
