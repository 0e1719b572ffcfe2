"""The chance that many outputs of a joint normal law are nowhere below nothing."""

from collections.abc import Iterator
from functools import lru_cache
from math import asin, pi

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]

POINTS = 1024
"""Points of the lattice: a chance is off by less than a part in a thousand, root mean square."""
_NO_DOUBT = 1e-12
"""Part of the largest doubt under which an output has none."""
_TOLD = 1e-9
"""Part of its variance under which an output is told by those before it: rounding."""
_LEAST = 1e-15
"""A chance is counted this far from nothing and from one, so that its quantile is a number."""
_NEARLY_ONE = 0.9999
"""Correlation from which on one of two outputs all but tells the other [-]."""
_PLACES, _WEIGHTS = np.polynomial.legendre.leggauss(40)
"""Of the quadrature of two outputs: to a part in 10⁶ up to that correlation."""


def normal_chance(slopes: Floats, room: Floats) -> float:
    """Chance that `room + slopes @ z` is nowhere below zero, z standard normal: shape (outputs, inputs).

    Outputs that share no input are counted apart, their chances multiplied. Of those that do, each in turn is
    limited under those before it, and the chances are multiplied and averaged over a lattice of points; two
    have a plainer way. Source: A. Genz, Journal of Computational and Graphical Statistics 1 (1992) 141; of
    the lattice R. D. Richtmyer (1951); of two as `_both`.
    """
    doubts = np.sqrt((slopes**2).sum(axis=1))
    doubtful = doubts > _NO_DOUBT * doubts.max()
    if (room[~doubtful] < 0.0).any():
        return 0.0
    least = -room[doubtful] / doubts[doubtful]
    least_likely = float(ndtr(-least).min(initial=1.0))
    if len(least) <= 1 or least_likely < _LEAST:  # what others do can only make it less
        return least_likely
    unlikely_first = np.argsort(-least)
    least = least[unlikely_first]
    directions = slopes[doubtful][unlikely_first] / doubts[doubtful][unlikely_first, np.newaxis]
    shared = directions @ directions.T
    chance = 1.0
    for group in _groups(np.abs(shared) > _TOLD):
        chance *= _of_group(shared[np.ix_(group, group)], least[group])
    return chance


def _groups(related: NDArray[np.bool_]) -> Iterator[NDArray[np.intp]]:
    """Places of outputs that share something with one another, directly or through others of their group."""
    left = np.ones(len(related), dtype=np.bool_)
    while left.any():
        group = related[left.argmax()]
        while (wider := related[group].any(axis=0)).sum() > group.sum():
            group = wider
        yield np.flatnonzero(group)
        left &= ~group


def _of_group(shared: Floats, least: Floats) -> float:
    """Of outputs with such correlations. least: values, each in its own doubts."""
    if len(least) == 1:
        return float(ndtr(-least[0]))
    if len(least) == 2 and abs(shared[0, 1]) < _NEARLY_ONE:
        return _both(float(shared[0, 1]), *least.tolist())
    return _one_after_another(_triangle(shared), least)


def _both(shared: float, first: float, second: float) -> float:
    """Of two outputs: what they had if they shared nothing, and what rises with their correlation.

    shared: the correlation [-]. first, second: least values, each in its own doubts. Source: R. L. Plackett,
    Biometrika 41 (1954) 351 (from memory), by Gauss and Legendre's quadrature over the angle.
    """
    angle = asin(shared)
    sines = np.sin(0.5 * angle * (_PLACES + 1.0))
    rises = np.exp((first * second * sines - 0.5 * (first**2 + second**2)) / (1.0 - sines**2))
    return float(ndtr(-first) * ndtr(-second) + angle / (4.0 * pi) * (_WEIGHTS @ rises))


def _one_after_another(parts: Floats, least: Floats) -> float:
    """parts: of each output, by the variables drawn for it and those before. least: in its own doubts."""
    last = (parts.shape[1] - 1 - (parts[:, ::-1] != 0.0).argmax(axis=1)).tolist()
    drawn = sorted(set(last))
    found = np.zeros((len(parts), POINTS))
    chance = np.ones(POINTS)
    for at, spread in zip(drawn, _lattice(len(drawn)), strict=True):
        under: float | Floats = 0.0
        over: float | Floats = 1.0
        for row in (row for row, its in enumerate(last) if its == at):
            told = parts[row, :at] @ found[:at] if parts[row, :at].any() else 0.0
            limit = ndtr((least[row] - told) / parts[row, at])
            if parts[row, at] > 0.0:
                under = np.maximum(under, limit)
            else:
                over = np.minimum(over, limit)
        room = np.maximum(over - under, 0.0)
        chance = chance * room
        if chance.max() < _LEAST:  # what follows can only make it less
            break
        if parts[at + 1 :, at].any():  # or nothing after it rests on what is drawn here
            found[at] = ndtri(np.minimum(np.maximum(under + spread * room, _LEAST), 1.0 - _LEAST))
    return float(chance.mean())


def _triangle(shared: Floats) -> Floats:
    """Lower triangle L with L Lᵀ = shared, the correlations of outputs of which some may tell others.

    Source: definition, column by column.
    """
    rest, parts = shared.copy(), np.zeros_like(shared)
    for at in range(len(rest)):
        if rest[at, at] > _TOLD:
            parts[at:, at] = rest[at:, at] / np.sqrt(rest[at, at])
            rest -= parts[:, at, np.newaxis] * parts[:, at]
    return np.where(np.abs(parts) > _TOLD, parts, 0.0)


@lru_cache(maxsize=32)
def _lattice(count: int) -> Floats:
    """Points of the unit cube, shape (count, POINTS): multiples of roots of primes, shifted and folded."""
    primes: list[int] = []
    number = 2
    while len(primes) < count:
        if all(number % prime for prime in primes):
            primes.append(number)
        number += 1
    shifts = np.random.default_rng(1).random((count, 1))
    steps = np.sqrt(np.array(primes))[:, np.newaxis] * np.arange(POINTS) + shifts
    points: Floats = np.abs(2.0 * (steps % 1.0) - 1.0)
    points.flags.writeable = False
    return points
