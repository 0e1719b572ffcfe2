"""Heat on a cold run from turbine, manifold or exhaust: bare, shielded, sleeved; one case a verdict."""

from dataclasses import replace

import pytest

from server.core.air.radiant import neighbour
from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.near import NATURES
from server.core.checks.rule import Verdict, may_concede
from server.core.checks.run_heat import heated
from server.core.phrase import say
from server.core.tube.run import Place, Protection, What
from server.core.units import System
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import MM, charge_case, check, engine, with_piece
from tests.core.checks.test_checks_of_gaps import beside as beside_downpipe
from tests.core.checks.test_checks_of_gaps import near, told

HOT = (What.TURBINE, What.MANIFOLD, What.EXHAUST)
RUN, LINE = "run-beside-heat", "line-beside-heat"


def beside(
    what: What,
    gap: float | None,
    place: Place = Place.CHARGE_PIPE,
    protection: Protection = Protection.NONE,
    material: str = "silicone",
) -> Case:
    """A charge pipe, or another run of the same pieces, with something beside its first coupler."""
    case = charge_case()
    hose = next(piece for piece in case.plan.pieces if piece.is_hose)
    case = with_piece(case, hose.number, material=material)
    one = near(what, gap, hose.id, protection=protection)
    plan = replace(case.plan, place=place, neighbours=(one,))
    return replace(case, plan=plan, engine=engine(place))


def reached(case: Case) -> float:
    """What the hose comes to [K]."""
    (one,) = case.plan.neighbours
    how = NATURES[one.what].hot
    assert how is not None
    return heated(Facts.at_best(case), one, how, one.protection).temperature


@pytest.mark.parametrize("what", HOT)
def test_a_coupler_in_full_view_of_what_glows_chars_and_a_shield_cures_it(what: What) -> None:
    found = check(beside(what, 30.0), RUN)
    assert found.verdict is Verdict.NO_GO
    assert may_concede(found.rule)
    assert found.cure is not None
    assert "Put a bright shield between" in say(found.cure.phrase, System.metric)
    assert check(beside(what, 30.0, protection=Protection.SHIELD), RUN).verdict is Verdict.GO


def test_the_gap_that_turns_it_to_go_is_told_with_what_else_does() -> None:
    case = beside(What.TURBINE, 120.0)
    found = check(case, RUN)
    assert found.verdict is not Verdict.GO
    assert found.cure is not None
    assert found.cure.variable == "neighbour.7.gap"
    words = say(found.cure.phrase, System.metric)
    assert "so does a bright shield between them, air on both its sides, or a foil-faced sleeve" in words
    assert check(case.with_size("neighbour.7.gap", found.cure.value or 0.0), RUN).verdict is Verdict.GO
    assert check(beside(What.TURBINE, 120.0, protection=Protection.SLEEVE), RUN).verdict is not Verdict.NO_GO


def test_between_the_margin_and_what_its_rubber_stands_a_run_is_tight_and_a_fuel_line_is_not() -> None:
    """Silicone stands 200 °C, 180 with the margin: where it comes to 195 an air run is tight."""
    low, high = 0.02, 0.6
    for _ in range(40):
        middle = 0.5 * (low + high)
        hot = reached(beside(What.TURBINE, middle / MM)) > 195.0 + 273.15
        low, high = (middle, high) if hot else (low, middle)
    assert check(beside(What.TURBINE, high / MM), RUN).verdict is Verdict.TIGHT
    # PTFE stands 260 °C; an injury rule knows no tight below what it asks.
    line = check(beside(What.TURBINE, 70.0, Place.FUEL, material="PTFE"), LINE)
    assert line.verdict is Verdict.NO_GO
    assert not may_concede(line.rule)


@pytest.mark.parametrize("place", [Place.FUEL, Place.OIL_FEED, Place.OIL_DRAIN, Place.WASTEGATE])
def test_what_carries_oil_fuel_or_boost_s_signal_is_an_injury_check(place: Place) -> None:
    codes = {one.rule.code for one in answer(beside(What.MANIFOLD, 60.0, place, material="FKM")).checks}
    assert LINE in codes
    assert RUN not in codes


def test_a_better_rubber_passes_where_a_worse_one_fails() -> None:
    epdm, fkm = (check(beside(What.TURBINE, 200.0, material=name), RUN) for name in ("EPDM", "FKM"))
    assert (epdm.verdict, fkm.verdict) == (Verdict.NO_GO, Verdict.GO)


def test_without_a_gap_or_a_known_rubber_it_is_not_measured() -> None:
    assert check(beside(What.TURBINE, None), RUN).verdict is Verdict.NOT_MEASURED
    unknown = check(beside(What.TURBINE, 60.0, material="rubber"), RUN)
    assert "Say which rubber" in told(unknown)


def test_metal_has_nothing_to_say_and_neither_has_a_run_that_carries_exhaust_itself() -> None:
    case = beside(What.TURBINE, 30.0)
    tube = next(piece for piece in case.plan.pieces if not piece.is_hose)
    moved = replace(case.plan.neighbours[0], piece_id=tube.id)
    metal = replace(case, plan=replace(case.plan, neighbours=(moved,)))
    downpipe = beside_downpipe(near(What.TURBINE, 30.0))
    for one in (metal, downpipe, downpipe_case()):
        codes = {found.rule.code for found in answer(one).checks}
        assert not codes & {RUN, LINE, "neighbour-heat", "line-heat"}


def test_what_stands_beside_a_piece_that_is_out_of_the_run_is_asked_for_again() -> None:
    case = beside(What.TURBINE, 60.0)
    lost = replace(case.plan.neighbours[0], piece_id=None)
    case = replace(case, plan=replace(case.plan, neighbours=(lost,)))
    assert "out of the run" in told(check(case, RUN))


def test_far_from_a_ball_less_comes_than_from_a_long_pipe_and_with_the_square_of_the_distance() -> None:
    """Inverse square: a spot four radii from the middle gets a quarter of what one two radii away gets."""

    def view(gap: float, *, ball: bool) -> float:
        return neighbour(1073.0, 1.0, 0.15, gap, 1.0, 0.02, 330.0, 8.0, ball=ball).view

    assert view(0.075, ball=True) / view(0.225, ball=True) == pytest.approx(4.0)
    assert view(0.225, ball=True) < view(0.225, ball=False)


def test_the_hotter_the_exhaust_the_hotter_the_hose() -> None:
    case = beside(What.MANIFOLD, 120.0)
    assert case.engine is not None
    hotter = replace(case.engine, exhaust_temperature=replace(case.engine.exhaust_temperature, value=1150.0))
    assert reached(replace(case, engine=hotter)) > reached(case)


def test_what_is_found_names_both_and_how_hot_the_hot_one_is_taken_to_be() -> None:
    text = told(check(beside(What.TURBINE, 60.0), RUN))
    assert "60 mm from The turbine housing" in text
    assert "which is taken to be" in text
    assert "kept under its test temperature" in text
