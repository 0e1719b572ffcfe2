"""What part of an output's variance each input causes."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def variance_by_input(samples: Floats, normal: Floats) -> Floats:
    """Variance that each input causes, from the draws alone.

    The output is expanded in z_i, (z_i² - 1)/√2 and z_i z_j, which are orthonormal for independent standard
    normal inputs, so that squared coefficients are parts of the variance. A coefficient within four standard
    errors of nothing is noise. Source: geometry (orthogonal expansion).
    """
    count = samples.size
    if count < 2:
        return np.zeros(len(normal))
    centred = samples - samples.mean()
    noise = 16.0 * float(centred.var()) / count
    pairs = (normal * centred) @ normal.T / count
    alone = np.stack([normal @ centred / count, np.diag(pairs) / math.sqrt(2.0)]) ** 2
    together = pairs**2
    np.fill_diagonal(together, 0.0)
    alone[alone <= noise] = 0.0
    together[together <= noise] = 0.0
    return np.asarray(alone.sum(axis=0) + together.sum(axis=0) / 2.0)


def ranked(moved: Sequence[str], parts: Floats) -> tuple[tuple[str, float], ...]:
    """(input, its fraction of the variance) of those that cause any, largest first. parts: variances."""
    total = float(parts.sum())
    if not total > 0.0:
        return ()
    shares = ((name, part / total) for name, part in zip(moved, parts.tolist(), strict=True) if part > 0.0)
    return tuple(sorted(shares, key=lambda share: -share[1]))
