"""Many routes made shorter at once, each within its bounds: straights, angles, and room beside keep-outs.

Method of multipliers (augmented Lagrangian) with Newton steps in a trust region: Nocedal and Wright,
Numerical Optimization, 17.3 and 4. With two or five unknowns a row, slopes and curves are taken from
differences, of all rows in one array. Where a piece of the pipe comes nearest to a keep-out is kept for one
step.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from server.core.tube.route.path import Orders, Paths, Scene, paths, points_at
from server.core.tube.space.keep_outs import Floats, Solids

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
SEEN_FIRST = np.linspace(0.0, 1.0, 5)
"""The same while many are sorted."""
SORTED = 12
"""So many rows of an order are looked through for each that is wanted."""
SHORTAGE = 8.0
"""What a metre that is missing somewhere counts for in metres of length, while rows are sorted."""
NEARLY = 1e-7
"""Spare under which a bound is kept while another is mended [m]."""
MENDINGS = 25
"""Steps by which bounds are held: where two routes run into one, each step only halves what is missing."""
MENDED = 0.9
"""What must be left of a shortage at the most after such a step, else there is no more to be had."""
SETTLED = 1e-5
"""Steps, and changes of what is missing, under which no row goes on [m]."""
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

    def with_(self, other: "Batch") -> "Batch":
        """These rows, then those."""
        return Batch(
            np.concatenate([self.which, other.which]),
            self.orders.with_(other.orders),
            np.concatenate([self.unknowns, other.unknowns]),
            np.concatenate([self.margin, other.margin]),
        )

    def __len__(self) -> int:
        return len(self.unknowns)


@dataclass(frozen=True, slots=True)
class _Seen:
    """Length and spare (over what each bound asks, in metres) of each row, with slopes and curves.

    Room beside keep-outs comes last in spare and in its slope, and has no curve: its slope alone is leant on.
    """

    length: Floats
    spare: Floats
    length_slope: Floats
    spare_slope: Floats
    length_curve: Floats
    bound_curve: Floats


def _bounds(orders: Orders, found: Paths) -> Floats:
    """By how much straights and angles are held, (n, 3 k + 1) [m]; angles are counted by their arcs."""
    low = (found.angles - orders.low) * orders.radii
    high = (orders.high - found.angles) * orders.radii
    return np.concatenate([found.straights - orders.least, low, high], axis=1)


def _rooms(scene: Scene, near: Solids, found: Paths, shares: Floats, margin: Floats) -> Floats:
    """By how much each piece is clear of each keep-out where it is looked at, (n, keep-outs * pieces) [m].

    shares: (keep-outs, n, pieces).
    """
    return _as_rows(near.room(points_at(found, shares), scene.half), margin)


def _nearest(scene: Scene, near: Solids, found: Paths, looked_at: Floats) -> tuple[Floats, Floats]:
    """Where each piece comes nearest to each keep-out, of the shares looked at, and how near."""
    pieces = found.straights.shape[1] + found.angles.shape[1]
    shares = np.broadcast_to(looked_at[:, None, None], (len(looked_at), 1, pieces))
    left = near.room(points_at(found, shares)[:, None], scene.half)
    at = left.argmin(axis=1)
    return looked_at[at], np.take_along_axis(left, at[:, None], axis=1)[:, 0]


def _as_rows(left: Floats, margin: Floats) -> Floats:
    """Room by (keep-outs, n, pieces) as (n, keep-outs * pieces), less the further room wanted."""
    return np.asarray(
        left.transpose(1, 0, 2).reshape(len(margin), left.shape[0] * left.shape[2]) - margin[:, None]
    )


def score_of(scene: Scene, batch: Batch, looked_at: Floats = LOOKED_AT) -> tuple[Floats, Floats]:
    """Length with what is missing counted in, the less the better, and the greatest shortage, (n,) [m]."""
    found = paths(scene, batch.orders, batch.unknowns)
    spare = _bounds(batch.orders, found)
    if scene.near is not None:
        _, rooms = _nearest(scene, scene.near, found, looked_at)
        spare = np.concatenate([spare, _as_rows(rooms, batch.margin)], axis=1)
    short = np.maximum(-spare, 0.0)
    return np.nan_to_num(found.length + SHORTAGE * short.sum(axis=1), nan=np.inf), short.max(axis=1)


def ranks(which: NDArray[np.intp], score: Floats) -> NDArray[np.intp]:
    """The rank of each row among those of its own order, from 0."""
    ordered = np.lexsort((score, which))
    grouped = which[ordered]
    found = np.empty(len(which), dtype=np.intp)
    found[ordered] = np.arange(len(which)) - np.searchsorted(grouped, grouped)
    return found


def apart(batch: Batch, score: Floats, least: float, most: int, each: int, sure: int = 0) -> Batch:
    """The best rows that are further apart than the least in some unknown [m].

    most: of them all; each: of one order; sure: so many of every order are taken first, over the most too.
    """
    left = np.argsort(score, kind="stable")
    left = left[ranks(batch.which, score)[left] < SORTED * each]
    chosen: list[int] = []
    taken = np.zeros(int(batch.which.max(initial=-1)) + 1, dtype=np.intp)
    for enough, count in ((sure, len(batch)), (each, most)):
        open_to = left[taken[batch.which[left]] < enough]
        while open_to.size and len(chosen) < count:
            at, which = int(open_to[0]), int(batch.which[open_to[0]])
            chosen.append(at)
            taken[which] += 1
            left = left[~_near(batch, left, at, least)]
            open_to = left[taken[batch.which[left]] < enough]
    return batch.of(np.array(chosen, dtype=np.intp))


def _near(batch: Batch, rows: NDArray[np.intp], at: int, least: float) -> NDArray[np.bool_]:
    """Which rows are one with this one: of its order, and no further away."""
    far = np.abs(batch.unknowns[rows] - batch.unknowns[at]).max(axis=1)
    return np.asarray((batch.which[rows] == batch.which[at]) & (far <= least))


def shorter(scene: Scene, batch: Batch, steps: int) -> Batch:
    """The rows after so many steps; each goes its own way."""
    x, many = batch.unknowns, _at_each_look(batch, _stencil(batch.unknowns.shape[1]))
    trust = np.full(len(x), FIRST_TRUST)
    moved, pull = x, np.empty(0)
    for step in range(steps):
        shares, seen = _seen(scene, batch, many, x)
        if step == 0:
            pull = _first_pull(batch.orders, seen)
        elif step % STEPS_BETWEEN == 0:
            pull, before = np.maximum(pull - STIFF * seen.spare, 0.0), pull
            if float(np.abs(pull - before).max()) < SETTLED * STIFF and float(moved.max()) < SETTLED:
                break
        forced = np.maximum(pull - STIFF * seen.spare, 0.0)
        slope = seen.length_slope - np.einsum("nm,nmi->ni", forced, seen.spare_slope)
        stiff = np.where(forced > 0.0, STIFF, 0.0)[..., None] * seen.spare_slope
        bounds = seen.bound_curve.shape[1]
        curve = seen.length_curve - np.einsum("nm,nmij->nij", forced[:, :bounds], seen.bound_curve)
        curve += stiff.transpose(0, 2, 1) @ seen.spare_slope
        tried = x + _newton(slope, curve, trust)
        found = paths(scene, batch.orders, tried)
        merit = _merit(found.length, _spare(scene, batch, found, shares), pull)
        better = merit < _merit(seen.length, seen.spare, pull)
        moved = np.abs(tried - x)
        x = np.where(better[:, None], tried, x)
        trust = np.where(better, np.minimum(2.0 * trust, MOST_TRUST), 0.25 * trust)
    return replace(batch, unknowns=x)


def _spare(scene: Scene, batch: Batch, found: Paths, shares: Floats) -> Floats:
    spare = _bounds(batch.orders, found)
    if scene.near is None:
        return spare
    return np.concatenate([spare, _rooms(scene, scene.near, found, shares, batch.margin)], axis=1)


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


@lru_cache(maxsize=4)
def _pairs(wide: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The numbers of each two unknowns."""
    i, j = np.tril_indices(wide, -1)
    return i, j


