"""Three-point estimates: how long a piece of work takes, expected and in doubt."""

from dataclasses import dataclass
from math import erf, sqrt


@dataclass(frozen=True, slots=True)
class ThreePoint:
    """How long something takes, in any one unit: if all goes well, most likely, and if much goes wrong.

    >>> ThreePoint(10, 20, 60).mean
    25.0
    """

    low: float
    likely: float
    high: float

    @property
    def fault(self) -> str:
        """What is wrong with the three numbers, in words; empty where nothing is."""
        if self.low < 0:
            return "A time can't be negative."
        if not self.low <= self.likely <= self.high:
            return "The three times must rise: low, likely, high."
        return ""

    @property
    def mean(self) -> float:
        """Expected duration, (low + 4 likely + high) / 6, in the unit of the estimate.

        Source: D. G. Malcolm et al., Application of a technique for research and development program
        evaluation, Operations Research 7 (1959) 646.
        """
        return (self.low + 4 * self.likely + self.high) / 6

    @property
    def variance(self) -> float:
        """Variance by the textbook rule, ((high − low) / 6)², in the unit of the estimate squared.

        The beta distribution with this mean has another variance unless it is symmetric:
        (mean − low)(high − mean) / 7, which is what draws from it show. Source: as `mean`.
        """
        return ((self.high - self.low) / 6) ** 2

    @property
    def shape(self) -> tuple[float, float]:
        """The two shape numbers of the beta distribution between low and high with this mean [-].

        1 + 4 (likely − low) / (high − low), and the same from the other end; (1, 1) where there is no spread.
        Source: as `mean`; the four is the weight of the likely value.
        """
        spread = self.high - self.low
        if spread <= 0:
            return 1.0, 1.0
        return 1 + 4 * (self.likely - self.low) / spread, 1 + 4 * (self.high - self.likely) / spread


def chance_within(limit: float, mean: float, variance: float) -> float:
    """Chance that a chain of work ends within `limit`, all in one unit of time, by the normal distribution.

    mean, variance: sums along the chain. Holds for one long chain; where several chains meet the true chance
    is lower, which draws show. Source: as `ThreePoint.mean`; the central limit theorem.

    >>> round(chance_within(28, 24, 5), 4)
    0.9632
    """
    if variance <= 0:
        return float(limit >= mean)
    return 0.5 * (1 + erf((limit - mean) / sqrt(2 * variance)))
