"""Rules of the clamped joint: fit, clamp, bead, overlap."""

from dataclasses import replace
from typing import Any

import pytest

from server.core.checks.answer import answer
from server.core.checks.cure import CureKind
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import Clamp, EndForm, JointKind, JointPlan, Origin, PieceKind, Screw
from server.core.units import System
from tests.core.checks.runs import (
    MM,
    TAPE,
    charge_case,
    check,
    coupler,
    port,
    sizes,
    tube,
    with_joint,
    with_piece,
    with_piece_sizes,
)


def test_a_coupler_of_the_tubes_outside_diameter_fits() -> None:
    assert check(charge_case(), "coupler-fit").verdict is Verdict.GO


def test_a_hose_stretched_a_little_more_than_the_limit_is_tight() -> None:
    case = with_piece_sizes(charge_case(), 3, sizes(bore=57.2))
    assert check(case, "coupler-fit").verdict is Verdict.TIGHT


def test_a_hose_far_too_large_is_no_go_and_a_bore_cures_it() -> None:
    found = check(with_piece_sizes(charge_case(), 3, sizes(bore=63.0)), "coupler-fit")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert (found.cure.kind, found.cure.variable) == (CureKind.NUMBER, "piece.3.bore")


def test_two_spigots_that_differ_want_a_reducing_coupler_as_no_one_bore_fits_both() -> None:
    found = check(charge_case(end=port(14, "Cooler inlet", 63.5)), "coupler-fit")
    assert found.verdict is not Verdict.GO
    assert found.cure is not None
    assert found.cure.kind is CureKind.MOVE
    assert "reducing coupler" in say(found.cure.phrase, System.metric)


def test_a_fit_over_a_spigot_nobody_measured_is_not_measured() -> None:
    found = check(charge_case(end=replace(port(14, "Cooler inlet", 63.5), sizes={})), "coupler-fit")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Measure the outside diameter of Cooler inlet."


def test_two_hoses_that_meet_need_a_joiner() -> None:
    found = check(with_piece(charge_case(), 2, **_as_hose()), "coupler-fit")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert "short beaded joiner" in say(found.cure.phrase, System.metric)


def test_two_spigots_under_a_clamp_need_a_coupler() -> None:
    found = check(with_piece(charge_case(), 3, kind=PieceKind.TUBE), "coupler-fit")
    assert found.cure is not None
    assert "Put a coupler between them" in say(found.cure.phrase, System.metric)


def test_a_hose_is_not_welded() -> None:
    case = with_joint(charge_case(), 1, kind=JointKind.WELD)
    assert check(case, "coupler-fit").verdict is Verdict.NO_GO


def _as_hose() -> dict[str, object]:
    piece = coupler(2, 60.0)
    return {"kind": piece.kind, "material": piece.material, "sizes": piece.sizes}


def test_a_clamp_that_closes_on_the_hose_and_opens_over_the_bead_is_go() -> None:
    assert check(charge_case(), "clamp").verdict is Verdict.GO


def test_a_clamp_that_does_not_pass_over_the_bead_is_no_go_and_the_size_needed_is_told() -> None:
    found = check(with_joint(charge_case(), 2, sizes=sizes(0.0, clamp_least=64.0, clamp_most=70.0)), "clamp")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.value is not None
    # 60 tube, two beads of 1.5 and two hose walls of 4.5
    # and rounded up to the half millimetre
    assert 72.0e-3 <= found.cure.value < 72.6e-3


def test_a_clamp_that_does_not_close_on_the_hose_is_no_go() -> None:
    case = with_joint(charge_case(), 2, sizes=sizes(0.0, clamp_least=75.0, clamp_most=90.0))
    assert check(case, "clamp").verdict is Verdict.NO_GO


def test_a_bare_worm_drive_on_silicone_is_no_go() -> None:
    found = check(with_joint(charge_case(), 2, clamp=Clamp.BARE_WORM), "clamp")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert "lined worm drive or a T-bolt" in say(found.cure.phrase, System.metric)


def test_a_clamp_not_chosen_is_not_measured() -> None:
    found = check(with_joint(charge_case(), 2, clamp=Clamp.NONE), "clamp")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Choose the clamp of joint 3 (piece 2 to piece 3)."


def test_a_typed_bead_height_goes_before_the_usual_one() -> None:
    case = with_piece_sizes(charge_case(), 2, sizes(bead_height=4.0))
    assert check(case, "clamp").verdict is Verdict.NO_GO


@pytest.mark.parametrize(
    ("changes", "limits", "verdict"),
    [
        ({}, {}, Verdict.GO),
        ({}, {"roller.straight": 80.0 * MM}, Verdict.TIGHT),
        ({}, {"roller.wall": 1.2 * MM}, Verdict.TIGHT),
        ({"origin": Origin.SALVAGED}, {"roller.straight": 80.0 * MM}, Verdict.GO),
        ({"origin": Origin.SALVAGED, "cut_from_id": 9}, {"roller.straight": 80.0 * MM}, Verdict.TIGHT),
    ],
)
def test_the_bead_roller_is_a_tool_with_two_numbers(
    changes: dict[str, Any], limits: dict[str, float], verdict: Verdict
) -> None:
    """A bend with legs of 60 mm and a wall of 1.5; beads of a pipe that was never cut came with it."""
    case = replace(with_piece(charge_case(), 2, **changes), limits=limits)
    case = with_piece(case, 4, origin=Origin.SALVAGED)
    found = check(case, "bead")
    assert found.verdict is verdict
    if verdict is Verdict.TIGHT:
        assert found.cure is not None
        assert "beaded stub" in say(found.cure.phrase, System.metric)