@lru_cache(maxsize=4)
def _stencil(wide: int) -> Floats:
    """Where differences look: here, a step ahead and behind along each unknown, and ahead along each two."""
    one = STEP * np.eye(wide)
    i, j = _pairs(wide)
    looks = np.concatenate([np.zeros((1, wide)), one, -one, one[i] + one[j]])
    looks.flags.writeable = False
    return looks


def _at_each_look(batch: Batch, looks: Floats) -> Orders:
    """The bends of each row, once for every place where differences look."""
    return batch.orders.of(np.repeat(np.arange(len(batch)), len(looks)))


def _looked(scene: Scene, many: Orders, x: Floats, looks: Floats) -> tuple[Paths, Floats]:
    """The routes at each look, and their length and bounds, (n, looks, 1 + bounds) [m]."""
    found = paths(scene, many, (x[:, None] + looks).reshape(-1, x.shape[1]))
    values = np.concatenate([found.length[:, None], _bounds(many, found)], axis=1)
    return found, values.reshape(len(x), len(looks), -1)


def _seen(scene: Scene, batch: Batch, many: Orders, x: Floats) -> tuple[Floats, _Seen]:
    """Where the rows come nearest to keep-outs, and how they stand. many: as `_at_each_look`."""
    rows, wide = x.shape
    looks = _stencil(wide)
    found, values = _looked(scene, many, x, looks)
    here, ahead, behind = values[:, :1], values[:, 1 : wide + 1], values[:, wide + 1 : 2 * wide + 1]
    both = values[:, 2 * wide + 1 :]
    slope = ((ahead - behind) / (2.0 * STEP)).transpose(0, 2, 1)
    curve = np.empty((rows, wide, wide, values.shape[2]))
    each = np.arange(wide)
    curve[:, each, each] = ahead - 2.0 * here + behind
    i, j = _pairs(wide)
    curve[:, i, j] = curve[:, j, i] = both - ahead[:, i] - ahead[:, j] + here
    curve = (curve / STEP**2).transpose(0, 3, 1, 2)
    shares, rooms, room_slope = _seen_rooms(scene, batch, found, looks)
    return shares, _Seen(
        here[:, 0, 0],
        np.concatenate([here[:, 0, 1:], rooms], axis=1),
        slope[:, 0],
        np.concatenate([slope[:, 1:], room_slope], axis=1),
        curve[:, 0],
        curve[:, 1:],
    )


