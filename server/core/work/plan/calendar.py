"""When all is there that a piece of work uses."""

from collections.abc import Iterable, Sequence

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
    by_id = {one.id: one for one in resources}
    shared: list[tuple[int, int]] = [(-FOREVER, FOREVER)]
    for use in uses:
        spans = _enough(by_id[use.resource].windows, use.amount)
        shared = [(max(a, c), min(b, d)) for a, b in shared for c, d in spans if max(a, c) < min(b, d)]
    return tuple(shared)


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
