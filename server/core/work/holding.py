"""What each hold that tasks come down to holds up."""

from collections.abc import Iterable, Mapping

from server.core.again import Again
from server.core.work.holds import HoldKind
from server.core.work.standing import Standing, Word
from server.core.work.tasks import TaskPlan

Holding = Mapping[tuple[HoldKind, int], tuple[str, ...]]
"""Titles of the held tasks by what they come down to: kind and number of a part, port ..."""
Titled = tuple[str, Standing]
"""The title of a task, and how it stands."""
TOGETHER = 32
"""So many tasks, one after the other, are looked at again as soon as one of them stands otherwise."""


def holding(
    tasks: Iterable[TaskPlan], standings: Mapping[int, Standing], again: Again | None = None
) -> Holding:
    """What each root holds, in the order of the tasks. again: what the last making left.

    Source: definition.
    """
    titled = [(task.title, standings[task.id]) for task in tasks]
    groups = {start: tuple(titled[start : start + TOGETHER]) for start in range(0, len(titled), TOGETHER)}
    found: dict[tuple[HoldKind, int], tuple[str, ...]] = {}
    for held in (again or Again()).each("held by roots", groups, _held).values():
        for root, titles in held.items():
            found[root] = (*found.get(root, ()), *titles)
    return found


def _held(group: tuple[Titled, ...]) -> Holding:
    found: dict[tuple[HoldKind, int], list[str]] = {}
    for title, standing in group:
        for root in standing.comes_down_to if standing.word is Word.HELD else ():
            found.setdefault(root, []).append(title)
    return {root: tuple(titles) for root, titles in found.items()}
