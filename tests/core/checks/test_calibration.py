"""The chances that checks show, held to plain Monte Carlo of their rules; the bench does it at length."""

from math import sqrt

import numpy as np

from tests.bench.calibration import WITHIN, compare, random_cases

DRAWS = 3000


def test_chances_agree_with_plain_sampling() -> None:
    """Every rule of some random builds, those that march included; each rule asked draw by draw in part."""
    found = [one for case in random_cases(3) for one in compare(case, DRAWS)]
    assert len(found) >= 30
    assert {"charge-loss", "gas-speed", "back-pressure", "intake-loss", "speed"} & {one.code for one in found}
    for one in found:
        chance = one.sampled
        assert one.off <= WITHIN + 4.0 * sqrt(chance * (1.0 - chance) / DRAWS), one
    # Neither too sure nor too unsure on the whole.
    assert abs(np.mean([one.shown - one.sampled for one in found])) < 0.01
