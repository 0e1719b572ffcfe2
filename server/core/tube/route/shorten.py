"""Many routes made shorter at once, each within its bounds: straights, angles, and room beside keep-outs.

Method of multipliers (augmented Lagrangian) with Newton steps in a trust region: Nocedal and Wright,
Numerical Optimization, 17.3 and 4. With two or five unknowns a row, slopes and curves are taken from
differences, of all rows in one array. Where a piece of the pipe comes nearest to a keep-out is kept for one
step.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from server.core.tube.route.path import Orders, Paths, paths, points_at
from server.core.tube.route.problem import Asked
from server.core.tube.space.keep_outs import Floats

STEP = 1e-4
"""Step of differences [m]."""
STIFF = 300.0
"""What a metre of shortage squared costs in metres of length [1/m]."""
FIRST_TRUST, MOST_TRUST = 0.05, 0.5
"""How far a step may go [m]."""
STEPS_BETWEEN = 3
"""Steps between two looks at the multipliers."""
LOOKED_AT = np.linspace(0.0, 1.0, 9)
"""Shares of each piece at which room is looked at."""
SHORTAGE = 8.0
"""What a metre that is missing somewhere counts for in metres of length, while rows are sorted."""
NEARLY = 1e-7
"""Spare under which a bound is kept while another is mended [m]."""
MENDINGS = 25
"""Steps by which bounds are held: where two routes run into one, each step only halves what is missing."""
HELD = 1e-10
"""Shortage that is rounding [m]."""


@dataclass(frozen=True, slots=True)
class Batch:
    """Routes as rows. which: the number of each row's order, (n,). orders: the bends of each row.

    unknowns: (n, 2) or (n, 5) [m]. margin: further room wanted beside keep-outs, (n,) [m].
    """

    which: NDArray[np.intp]
    orders: Orders
    unknowns: Floats
    margin: Floats

    def of(self, rows: NDArray[np.intp]) -> "Batch":
        """These rows, in this order."""
        return Batch(self.which[rows], self.orders.of(rows), self.unknowns[rows], self.margin[rows])

    def __len__(self) -> int:
        return len(self.unknowns)


@dataclass(frozen=True, slots=True)
class _Seen:
    """Length and spare (over what each bound asks, scaled to metres) with slopes and curves, at each row."""

    length: Floats
    spare: Floats
    length_slope: Floats
    spare_slope: Floats
    length_curve: Floats
    spare_curve: Floats


def spare_of(asked: Asked, orders: Orders, found: Paths, shares: Floats | None, margin: Floats) -> Floats:
    """By how much each bound is held, (n, bounds) [m]; an angle is counted by the arc of its radius.

    shares: where each piece is looked at for each keep-out, (n, 2 k + 1, keep-outs).
    """
    told = [
        found.straights - orders.least,
        (found.angles - orders.low) * orders.radii,
        (orders.high - found.angles) * orders.radii,
    ]
    if shares is not None:
        points = points_at(found, shares)
        half = 0.5 * asked.outside + margin[:, None]
        told += [
            shape.distance(points[:, :, at]) - shape.gap - half for at, shape in enumerate(asked.keep_outs)
        ]
    return np.concatenate(told, axis=1)


def nearest_shares(asked: Asked, found: Paths) -> Floats | None:
    """Where each piece comes nearest to each keep-out, of the shares looked at; (n, 2 k + 1, keep-outs)."""
    if not asked.keep_outs:
        return None
    pieces = found.straights.shape[1] + found.angles.shape[1]
    points = points_at(found, np.broadcast_to(LOOKED_AT, (1, pieces, len(LOOKED_AT))))
    each = [LOOKED_AT[shape.distance(points).argmin(axis=2)] for shape in asked.keep_outs]
    return np.stack(each, axis=2)


def score_of(asked: Asked, batch: Batch) -> tuple[Floats, Floats]:
    """Length with what is missing counted in, the less the better, and the greatest shortage, (n,) [m]."""
    found = paths(asked, batch.orders, batch.unknowns)
    short = np.maximum(-spare_of(asked, batch.orders, found, nearest_shares(asked, found), batch.margin), 0.0)
    return np.nan_to_num(found.length + SHORTAGE * short.sum(axis=1), nan=np.inf), short.max(axis=1)


def apart(batch: Batch, score: Floats, least: float, most: int, each: int) -> Batch:
    """The best rows, best first, that are further apart than the least in some unknown [m].

    most: of them all; each: of one order.
    """
    left = np.argsort(score, kind="stable")
    chosen: list[int] = []
    taken: dict[int, int] = {}
    while left.size and len(chosen) < most:
        at, which = int(left[0]), int(batch.which[left[0]])
        chosen.append(at)
        taken[which] = taken.get(which, 0) + 1
        same = batch.which[left] == which
        if taken[which] < each:
            same &= np.abs(batch.unknowns[left] - batch.unknowns[at]).max(axis=1) <= least
        left = left[~same]
    return batch.of(np.array(chosen, dtype=np.intp))


def shorter(asked: Asked, batch: Batch, steps: int) -> Batch:
    """The rows after so many steps; each goes its own way."""
    x = batch.unknowns
    trust = np.full(len(x), FIRST_TRUST)
    pull: Floats | None = None
    for step in range(steps):
        shares = nearest_shares(asked, paths(asked, batch.orders, x))
        seen = _seen(asked, batch, x, shares)
        if pull is None:
            pull = _first_pull(batch.orders, seen)
        elif step % STEPS_BETWEEN == 0:
            pull = np.maximum(pull - STIFF * seen.spare, 0.0)
        forced = np.maximum(pull - STIFF * seen.spare, 0.0)
        slope = seen.length_slope - np.einsum("nm,nmi->ni", forced, seen.spare_slope)
        stiff = np.where(forced > 0.0, STIFF, 0.0)[..., None] * seen.spare_slope
        curve = seen.length_curve - np.einsum("nm,nmij->nij", forced, seen.spare_curve)
        curve += stiff.transpose(0, 2, 1) @ seen.spare_slope
        moved = x + _newton(slope, curve, trust)
        before = _merit(seen.length, seen.spare, pull)
        found = paths(asked, batch.orders, moved)
        after = _merit(found.length, spare_of(asked, batch.orders, found, shares, batch.margin), pull)
        better = after < before
        x = np.where(better[:, None], moved, x)
        trust = np.where(better, np.minimum(2.0 * trust, MOST_TRUST), 0.25 * trust)
    return replace(batch, unknowns=x)


def _first_pull(orders: Orders, seen: _Seen) -> Floats:
    """Multipliers to begin with: those of fixed angles by least squares, so that they are not left."""
    bends = orders.radii.shape[1]
    low, high = slice(bends + 1, 2 * bends + 1), slice(2 * bends + 1, 3 * bends + 1)
    fixed = orders.low == orders.high
    slopes = np.where(fixed[..., None], seen.spare_slope[:, low], 0.0)
    wanted = np.einsum("nmi,ni->nm", np.linalg.pinv(slopes.transpose(0, 2, 1), rcond=1e-3), seen.length_slope)
    pull = np.zeros_like(seen.spare)
    pull[:, low], pull[:, high] = np.maximum(wanted, 0.0), np.maximum(-wanted, 0.0)
    return pull


def _merit(length: Floats, spare: Floats, pull: Floats) -> Floats:
    forced = np.maximum(pull - STIFF * spare, 0.0)
    return np.asarray(length + (forced**2 - pull**2).sum(axis=1) / (2.0 * STIFF))


def _newton(slope: Floats, curve: Floats, trust: Floats) -> Floats:
    """Newton's steps downhill, no longer than they may be, with every curve taken as upwards."""
    values, ways = np.linalg.eigh(curve)
    along = np.einsum("nji,nj->ni", ways, slope)
    steps = -along / np.maximum(np.abs(values), 1e-3)
    length = np.linalg.norm(steps, axis=1)
    steps *= np.minimum(1.0, trust / np.maximum(length, 1e-12))[:, None]
    return np.asarray(np.einsum("nij,nj->ni", ways, steps))


