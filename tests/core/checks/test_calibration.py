"""The chances that checks show, held to plain Monte Carlo of their rules; the bench does it at length."""

from math import sqrt

import numpy as np

from server.core.checks.facts import Facts
from server.core.checks.register import rule
from server.core.tube.run import Place
from tests.bench.calibration import WITHIN, all_at_once, compare, measured, one_by_one, random_cases
from tests.core.checks.runs import charge_case

DRAWS = 3000


def test_chances_agree_with_plain_sampling() -> None:
    """Rules that march are left to the bench, and so are the hot runs, which are all march."""
    cases = [case for case in random_cases(4) if case.plan.place is not Place.DOWNPIPE]
    found = [one for case in cases for one in compare(case, DRAWS, slow_draws=0)]
    assert len(found) >= 30
    for one in found:
        chance = one.sampled
        assert one.off <= WITHIN + 4.0 * sqrt(chance * (1.0 - chance) / DRAWS), one
    # Neither too sure nor too unsure on the whole.
    assert abs(np.mean([one.shown - one.sampled for one in found])) < 0.01


def test_a_rule_asked_about_all_draws_at_once_says_what_it_says_of_each() -> None:
    case = random_cases(1)[1]
    assert case.plan.place is charge_case().plan.place
    best, inputs = Facts.at_best(case), case.variables()
    rng = np.random.default_rng(3)
    exact = {name: size.value for name, size in inputs.items()}
    drawn = {name: rng.normal(size.value, size.doubt, 500) for name, size in inputs.items() if size.doubt}
    compared = 0
    for code in measured(case):
        together = all_at_once(rule(code), case, best, exact, drawn)
        if together is not None:
            assert np.array_equal(together, one_by_one(rule(code), case, best, exact, drawn)), code
            compared += 1
    assert compared >= 6
