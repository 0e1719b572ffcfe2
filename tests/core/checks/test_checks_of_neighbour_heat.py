"""Heat on what stands near a hot run: bare, shielded, sleeved, the pipe wrapped; one case a verdict."""

from dataclasses import replace

import pytest

from server.core.air.radiant import across_the_gap, neighbour
from server.core.air.surface import air_conductivity
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.near import STANDS
from server.core.checks.neighbour_heat import skin_of, warmed
from server.core.checks.rule import Verdict, may_concede
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import NeighbourPlan, Place, Protection, What
from server.core.units import System
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import MM, check, engine
from tests.core.checks.test_checks_of_gaps import beside, near, told


def reached(case: Case) -> float:
    """What the one neighbour of a case comes to [K]."""
    (one,) = case.plan.neighbours
    return warmed(Facts.at_best(case), one, one.protection).temperature


def wrapped(case: Case, thickness: float) -> Case:
    """The same case with every tube and bend in a wrap, in millimetres."""
    pieces = tuple(
        replace(piece, sizes={**piece.sizes, "wrap": Estimate(thickness * MM, 0.0)})
        for piece in case.plan.pieces
    )
    return replace(case, plan=replace(case.plan, pieces=pieces))


def test_a_bare_pipe_boils_the_fluid_in_a_brake_line_and_a_shield_cures_it() -> None:
    found = check(beside(near(What.BRAKE_LINE, 60.0)), "line-heat")
    assert found.verdict is Verdict.NO_GO
    assert not may_concede(found.rule)
    assert found.cure is not None
    assert "bright shield" in say(found.cure.phrase, System.metric)
    shielded = near(What.BRAKE_LINE, 60.0, protection=Protection.SHIELD)
    assert check(beside(shielded), "line-heat").verdict is Verdict.GO


def test_the_gap_that_turns_it_to_go_is_told_where_a_gap_does() -> None:
    case = beside(near(What.LOOM, 200.0, material="wire of class D"))
    found = check(case, "neighbour-heat")
    assert found.verdict is not Verdict.GO
    assert found.cure is not None
    assert found.cure.variable == "neighbour.7.gap"
    assert "so does a bright shield" in say(found.cure.phrase, System.metric)
    cured = case.with_size("neighbour.7.gap", found.cure.value or 0.0)
    assert check(cured, "neighbour-heat").verdict is Verdict.GO


def test_between_the_margin_and_what_it_stands_a_performance_check_is_tight() -> None:
    """A loom of class D stands 150 °C, 140 with the margin: at a gap where it comes to 145 it is tight."""
    case = beside(near(What.LOOM, 200.0, material="wire of class D"))
    stands = STANDS["wire of class D"].temperature
    low, high = 0.02, 0.6
    for _ in range(40):
        middle = 0.5 * (low + high)
        hot = reached(case.with_size("neighbour.7.gap", middle)) > stands - 5.0
        low, high = (middle, high) if hot else (low, middle)
    found = check(case.with_size("neighbour.7.gap", high), "neighbour-heat")
    assert found.verdict is Verdict.TIGHT


@pytest.mark.parametrize("what", [What.HOSE, What.OTHER])
def test_a_hose_of_no_known_rubber_is_not_measured(what: What) -> None:
    assert "what of it heat harms first" in told(check(beside(near(what, 60.0)), "neighbour-heat"))


def test_a_better_rubber_passes_where_a_worse_one_fails() -> None:
    epdm, fkm = (
        check(beside(near(What.HOSE, 150.0, material=name)), "neighbour-heat") for name in ("EPDM", "FKM")
    )
    assert (epdm.verdict, fkm.verdict) == (Verdict.NO_GO, Verdict.GO)


def test_without_a_gap_it_is_not_measured() -> None:
    assert check(beside(near(What.FUEL_LINE, None)), "line-heat").verdict is Verdict.NOT_MEASURED


