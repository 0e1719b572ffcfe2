"""The parts list of a run. What a joint takes (clamp, gasket, bolts): common practice, no source."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.tube.bill import Item, Stage, bill
from server.core.tube.run import (
    Clamp,
    EndForm,
    Fixing,
    JointKind,
    JointPlan,
    Offered,
    Origin,
    PieceKind,
    PiecePlan,
)
from tests.core.tube.example_runs import (
    COOLER,
    OUTLET,
    SINGLE,
    THREE,
    bend,
    bung,
    clamped,
    coupler,
    hose_elbow,
    port,
    reducer,
    run,
    sizes,
    tube,
    welded,
)

RANGE = sizes(clamp_least=68.0, clamp_most=76.0)


def ranged(number: int) -> JointPlan:
    return JointPlan(number, JointKind.HOSE_AND_CLAMP, Clamp.T_BOLT, RANGE)


def by_spec(items: tuple[Item, ...]) -> dict[str, Item]:
    return {item.spec: item for item in items}


def test_two_couplers_a_tube_and_four_clamps_are_three_lines() -> None:
    plan = replace(THREE, joints=tuple(ranged(number) for number in range(4)))
    told = [(item.spec, item.count, item.lengths, item.stage) for item in bill(plan)]
    assert told == [
        ("T-bolt clamp, 68 to 76 mm", 4, (), Stage.FIT),
        ("silicone coupler, 60 mm bore, 76 mm long", 2, (), Stage.FIT),
        ("aluminium tube, 60 × 1.5 mm", 0, (0.24,), Stage.MAKE),
    ]


def test_a_welded_joint_takes_nothing_that_is_counted() -> None:
    items = bill(run((tube(1, outside_diameter=60.0, wall=1.5, length=200.0),)))
    assert [item.spec for item in items] == ["aluminium tube, 60 × 1.5 mm"]


def test_a_clamp_without_its_range_can_not_be_bought_yet() -> None:
    clamp = bill(THREE)[0]
    assert (clamp.spec, clamp.unsure) == ("T-bolt clamp, for 60 mm hose", "range not said yet")


def test_a_joint_without_a_hose_takes_no_clamp_however_it_is_called() -> None:
    plan = run(
        (tube(1, outside_diameter=60.0, wall=1.5, length=200.0),), (clamped(0), clamped(1)), OUTLET, COOLER
    )
    assert [item.kind for item in bill(plan)] == ["tube"]


def test_bends_of_the_same_size_and_angle_are_one_line_whatever_their_roll() -> None:
    like: dict[str, Any] = {
        "outside_diameter": 60.0,
        "wall": 1.5,
        "bend_angle": 90.0,
        "bend_radius": 90.0,
        "length": 40.0,
    }
    items = bill(run((bend(1, **like), bend(2, 45.0, **like))))
    assert [(item.spec, item.count, item.numbers) for item in items] == [
        ("aluminium bend, 60 × 1.5 mm, 90°, radius 90 mm", 2, (1, 2))
    ]


def test_a_bung_that_is_welded_on_is_bought_and_one_moulded_into_a_hose_is_not() -> None:
    assert "aluminium weld bung, 6 mm bore" in by_spec(bill(SINGLE))
    moulded = replace(bung(1, "signal", 30.0, 6.0, 12.0), fixing=Fixing.MOULDED)
    elbow = replace(hose_elbow(1, bore=60.0, bend_angle=90.0, length=60.0, length_out=60.0), bungs=(moulded,))
    assert [item.kind for item in bill(run((elbow,)))] == ["coupler"]


def test_an_elbow_says_both_legs_where_they_differ() -> None:
    elbow = hose_elbow(1, bore=80.0, bend_angle=90.0, length=60.0, length_out=90.0)
    assert bill(run((elbow,)))[0].spec == "silicone hose elbow, 80 mm bore, 90°, legs 60 and 90 mm"


def test_a_reducer_is_fitted_in_rubber_and_made_in_metal() -> None:
    like: dict[str, Any] = {"bore": 60.0, "bore_out": 63.5, "length": 80.0}
    assert bill(run((reducer(1, **like),)))[0].stage is Stage.FIT
    assert bill(run((reducer(1, "aluminium", **like),)))[0].stage is Stage.MAKE


def test_what_is_in_the_garage_or_comes_off_the_car_is_not_bought() -> None:
    like: dict[str, Any] = {"outside_diameter": 76.0, "wall": 2.0, "length": 300.0}
    lying = replace(tube(1, **like), origin=Origin.IN_GARAGE)
    meter = PiecePlan(2, 2, PieceKind.METER, "air meter", "plastic", sizes(bore=75.0))
    old = PiecePlan(3, 3, PieceKind.SALVAGED, "Old front pipe", "mild steel", sizes(**like))
    (kept,) = bill(run((lying, meter, old)))
    assert (kept.spec, kept.origin) == ("Old front pipe, salvaged, 76 × 2 mm", Origin.SALVAGED)


def test_a_pipe_that_was_shortened_is_one_pipe_as_long_as_it_was_bought() -> None:
    like: dict[str, Any] = {"outside_diameter": 60.0, "wall": 1.5}
    first = replace(tube(1, **like, length=150.0), whole_length=0.5)
    second = replace(tube(2, **like, length=250.0), cut_from_id=1)
    assert [(item.spec, item.lengths) for item in bill(run((first, second)))] == [
        ("aluminium tube, 60 × 1.5 mm", (0.5,))
    ]


@pytest.mark.parametrize(
    ("piece", "why"),
    [
        (
            replace(tube(1, outside_diameter=60.0, wall=1.5, length=90.0), origin=Origin.MOCK_UP),
            "a mock-up stands in for it",
        ),
        (tube(1, outside_diameter=60.0, length=90.0), "wall not known yet"),
        (tube(1, outside_diameter=60.0), "wall and length not known yet"),
        (
            PiecePlan(1, 1, PieceKind.HOSE, "heater hose", "EPDM", sizes(bore=16.0, length=400.0)),
            "not offered up yet",
        ),
        (
            PiecePlan(
                1,
                1,
                PieceKind.HOSE,
                "heater hose",
                "EPDM",
                sizes(bore=16.0, length=400.0),
                offered=Offered.TOUCHES,
            ),
            "offered up, does not fit yet",
        ),
        (
            PiecePlan(
                1,
                1,
                PieceKind.HOSE,
                "heater hose",
                "EPDM",
                sizes(bore=16.0, length=400.0),
                offered=Offered.FITS,
            ),
            "",
        ),
    ],
)
def test_a_piece_says_why_it_can_not_be_bought_yet(piece: PiecePlan, why: str) -> None:
    assert bill(run((piece,)))[0].unsure == why


def test_a_v_band_takes_one_clamp_by_the_flange_and_a_flange_takes_gasket_and_bolts() -> None:
    flange = PiecePlan(
        1, 1, PieceKind.FLANGE, "flange", "304 stainless", sizes(bore=76.0), EndForm.V_BAND, EndForm.WELD
    )
    turbine = port(1, "Turbine outlet", outside_diameter=89.0)
    plan = run((flange,), (JointPlan(1, JointKind.V_BAND), JointPlan(2, JointKind.FLANGE)), turbine)
    told = [(item.spec, item.stage) for item in bill(plan)]
    assert told == [
        ("V-band clamp, 89 mm", Stage.FIT),
        ("304 stainless V-band flange, 76 mm bore", Stage.MAKE),
        ("flange gasket, 76 mm bore", Stage.FIT),
        ("flange bolts and nuts, set for one flange", Stage.FIT),
    ]


@given(st.lists(st.sampled_from([40.0, 55.5, 120.0]), min_size=1, max_size=8))
def test_every_length_of_tube_is_listed_once(lengths: list[float]) -> None:
    pieces = tuple(
        tube(number, outside_diameter=60.0, wall=1.5, length=length)
        for number, length in enumerate(lengths, 1)
    )
    (item,) = bill(run(pieces, tuple(welded(number) for number in range(len(pieces) + 1))))
    assert sorted(item.lengths) == pytest.approx(sorted(length / 1000.0 for length in lengths))
    assert item.numbers == tuple(range(1, len(pieces) + 1))


def test_a_run_of_couplers_only_counts_each() -> None:
    pieces = tuple(coupler(number, bore=60.0, length=76.0) for number in (1, 2))
    assert bill(run(pieces))[0].count == 2
