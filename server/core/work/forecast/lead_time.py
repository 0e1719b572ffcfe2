"""How long a supplier takes: a log-normal lead time, a weak prior moved by what has arrived."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]

WEIGHT = 2.0
"""Deliveries that the prior counts for."""
PRIOR_SPREAD = 0.4
"""Standard deviation of the prior, of the logarithm [-]: four in five within 0.6 to 1.7 of the usual time.

Common practice, no source.
"""
LEAST = 1e-300
"""The smallest share that is told from none [-]."""
SHORTEST = 0.5
"""A parcel that came the same day counts for so long [day]."""


@dataclass(frozen=True, slots=True)
class LeadTime:
    """A log-normal lead time: its median [day], the standard deviation of its logarithm [-], 0 for sure."""

    median: float
    spread: float

    def quantile(self, share: float, waited: float = 0.0) -> float:
        """The lead time that so large a share of parcels keep to, of those not yet here after `waited` [day].

        Source: the log-normal distribution, cut off at what has passed.

        >>> round(LeadTime(4.0, 0.4).quantile(0.8), 2)
        5.6
        """
        return float(self.at(np.array([share]), waited)[0])

    def at(self, shares: Floats, waited: float = 0.0) -> Floats:
        """`quantile` for many shares at once [day]. Source: as there."""
        if self.spread <= 0.0:
            return np.full(shares.shape, max(self.median, waited))
        # Counted from the upper end, where a parcel long overdue would lose its digits.
        left = np.maximum((1.0 - shares) * self.left(waited), LEAST)
        return np.maximum(waited, self.median * np.exp(-self.spread * ndtri(left)))

    def left(self, waited: float) -> float:
        """The share of parcels that are not here by then; waited [day]. Source: the log-normal law."""
        if waited <= 0.0:
            return 1.0
        if self.spread <= 0.0:
            return float(waited < self.median)
        return float(ndtr(-log(waited / self.median) / self.spread))


def lead_time(usual: float, arrived: Sequence[float]) -> LeadTime:
    """A supplier's lead time from what it says and what it did.

    usual: what is usual of it [day], such as its own word. arrived: how long each delivery so far took [day].
    The prior counts as much as `WEIGHT` deliveries, in the middle and in the spread alike, and the spread is
    widened for how little is known of the middle. Errors: ValueError for a usual time that is not over 0.
    Source: the conjugate rule for a normal sample, A. Gelman et al., Bayesian Data Analysis, section 3.3,
    from memory; its values put into a log-normal instead of its wider t.

    >>> lead_time(4.0, []).median
    4.0
    """
    if usual <= 0.0:
        raise ValueError("a usual lead time is over 0 days")
    logs = [log(max(one, SHORTEST)) for one in arrived]
    count, middle = len(logs), log(usual)
    weight = WEIGHT + count
    mean = sum(logs) / count if logs else middle
    moved = (WEIGHT * middle + count * mean) / weight
    squares = sum((one - mean) ** 2 for one in logs) + WEIGHT * count / weight * (mean - middle) ** 2
    variance = (WEIGHT * PRIOR_SPREAD**2 + squares) / weight
    widened = variance * (1.0 + 1.0 / weight) if count else variance
    return LeadTime(usual if not logs else exp(moved), sqrt(widened))
