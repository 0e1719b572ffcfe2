"""Standard normal draws, a stream of its own for every input."""

import hashlib
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

Floats = NDArray[np.float64]


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


@lru_cache(maxsize=8)
def _joint(names: tuple[str, ...], seed: int, draws: int) -> Floats:
    """Kept for the few runs that are asked about again and again."""
    joint = np.stack([_stream(name, seed, draws) for name in names]) if names else np.empty((0, draws))
    joint.flags.writeable = False
    return joint
