"""Cut long, trim to fit: the advice keeps to its risk, and needs few trims."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy.stats import beta, norm

from server.core.tube.cutting.trim import (
    FINE_MOST,
    SHARES,
    Fit,
    Saw,
    advise,
    fine_doubt,
    left_long,
    to_saw_from,
)

SAW = Saw(blade=0.002, doubt=0.0005)
FIT = Fit(short=0.0005, long=0.001, risk=0.01)
PIECES = 2000
READING = 0.0003
"""Of a steel rule [m]."""

Errors = Callable[[np.random.Generator, float], float]


def by_the_normal_law(random: np.random.Generator, doubt: float) -> float:
    return doubt * float(random.normal())


def by_a_flat_law(random: np.random.Generator, doubt: float) -> float:
    """Limits of the same standard deviation: JCGM 100:2008, 4.3.7."""
    return doubt * float(random.uniform(-(3.0**0.5), 3.0**0.5))


class Trimmed:
    """Pieces trimmed by the advice: how many were ever short, and trims a piece."""

    def __init__(
        self, doubt: float, reading: float, errors: Errors = by_the_normal_law, seed: int = 1
    ) -> None:
        random = np.random.default_rng(seed)
        self.short, self.given_up = 0, 0
        self.trims: list[int] = []
        for _ in range(PIECES):
            excess = left_long(doubt, SAW, FIT) + errors(random, doubt) + errors(random, SAW.doubt)
            ever_short, trims = excess < -FIT.short, 0
            while True:
                advice = advise(excess + errors(random, reading), reading, trims, SAW, FIT)
                if not advice.take_off:
                    break
                trims += 1
                cut = SAW.doubt if advice.sawn else fine_doubt(advice.take_off)
                excess += errors(random, cut) - advice.take_off
                ever_short |= excess < -FIT.short
            self.short += ever_short
            self.trims.append(trims)
            self.given_up += advice.spent

    @property
    def mean(self) -> float:
        return float(np.mean(self.trims))


DOUBTS = (0.001, 0.003, 0.008)


def upper_bound(short: int, pieces: int) -> float:
    """Exact upper 95 % bound of the share cut short. Source: Clopper and Pearson, 1934."""
    return float(beta.ppf(0.95, short + 1, pieces - short))


@pytest.mark.parametrize("errors", [by_the_normal_law, by_a_flat_law])
def test_no_more_pieces_are_ever_cut_short_than_was_set(errors: Errors) -> None:
    """2,000 pieces for each doubt: no share is over the risk of 1 %, and all together surely under it."""
    short = [Trimmed(doubt, READING, errors).short for doubt in DOUBTS]
    assert max(short) <= FIT.risk * PIECES
    assert upper_bound(sum(short), PIECES * len(DOUBTS)) <= FIT.risk


@pytest.mark.parametrize("doubt", DOUBTS)
def test_at_most_one_trim_more_than_somebody_who_knows_the_truth(doubt: float) -> None:
    """An oracle knows every length for sure, has the same saw and file, and keeps to the same risk."""
    oracle = Trimmed(0.0, 0.0)
    advised = Trimmed(doubt, READING)
    assert advised.given_up == 0
    assert advised.mean <= oracle.mean + 1.0


def test_the_first_cut_is_longer_the_less_sure_the_length_is() -> None:
    doubts = (0.0, 0.001, 0.003, 0.010)
    left = [left_long(doubt, SAW, FIT) for doubt in doubts]
    assert left == sorted(left)
    reach = norm.isf(FIT.risk * SHARES[0])
    assert left[0] == pytest.approx(reach * SAW.doubt - FIT.short)
    assert to_saw_from(0.2, 0.003, SAW, FIT) == pytest.approx(0.2 + left[2] + SAW.blade)


def test_much_is_sawn_in_blades_and_little_is_ground() -> None:
    much, little = advise(0.012, READING, 0, SAW, FIT), advise(0.002, READING, 1, SAW, FIT)
    assert (much.sawn, little.sawn) == (True, False)
    assert much.blades(SAW) == 5
    assert 0.0 < little.take_off < 0.002


def test_a_piece_that_fits_is_left_alone() -> None:
    for excess in (-0.0004, 0.0, 0.0009):
        advice = advise(excess, READING, 2, SAW, FIT)
        assert (advice.take_off, advice.fits) == (0.0, True)


def test_what_a_hose_would_close_is_left_for_the_hose() -> None:
    """A joint that takes 3 mm either way: the cut is made to the reading, not past it."""
    advice = advise(0.014, READING, 0, SAW, Fit(0.003, 0.003, 0.01))
    assert advice.take_off == pytest.approx(0.014)


def test_a_piece_that_is_short_is_told_so() -> None:
    advice = advise(-0.003, READING, 1, SAW, FIT)
    assert (advice.take_off, advice.fits) == (0.0, False)
    assert advice.chance_short > 0.99


def test_with_a_reading_that_is_too_coarse_nothing_comes_off() -> None:
    advice = advise(0.0015, 0.002, 0, SAW, FIT)
    assert (advice.take_off, advice.fits, advice.spent) == (0.0, False, True)


def test_when_the_shares_are_used_up_nothing_comes_off() -> None:
    assert sum(SHARES) == pytest.approx(0.4)
    assert advise(0.004, READING, len(SHARES) - 1, SAW, FIT).spent


@given(some.floats(0.0011, 0.1), some.floats(1e-5, 0.002), some.integers(0, 5))
def test_what_comes_off_leaves_no_more_chance_of_being_short_than_its_share(
    excess: float, doubt: float, trims: int
) -> None:
    advice = advise(excess, doubt, trims, SAW, FIT)
    assert advice.take_off < excess + FIT.short
    assert advice.chance_short <= FIT.risk * SHARES[trims + 1] * (1.0 + 1e-6)
    assert advice.sawn == (advice.take_off > FINE_MOST)