def _seen_rooms(scene: Scene, batch: Batch, found: Paths, looks: Floats) -> tuple[Floats, Floats, Floats]:
    """Where each row comes nearest to each keep-out, the room there, and its slope.

    found: the rows at each place where differences look, of which here and a step ahead count.
    """
    rows, wide = len(batch), looks.shape[1]
    if scene.near is None:
        return np.empty((rows, 0, 0)), np.empty((rows, 0)), np.empty((rows, 0, wide))
    here = np.arange(rows) * len(looks)
    shares, _ = _nearest(scene, scene.near, found.of(here), LOOKED_AT)
    ahead = found.of((here[:, None] + np.arange(wide + 1)).ravel())
    every = np.repeat(np.arange(rows), wide + 1)
    rooms = _rooms(scene, scene.near, ahead, shares[:, every], batch.margin[every]).reshape(
        rows, wide + 1, -1
    )
    return shares, rooms[:, 0], ((rooms[:, 1:] - rooms[:, :1]) / STEP).transpose(0, 2, 1)


def held(scene: Scene, batch: Batch) -> Batch:
    """The same rows with their bounds held to rounding: least steps that undo what is missing."""
    x, wide = batch.unknowns, batch.unknowns.shape[1]
    looks = _stencil(wide)[: 2 * wide + 1]  # slopes alone are asked for
    many, before = _at_each_look(batch, looks), np.inf
    for _ in range(MENDINGS):
        found, values = _looked(scene, many, x, looks)
        _, rooms, room_slope = _seen_rooms(scene, batch, found, looks)
        spare = np.concatenate([values[:, 0, 1:], rooms], axis=1)
        slope = (values[:, 1 : wide + 1, 1:] - values[:, wide + 1 :, 1:]) / (2.0 * STEP)
        touched = spare < NEARLY
        missing = np.where(touched, spare, 0.0)
        short = np.maximum(-spare.min(axis=1), HELD)
        if bool((short >= MENDED * before).all()) or float(short.max()) <= HELD:
            break
        before = short
        slopes = np.concatenate([slope.transpose(0, 2, 1), room_slope], axis=1)
        slopes = np.where(touched[..., None], slopes, 0.0)
        x = x - np.einsum("nij,nj->ni", np.linalg.pinv(slopes, rcond=1e-8), missing)
    return replace(batch, unknowns=x)
