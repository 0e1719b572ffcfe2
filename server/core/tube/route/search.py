"""Routes from one pose to another: the shortest through bends that can be bought, clear of every keep-out.

All orders of bends are tried from many starts at once; the best few of all are made shorter together. What is
returned is rebuilt from its bend table and looked at again, finely.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from server.core.tube.route.checked import checked, room_of
from server.core.tube.route.path import Scene, corners_of, orders_of, scene_of
from server.core.tube.route.problem import Asked, BendKind, Route, Routes
from server.core.tube.route.reasons import MOST_BENDS, never, why_none
from server.core.tube.route.shorten import SEEN_FIRST, Batch, apart, held, ranks, score_of, shorter
from server.core.tube.route.starts import tries
from server.core.tube.space.vectors import Vector

APART, SAME = 0.06, 0.002
"""How far starts are apart that are both made shorter, and routes on their way that count as two [m]."""
SURE, MOST_SURE = 2, 64
"""Starts of every order that are made shorter, however long they are, and how many those may be in all."""
LEAST_TRIES = 24
"""Tries of each order, however many orders there are."""
ALIKE = 0.03
"""Routes whose corners all lie nearer than this are shown as one [m]."""
SHOWN = 6
"""Routes returned at the most."""
CLOSED = 1e-8
"""Shortage of a bound that is rounding [m]."""

Kinds = tuple[BendKind, ...]


@dataclass(frozen=True, slots=True)
class _Effort:
    """How much is tried. tries: of each order of bends. most: of all orders. looked_at: of those, the
    shortest whose room beside keep-outs is looked at. taken: starts that are made shorter, by few steps, then
    the best of them (kept) by more.
    """

    tries: int
    most: int
    looked_at: int
    taken: int
    steps: int
    kept: int
    more: int


EFFORTS = (_Effort(384, 10_000, 600, 24, 8, 8, 15), _Effort(3000, 60_000, 20_000, 160, 12, 60, 24))
"""At first, and again where nothing was found."""


def find_routes(asked: Asked) -> Routes:
    """Routes found, fewest bends first, then the shortest.

    Raises nothing: where there is none, the reason says what would help. Source: geometry.
    """
    for effort in EFFORTS:
        found = _found(asked, effort)
        if found:
            return Routes(_spread(sorted(found, key=lambda route: (len(route.kinds), route.length))))
        plain = never(asked)
        if plain:
            return Routes((), plain)
    return Routes((), why_none(asked, lambda other: bool(_found(other, EFFORTS[0]))))


def _found(asked: Asked, effort: _Effort) -> list[Route]:
    scene, most = scene_of(asked), min(asked.most_bends, MOST_BENDS)
    return [route for count in range(most + 1) for route in _with(asked, scene, count, effort)]


def _with(asked: Asked, scene: Scene, count: int, effort: _Effort) -> list[Route]:
    """Routes of so many bends."""
    orders = list(product(dict.fromkeys(asked.bends), repeat=count))
    if count < 2:
        made = [(kinds, corners) for kinds in orders for corners in _direct(asked, kinds)]
        return [route for kinds, corners in made for route in checked(asked, kinds, corners)]
    batch = _shortened(asked, scene, orders, effort) if orders else None
    return _finished(asked, scene, orders, batch) if batch is not None and len(batch) else []


def _direct(asked: Asked, kinds: Kinds) -> Iterator[tuple[Vector, ...]]:
    """Corners of a run without a bend, or with one where the poses' lines meet."""
    start, end = asked.start, asked.end
    if not kinds:
        yield (start.point, end.point)
        return
    lines = np.stack([start.flow, end.flow], axis=1)
    (a, _), *_ = np.linalg.lstsq(lines, end.point - start.point, rcond=None)
    yield (start.point, start.point + a * start.flow, end.point)


def _shortened(asked: Asked, scene: Scene, orders: Sequence[Kinds], effort: _Effort) -> Batch:
    """The tries that promise most, not near each other, made shorter; and the best that are whole."""
    every = orders_of(asked, orders)
    which, unknowns = tries(asked, every, min(effort.tries, max(effort.most // len(orders), LEAST_TRIES)))
    sure = min(SURE, MOST_SURE // len(orders))
    batch = Batch(which, every.of(which), unknowns, np.zeros(len(which)))
    score, short = score_of(replace(scene, near=None), batch)
    if asked.keep_outs:
        first = ranks(batch.which, score) < max(effort.looked_at // len(orders), 1)
        batch = batch.of(np.flatnonzero(first))
        score, short = score_of(scene, batch, SEEN_FIRST)
    if not len(batch):
        return batch
    whole = np.flatnonzero(short < CLOSED)
    whole_ones = apart(batch.of(whole), score[whole], SAME, SHOWN, SHOWN)
    each = max(2 * SURE, 2 * effort.taken // len(orders))
    batch = shorter(scene, apart(batch, score, APART, effort.taken, each, sure), effort.steps)
    score, _ = score_of(scene, batch)
    batch = shorter(scene, apart(batch, score, SAME, effort.kept, effort.kept), effort.more)
    return batch.with_(whole_ones)


def _finished(asked: Asked, scene: Scene, orders: Sequence[Kinds], batch: Batch) -> list[Route]:
    """The rows that are routes; those that touch a keep-out between the places looked at get more room."""
    without = replace(asked, keep_outs=())
    found: list[Route] = []
    score, _ = score_of(scene, batch)
    batch = apart(batch, score, SAME, len(batch), len(batch))
    for _ in range(3):
        batch = held(scene, batch)
        score, short = score_of(scene, batch)
        good = np.flatnonzero(short < CLOSED)
        batch = apart(batch.of(good), score[good], SAME, SHOWN, SHOWN)
        touching = []
        for at, corners in enumerate(corners_of(scene, batch.unknowns).transpose(1, 2, 0)):
            for route in checked(without, orders[batch.which[at]], tuple(corners)):
                missing = -float(room_of(asked, route).min()) if asked.keep_outs else 0.0
                if missing <= 0.0:
                    found.append(route)
                else:
                    batch.margin[at] += missing + 1e-6
                    touching.append(at)
        if not touching:
            break
        batch = shorter(scene, batch.of(np.array(touching)), 4)
    return found


def _spread(ordered: Sequence[Route]) -> tuple[Route, ...]:
    """The first of those that are one, not more than are read; the shortest of all is always among them."""
    kept: list[Route] = []
    for route in ordered:
        if not any(_alike(route, other) for other in kept):
            kept.append(route)
    shortest = min(kept, key=lambda route: route.length)
    shown = kept[:SHOWN]
    if not any(route is shortest for route in shown):
        shown[-1] = shortest
    return tuple(shown)


def _alike(one: Route, other: Route) -> bool:
    if len(one.corners) != len(other.corners):
        return False
    return all(float(np.linalg.norm(a - b)) < ALIKE for a, b in zip(one.corners, other.corners, strict=True))
