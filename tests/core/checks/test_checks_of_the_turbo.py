"""The turbocharger's rules on an invented map; margins are worked again by hand from the points typed."""

from dataclasses import replace

import numpy as np
import pytest

from server.core.checks.answer import Check, answer_figures
from server.core.checks.book import bench
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.figures import MAP, Figures
from server.core.checks.rule import Found, Verdict
from server.core.checks.turbo import edge_kept_off, line_of, speeds_of, surge_kept_off
from server.core.phrase import say
from server.core.units import System
from tests.core.air.invented_map import invented_map


def with_map(scale: float = 1.0, lift: float = 1.0) -> Case:
    """The bench's engine on the invented map, flows and rises of ratio scaled."""
    rows = tuple(
        (scale * at.flow, 1.0 + lift * (at.ratio - 1.0), at.efficiency, at.speed or 0.0)
        for at in invented_map().points
    )
    return replace(bench.turbocharger(), figures=Figures(tables={MAP: rows}))


def check(case: Case, code: str) -> Check:
    return next(one for one in answer_figures(case).checks if one.rule.code == code)


def test_the_map_is_looked_at_in_whole_thousands_and_at_the_redline() -> None:
    case = bench.turbocharger()
    assert case.engine is not None
    assert speeds_of(case.engine.sheet) == (3000.0, 4000.0, 5000.0, 6000.0, 6600.0)


def test_a_compressor_of_the_engine_s_size_is_go() -> None:
    case = with_map()
    assert {check(case, code).verdict for code in ("map-surge", "map-edge")} == {Verdict.GO}


def test_a_compressor_twice_too_large_surges_and_the_answer_names_the_speed() -> None:
    found = check(with_map(scale=2.4), "map-surge")
    assert found.verdict is Verdict.NO_GO
    assert "rpm" in say(found.phrase, System.metric)
    assert found.cure is not None
    assert "smaller compressor" in say(found.cure.phrase, System.metric)


def test_a_compressor_too_small_is_driven_off_its_right_edge() -> None:
    found = check(with_map(scale=0.6), "map-edge")
    assert found.verdict is Verdict.NO_GO
    assert found.finding is not None
    assert found.finding.item == "6600"
    assert found.finding.value is not None
    assert found.finding.value < 0.0


def test_boost_above_the_map_is_said_so() -> None:
    found = check(with_map(lift=0.3), "map-edge")
    assert found.verdict is Verdict.NO_GO
    assert "above the whole map" in say(found.phrase, System.metric)


def test_a_margin_is_the_distance_over_the_flow_at_the_line() -> None:
    """The map of the bench has its surge line through three typed points; straight between them by hand."""
    case = bench.turbocharger()
    point = line_of(Facts.at_best(case))[1]
    low, high = (0.050, 1.60), (0.090, 2.15)
    part = (point.demand.pressure_ratio - low[1]) / (high[1] - low[1])
    by_hand = low[0] + part * (high[0] - low[0])
    assert point.surge_margin == pytest.approx((point.flow - by_hand) / by_hand, rel=1e-9)


def test_doubt_of_boost_and_filling_makes_a_near_edge_uncertain() -> None:
    near = next(
        found
        for scale in (0.80, 0.78, 0.76, 0.74, 0.72)
        if (found := check(with_map(scale=scale), "map-edge")).probability is not None
        and 0.02 < found.probability < 0.98
    )
    assert near.verdict in {Verdict.TIGHT, Verdict.NO_GO}
    assert near.settles is not None
    assert near.settles.variable in {"engine.efficiency", "engine.boost"}


def test_draws_that_leave_the_map_s_ratios_count_as_beyond_its_edge() -> None:
    """Boost that is drawn from far over the top of a map to under its foot: there it has no such edge."""
    case = with_map(scale=1.2, lift=0.8)
    facts = Facts.at_best(case)
    boosts = np.array([-0.9e5, -0.3e5, 0.0, 0.4e5, 1.2e5])
    drawn = facts.in_draws({"engine.boost": boosts})
    alone = [Facts(case, {**facts.values, "engine.boost": boost}, facts) for boost in boosts.tolist()]
    beyond = 0
    for rule in (surge_kept_off, edge_kept_off):
        for at, found in enumerate(rule(drawn)):
            each = [one.margin for facts_alone in alone if isinstance(one := rule(facts_alone)[at], Found)]
            assert isinstance(found, Found)
            np.testing.assert_allclose(np.broadcast_to(found.margin, len(boosts)), each, rtol=1e-9)
            beyond += sum(margin <= -1.0 for margin in each)
    assert beyond


def test_without_a_map_it_is_asked_for() -> None:
    bare = replace(bench.turbocharger(), figures=Figures())
    found = check(bare, "map-surge")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Type the compressor map."


def test_points_on_one_line_are_no_map() -> None:
    rows = tuple((0.1 * number, 1.0 + 0.1 * number, 0.7, 90e3) for number in range(1, 5))
    found = check(replace(bench.turbocharger(), figures=Figures(tables={MAP: rows})), "map-surge")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "enclose nothing" in say(found.phrase, System.metric)
