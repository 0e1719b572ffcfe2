"""The chosen order replayed with other times, many draws at once."""

from collections.abc import Mapping, Set
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.core.work.forecast.chosen import Chosen

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Replayed:
    """An order gone through. finishes, handed_on: of each step in each draw, without and with what passes
    behind it [min]."""

    order: Chosen
    finishes: tuple[Floats, ...]
    handed_on: tuple[Floats, ...]

    def by_id(self) -> Mapping[int, Floats]:
        """Finishes by id of the work [min]."""
        pairs = zip(self.order.steps, self.finishes, strict=True)
        return {step.id: finish for step, finish in pairs if step.id is not None}


def replayed(
    order: Chosen,
    draws: int,
    minutes: Mapping[int, Floats],
    releases: Mapping[int, Floats],
    waits: Mapping[int, Floats],
    before: Replayed | None = None,
    changed: Set[int] = frozenset(),
) -> Replayed:
    """The order gone through; infinite finishes where the windows have no room.

    minutes: by id, how long the work takes in each draw [min], as planned where nothing is said. releases: by
    id, the earliest start in each draw [min], in place of the plan's. waits: by id, what passes behind the
    work before anything goes on that waits for it [min]. before: the same order gone through, from which only
    the work in `changed` differs: what does not wait for it is not gone through again. Source: the longest
    path through `order`, `Calendar.push`.
    """
    finishes: list[Floats] = []
    handed_on: list[Floats] = []
    moved: list[bool] = []
    for place, step in enumerate(order.steps):
        own = -1 if step.id is None else step.id
        moved.append(before is None or own in changed or any(moved[at] for at, _ in step.waits_for))
        if before is not None and not moved[place]:
            finishes.append(before.finishes[place])
            handed_on.append(before.handed_on[place])
            continue
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
    return Replayed(order, tuple(finishes), tuple(handed_on))
