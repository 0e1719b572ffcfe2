"""The chosen order replayed with other times, many draws at once."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from server.core.work.forecast.chosen import Chosen

Floats = NDArray[np.float64]


def replayed(
    order: Chosen,
    draws: int,
    minutes: Mapping[int, Floats],
    releases: Mapping[int, Floats],
    waits: Mapping[int, Floats],
) -> Mapping[int, Floats]:
    """Finishes by id [min], an array of so many draws each; infinite where the windows have no room.

    minutes: by id, how long the work takes in each draw [min], as planned where nothing is said. releases: by
    id, the earliest start in each draw [min], in place of the plan's. waits: by id, what passes behind the
    work before anything goes on that waits for it [min]. Source: the longest path through `order`,
    `Calendar.push`.
    """
    finishes: list[Floats] = []
    handed_on: list[Floats] = []
    found: dict[int, Floats] = {}
    for step in order.steps:
        own = -1 if step.id is None else step.id
        ready = np.full(draws, float(step.floor))
        np.maximum(ready, releases.get(own, float(step.not_before)), out=ready)
        for at, wait in step.waits_for:
            np.maximum(ready, handed_on[at] + wait, out=ready)
        length = minutes.get(own)
        if length is None:
            length = np.full(draws, float(step.minutes))
        finish = step.calendar.push(ready, length)[1]
        finishes.append(finish)
        handed_on.append(finish + waits[own] if own in waits else finish)
        if step.id is not None:
            found[step.id] = finish
    return found
