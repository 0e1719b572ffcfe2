"""What the doubt engine asks: outputs in many draws of the inputs in doubt."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.core.measure.estimate import Estimate

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Question:
    """Outputs asked for in many draws.

    of: which of those that are propagated asks. offsets: of its inputs in doubt, in doubts of each, shape
    (draws, inputs). wanted: names of the outputs.
    """

    of: int
    offsets: Floats
    wanted: tuple[str, ...]


def drawn_of(doubtful: Mapping[str, Estimate], offsets: Floats) -> dict[str, Floats]:
    """The value of each input in every draw [SI]. doubtful: those in doubt. offsets: as `Question.offsets`.

    Source: definition.
    """
    sizes = np.array([(size.value, size.doubt) for size in doubtful.values()]).reshape(-1, 2)
    # In rows, so that each input's draws lie together.
    drawn = np.multiply(offsets.T, sizes[:, 1:], order="C")
    drawn += sizes[:, :1]
    return dict(zip(doubtful, drawn, strict=True))
