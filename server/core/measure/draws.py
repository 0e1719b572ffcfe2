"""Standard normal draws, a stream of its own for every input."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import compress

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]


@lru_cache(maxsize=512)
def _stream(name: str, seed: int, draws: int) -> Floats:
    """Standard normal draws of one input, a stream of its own that depends on its name alone.

    One draw in each of `draws` equally likely slices, in an order of its own: a Latin hypercube (McKay,
    Beckman & Conover, Technometrics 21 (1979) 239), so that no noise comes from one input alone.
    """
    digest = hashlib.sha256(name.encode("utf-8")).digest()
    own = int.from_bytes(digest[:8], "big")
    rng = np.random.default_rng([seed, own])
    stream: Floats = ndtri((rng.permutation(draws) + rng.random(draws)) / draws)
    stream.flags.writeable = False
    return stream


def joint_draws(names: Sequence[str], seed: int, draws: int) -> Floats:
    """Standard normal draws of these inputs, shape (inputs, draws) [-], not to be changed.

    Source: `_stream`.
    """
    return _joint(tuple(names), seed, draws)


@lru_cache(maxsize=16)
def _joint(names: tuple[str, ...], seed: int, draws: int) -> Floats:
    """Kept for the few runs that are asked about again and again."""
    joint = _in_rows([_stream(name, seed, draws) for name in names], draws)
    joint.flags.writeable = False
    return joint


@lru_cache(maxsize=16)
def _first(names: tuple[str, ...], seed: int, draws: int, count: int) -> Floats:
    """As `_joint`, the first draws alone."""
    first = _in_rows([_stream(name, seed, draws)[:count] for name in names], count)
    first.flags.writeable = False
    return first


def _in_rows(streams: Sequence[Floats], draws: int) -> Floats:
    # Sooner put together end to end than row by row.
    return np.concatenate(streams).reshape(-1, draws) if streams else np.empty((0, draws))


@dataclass(frozen=True, slots=True)
class JointDraws:
    """Standard normal draws of some inputs [-], put together as far as they are asked for.

    Few outputs are drawn at all, and those rest on few of the inputs. Source: `joint_draws`.
    """

    names: tuple[str, ...]
    seed: int
    draws: int

    def first(self, count: int) -> Floats:
        """The first draws of every input, shape (inputs, count), not to be changed. Source: `_stream`."""
        return _first(self.names, self.seed, self.draws, count)

    def of(self, some: Marks) -> Floats:
        """All draws of the inputs marked, shape (those, draws). Source: `joint_draws`."""
        return joint_draws(tuple(compress(self.names, some)), self.seed, self.draws)

    def along(self, slopes: Floats) -> Floats:
        """Sums of them, shape (sums, draws): slopes of each for one doubt of each input, (sums, inputs)."""
        moving = (slopes != 0.0).any(axis=0)
        return np.asarray(slopes[:, moving] @ self.of(moving))