def test_every_clamped_end_with_a_bead_is_go() -> None:
    found = check(charge_case(), "bead")
    assert found.verdict is Verdict.GO
    assert found.probability is None


def test_a_plain_end_under_a_clamp_is_no_go_with_a_named_move() -> None:
    found = check(with_piece(charge_case(), 4, outlet_end=EndForm.PLAIN), "bead")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert "Roll a bead on Tube (4)" in say(found.cure.phrase, System.metric)


def test_an_end_cut_within_its_bend_has_no_leg_for_a_bead() -> None:
    found = check(with_piece_sizes(charge_case(), 2, sizes(length_out=0.0)), "bead")
    assert found.verdict is Verdict.NO_GO
    assert "cut within its bend" in say(found.phrase, System.metric)


def test_overlap_with_room_on_both_sides_is_go() -> None:
    assert check(charge_case(), "overlap").verdict is Verdict.GO


def test_a_short_overlap_is_no_go_and_the_length_is_told() -> None:
    found = check(with_joint(charge_case(), 2, sizes=sizes(overlap=15.0)), "overlap")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.variable == "joint.62.overlap"


def test_a_tube_too_short_for_two_overlaps_is_no_go_and_longer_cures_it() -> None:
    found = check(with_piece_sizes(charge_case(), 4, sizes(length=40.0)), "overlap")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.variable == "piece.4.length"


def test_a_doubtful_overlap_is_tight_and_names_the_reading() -> None:
    found = check(with_joint(charge_case(), 2, sizes={"overlap": Estimate(25.3 * MM, TAPE)}), "overlap")
    assert found.verdict is Verdict.TIGHT
    assert found.settles is not None
    assert found.settles.variable == "joint.62.overlap"


def test_an_overlap_nobody_typed_on_a_piece_without_a_known_leg_is_not_measured() -> None:
    joined = tube(1, 60.0, 100.0)
    case = charge_case(
        pieces=(replace(joined, kind=PieceKind.METER), coupler(2, 60.0)),
        joints=(
            JointPlan(1, JointKind.WELD),
            JointPlan(2, JointKind.HOSE_AND_CLAMP),
            JointPlan(3, JointKind.WELD),
        ),
    )
    found = check(case, "overlap")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Type the overlap of joint 2."


@pytest.mark.parametrize("kind", [JointKind.V_BAND, JointKind.FLANGE, JointKind.THREAD, JointKind.WELD])
def test_a_hose_can_only_be_clamped(kind: JointKind) -> None:
    found = check(with_joint(charge_case(), 2, kind=kind), "coupler-fit")
    assert found.verdict is Verdict.NO_GO
    assert f"a hose is held by {kind.value}" in say(found.phrase, System.metric)


def test_a_hose_with_a_moulded_flange_may_be_bolted_on() -> None:
    case = with_piece(charge_case(), 3, inlet_end=EndForm.FLANGE)
    assert check(with_joint(case, 2, kind=JointKind.FLANGE), "coupler-fit").verdict is Verdict.GO


def test_the_hose_told_as_a_cure_is_one_that_is_sold_by_the_tube_it_goes_over() -> None:
    found = check(with_piece_sizes(charge_case(), 1, sizes(bore=57.0)), "coupler-fit")
    assert found.cure is not None
    assert found.cure.value == pytest.approx(60.0 * MM)


def test_a_reducer_without_an_outlet_bore_is_not_taken_to_be_straight() -> None:
    case = with_piece(charge_case(), 3, kind=PieceKind.REDUCER)
    found = check(case, "coupler-fit")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Type the outlet bore of Coupler (3)."


def test_a_figure_that_comes_from_a_pull_test_is_not_taken_with_a_caliper() -> None:
    held = {**charge_case().plan.joints[0].sizes, "holds": Estimate(560.0, 50.0)}
    found = check(with_joint(charge_case(), 0, sizes=held), "end-force")
    assert found.settles is not None
    assert "caliper" not in say(found.settles.phrase, System.metric)


def screwed(screw: Screw, at: str = "") -> Any:
    return with_joint(charge_case(), 1, screw=screw, screw_at=at)


def test_a_clamp_whose_screw_nobody_looked_at_is_not_spoken_of() -> None:
    assert "clamp-screw" not in {one.rule.code for one in answer(charge_case()).checks}


def test_a_screw_that_a_tool_reaches_passes_and_says_where_it_stands() -> None:
    found = check(screwed(Screw.REACHED, "4 o'clock, 7 mm socket"), "clamp-screw")
    assert found.verdict is Verdict.GO
    assert "(4 o'clock, 7 mm socket)" in say(found.phrase, System.metric)


@pytest.mark.parametrize("screw", [Screw.HOSE, Screw.UNREACHED])
def test_a_screw_against_a_hose_or_out_of_reach_is_no_go_until_it_is_turned(screw: Screw) -> None:
    found = check(screwed(screw), "clamp-screw")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.kind is CureKind.MOVE
    assert say(found.cure.phrase, System.metric).startswith("Turn the clamp at")


def test_a_weld_has_no_screw() -> None:
    case = with_joint(charge_case(), 1, kind=JointKind.WELD, screw=Screw.HOSE)
    assert "clamp-screw" not in {one.rule.code for one in answer(case).checks}