def _stencil(wide: int) -> Floats:
    """Where differences look: here, a step ahead and behind along each unknown, and ahead along each two."""
    one = STEP * np.eye(wide)
    i, j = np.tril_indices(wide, -1)
    return np.concatenate([np.zeros((1, wide)), one, -one, one[i] + one[j]])


def _seen(asked: Asked, batch: Batch, x: Floats, shares: Floats | None) -> _Seen:
    rows, wide = x.shape
    looks = _stencil(wide)
    every = np.repeat(np.arange(rows), len(looks))
    at = (x[:, None] + looks).reshape(-1, wide)
    orders = batch.orders.of(every)
    found = paths(asked, orders, at)
    spare = spare_of(asked, orders, found, None if shares is None else shares[every], batch.margin[every])
    values = np.concatenate([found.length[:, None], spare], axis=1).reshape(rows, len(looks), -1)
    here, ahead, behind, both = np.split(values, [1, wide + 1, 2 * wide + 1], axis=1)
    slope = (ahead - behind) / (2.0 * STEP)
    curve = np.empty((rows, wide, wide, values.shape[2]))
    each = np.arange(wide)
    curve[:, each, each] = ahead - 2.0 * here + behind
    i, j = np.tril_indices(wide, -1)
    curve[:, i, j] = curve[:, j, i] = both - ahead[:, i] - ahead[:, j] + here
    curve /= STEP**2
    slope, curve = slope.transpose(0, 2, 1), curve.transpose(0, 3, 1, 2)
    return _Seen(here[:, 0, 0], here[:, 0, 1:], slope[:, 0], slope[:, 1:], curve[:, 0], curve[:, 1:])


def held(asked: Asked, batch: Batch) -> Batch:
    """The same rows with their bounds held to rounding: least steps that undo what is missing."""
    x = batch.unknowns
    for _ in range(MENDINGS):
        shares = nearest_shares(asked, paths(asked, batch.orders, x))
        seen = _seen(asked, batch, x, shares)
        missing = np.minimum(seen.spare, 0.0)
        if float(missing.min()) > -HELD:
            break
        touched = seen.spare < NEARLY
        slopes = np.where(touched[..., None], seen.spare_slope, 0.0)
        missing = np.where(touched, seen.spare, 0.0)
        x = x - np.einsum("nij,nj->ni", np.linalg.pinv(slopes, rcond=1e-8), missing)
    return replace(batch, unknowns=x)
