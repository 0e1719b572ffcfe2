"""Cut long, trim to fit: how long a piece is left at first, and how much may come off next.

What a piece is too long by, offered up, is its excess. A piece fits while its excess lies between what the
joint closes (a little short) and what it swallows (a little long); under that it is cut short and lost. The
chance of that over all cuts of a piece is shared out beforehand, a share a cut, so that by the union bound it
stays under the risk that was set however many cuts it takes. Each cut is advised from the last reading alone:
readings taken with one rule share its error, so that more of them don't make it smaller.
"""

from dataclasses import dataclass
from math import hypot
from statistics import NormalDist

SHARES = (0.02, 0.24, 0.10, 0.02, 0.01, 0.005, 0.0025, 0.0025)
"""Shares of the risk for the first cut and each trim [-]; a further trim has none left.

Together two fifths of it: the rest is kept back, since the doubts are themselves no more than good guesses.
The first cut may be left long at no cost in trims; the first trim decides whether a second is needed.
"""
FINE_FLOOR, FINE_SHARE = 0.0001, 0.1
"""Doubt of what a file or a disc takes off: this and a tenth of it [m], [-]; common practice, no source."""
FINE_MOST = 0.004
"""More than this is sawn, not ground [m]; common practice, no source."""
LEAST_TRIM = 0.00005
"""Less than this is no trim [m]."""


@dataclass(frozen=True, slots=True)
class Saw:
    """What cuts. blade: width of its cut, the kerf [m]. doubt: of where the cut falls [m]."""

    blade: float
    doubt: float


@dataclass(frozen=True, slots=True)
class Fit:
    """When trimming ends. short: what the joint closes [m]. long: what it swallows [m]. risk: that the piece
    is ever cut shorter than that, over all its cuts [-].
    """

    short: float
    long: float
    risk: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do with a piece.

    take_off: [m]; 0 where it stays as it is. sawn: with the saw, else with a file or disc. chance_short: that
    this cut leaves it short [-]. fits: as far as the reading tells. spent: nothing may come off any more
    within the risk, for the reading is too coarse or the shares are used up, and yet it doesn't fit.
    """

    take_off: float
    sawn: bool
    chance_short: float
    fits: bool
    spent: bool = False

    def blades(self, saw: Saw) -> int:
        """Whole widths of the blade in what comes off."""
        return int(self.take_off / saw.blade + 1e-9)


def left_long(doubt: float, saw: Saw, fit: Fit) -> float:
    """What to leave on at the first cut over the length that is wanted [m].

    doubt: standard uncertainty of that length [m], from the poses of both ends. The chance that it is too
    short then is the first share of the risk. Source: the normal law.

    >>> round(1000 * left_long(0.004, Saw(0.002, 0.0005), Fit(0.0005, 0.001, 0.01)), 1)
    12.8
    """
    return max(_reach(fit, 0) * hypot(doubt, saw.doubt) - fit.short, 0.0)


def to_saw_from(wanted: float, doubt: float, saw: Saw, fit: Fit) -> float:
    """Tube that the first cut takes from the length [m]: as long as it is left, and one kerf."""
    return wanted + left_long(doubt, saw, fit) + saw.blade


def advise(excess: float, doubt: float, trims: int, saw: Saw, fit: Fit) -> Advice:
    """What may come off now: never more than is read, however much the joint would close.

    excess: read as offered up [m]; under 0 where there is a gap. doubt: standard uncertainty of that reading
    [m]. trims: made so far on this piece. Source: the normal law; several small cuts beat one is common
    practice, no source.
    """
    if excess <= fit.long:
        return Advice(0.0, False, _chance_under(excess, doubt, fit), fits=excess >= -fit.short)
    if trims + 1 >= len(SHARES):
        return Advice(0.0, False, 0.0, fits=False, spent=True)
    reach = _reach(fit, trims + 1)
    sawn = min(excess + fit.short - reach * hypot(doubt, saw.doubt), excess)
    if sawn > max(FINE_MOST, saw.blade):
        return Advice(sawn, True, _chance_under(excess - sawn, hypot(doubt, saw.doubt), fit), fits=False)
    fine = min(_ground(excess + fit.short, doubt, reach), excess)
    if fine < LEAST_TRIM:
        return Advice(0.0, False, 0.0, fits=False, spent=True)
    return Advice(fine, False, _chance_under(excess - fine, hypot(doubt, fine_doubt(fine)), fit), fits=False)


def chance_short(risk: float, cuts: int) -> float:
    """The chance that a cut still to come leaves a piece short [-]: the shares that are left of the risk.

    risk: over all its cuts [-]. cuts: made so far, the first one included. Source: the union bound.

    >>> round(chance_short(0.01, 0), 4)
    0.004
    """
    return risk * sum(SHARES[cuts:])


def fine_doubt(taken: float) -> float:
    """Doubt of what a file or a disc takes off [m]; common practice, no source."""
    return FINE_FLOOR + FINE_SHARE * taken


def _ground(room: float, doubt: float, reach: float) -> float:
    """The most x with x + reach · hypot(doubt, fine_doubt(x)) no more than the room; all in [m].

    Found by halving, as the left side rises with x.
    """
    low, high = 0.0, max(min(room, FINE_MOST), 0.0)
    for _ in range(40):
        middle = 0.5 * (low + high)
        held = middle + reach * hypot(doubt, fine_doubt(middle)) <= room
        low, high = (middle, high) if held else (low, middle)
    return low


def _reach(fit: Fit, cut: int) -> float:
    """How many standard uncertainties the share of this cut asks for; cut 0 is the first."""
    return NormalDist().inv_cdf(1.0 - fit.risk * SHARES[cut])


def _chance_under(excess: float, doubt: float, fit: Fit) -> float:
    """Chance that the piece is short though this is its excess, within this doubt [-]."""
    if doubt <= 0.0:
        return float(excess < -fit.short)
    return NormalDist(excess, doubt).cdf(-fit.short)
