"""When all is there that a piece of work uses."""

from collections.abc import Iterable, Sequence
from functools import lru_cache

from server.core.work.plan.problem import FOREVER, Resource, Use, Window


def reach(window: Window) -> tuple[int, int]:
    """A window's start and end [min]; what is there for ever has been there for ever."""
    if window.start <= 0 and window.end >= FOREVER:
        return -FOREVER, FOREVER
    return window.start, min(window.end, FOREVER)


def open_times(resources: Iterable[Resource], uses: Iterable[Use]) -> tuple[tuple[int, int], ...]:
    """The times in which all of this is there, by start; joined where they touch [min]. Source: geometry.

    >>> stint = Resource("builder", (Window(60, 180), Window(600, 720)))
    >>> open_times([stint, Resource("helper", (Window(120, 660),))], [Use("builder"), Use("helper")])
    ((120, 180), (600, 660))
    """
    return _open_times(tuple(resources), tuple(uses))


@lru_cache(maxsize=64)
def _open_times(resources: tuple[Resource, ...], uses: tuple[Use, ...]) -> tuple[tuple[int, int], ...]:
    """Remembered: each step of a plan and its forecast asks the same of the same problem."""
    by_id = {one.id: one for one in resources}
    shared: list[tuple[int, int]] = [(-FOREVER, FOREVER)]
    for use in uses:
        shared = _both(shared, _enough(by_id[use.resource].windows, use.amount))
    return tuple(shared)


def _both(some: Sequence[tuple[int, int]], others: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """The times that are among some and among others, each by start and apart."""
    shared: list[tuple[int, int]] = []
    at = beside = 0
    while at < len(some) and beside < len(others):
        (a, b), (c, d) = some[at], others[beside]
        if max(a, c) < min(b, d):
            shared.append((max(a, c), min(b, d)))
        if b < d:
            at += 1
        else:
            beside += 1
    return shared


def _enough(windows: Sequence[Window], amount: int) -> list[tuple[int, int]]:
    """The times in which there is so much, windows that overlap added up."""
    steps: dict[int, int] = {}
    for one in windows:
        start, end = reach(one)
        steps[start] = steps.get(start, 0) + one.amount
        steps[end] = steps.get(end, 0) - one.amount
    spans: list[tuple[int, int]] = []
    there, since = 0, None
    for time in sorted(steps):
        there += steps[time]
        if there >= amount and since is None:
            since = time
        elif there < amount and since is not None:
            spans.append((since, time))
            since = None
    return spans