def test_bare_metal_and_the_ground_have_nothing_that_heat_harms() -> None:
    some = (near(What.GROUND, 120.0), replace(near(What.STARTER, 60.0), id=8, material="bare metal"))
    codes = {one for one in ("line-heat", "neighbour-heat") if _said(beside(*some), one)}
    assert codes == set()


def _said(case: Case, code: str) -> bool:
    try:
        check(case, code)
    except StopIteration:
        return False
    return True


def test_sleeve_shield_and_wrap_each_keep_heat_off_and_further_away_is_cooler() -> None:
    bare = reached(beside(near(What.LOOM, 60.0)))
    sleeve = reached(beside(near(What.LOOM, 60.0, protection=Protection.SLEEVE)))
    shield = reached(beside(near(What.LOOM, 60.0, protection=Protection.SHIELD)))
    assert shield < sleeve < bare
    assert reached(wrapped(beside(near(What.LOOM, 60.0)), 3.0)) < bare
    assert reached(beside(near(What.LOOM, 120.0))) < bare


def test_wrap_leaves_the_pipe_itself_hotter_and_its_outside_cooler() -> None:
    bare = beside(near(What.LOOM, 60.0))
    facts, wrap = Facts.at_best(bare), Facts.at_best(wrapped(bare, 3.0))
    plain, in_wrap = (skin_of(one, one.plan.pieces[2]) for one in (facts, wrap))
    assert in_wrap.temperature < plain.temperature
    assert in_wrap.under > plain.under
    assert "in its wrap" in told(check(wrapped(bare, 3.0), "neighbour-heat"))


def test_a_round_line_that_gives_heat_off_all_round_stays_cooler_than_an_insulated_strip() -> None:
    def at(behind: float) -> float:
        return neighbour(850.0, 0.8, 0.0762, 0.06, 0.9, 0.02, 330.0, 8.0, behind=behind).temperature

    assert at(2.14) < at(1.0) < at(0.0)


@pytest.mark.parametrize("shield", [None, 0.15])
def test_what_comes_through_the_air_and_what_leaves_the_back_close_the_balance(shield: float | None) -> None:
    found = neighbour(850.0, 0.8, 0.0762, 0.06, 0.9, 0.02, 330.0, 8.0, shield, across=4.0, behind=1.0)
    assert found.closure == pytest.approx(0.0, abs=1e-3)
    assert (found.warmed > 0.0) is (shield is None)


def test_a_narrow_gap_conducts_as_still_air_and_a_wide_one_no_longer_depends_on_it() -> None:
    """Fourier's law under the onset of convection; Globe and Dropkin's Nusselt number goes with the gap."""
    assert across_the_gap(600.0, 350.0, 0.002) == pytest.approx(air_conductivity(475.0) / 0.002)
    assert across_the_gap(600.0, 350.0, 0.1) == pytest.approx(across_the_gap(600.0, 350.0, 0.2))
    assert 3.0 < across_the_gap(600.0, 350.0, 0.1) < 6.0


def test_under_the_floor_the_air_is_that_outside() -> None:
    """The same run as an exhaust: its air is cooler than that under the bonnet, and so is what stands by."""
    one = near(What.LOOM, 150.0)
    down = beside(one)
    exhaust = replace(down, plan=replace(down.plan, place=Place.EXHAUST), engine=engine(Place.EXHAUST))
    assert reached(exhaust) < reached(down)


def test_a_neighbour_is_named_in_what_is_found() -> None:
    text = told(check(beside(near(What.BRAKE_LINE, 60.0)), "line-heat"))
    assert "The brake line, 60 mm from it, comes to" in text
    assert "brake fluid in a metal line" in text


def test_the_plan_of_a_run_without_neighbours_has_none() -> None:
    assert downpipe_case().plan.neighbours == ()
    assert NeighbourPlan(1, What.LOOM, "Loom", 2).protection is Protection.NONE
