"""How the time that tasks really took improves later estimates."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from math import exp, log

from server.core.work.hours import minutes_between

PRIOR_TASKS = 5.0
"""The estimates as typed weigh as much as so many timed tasks; common practice, no source."""
LEAST_TIMED = 5
"""A task that was in hand for less was ticked, not timed [min]."""
MOST_IN_ONE_GO = 6 * 60
"""A go that is longer was not paused in time, so it is not known [min]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Pace:
    """How this builder's times compare with the estimates.

    tasks: how many were timed; observed: their typical ratio of actual to likely time [-]; factor: what later
    estimates are multiplied by [-].
    """

    tasks: int
    observed: float
    factor: float


def pace(timed: Iterable[tuple[float, float]]) -> Pace:
    """The pace from pairs of likely and actual time [min] of tasks that are done.

    The typical ratio is the geometric mean, so that twice and half as long weigh alike; its logarithm is
    drawn towards 0, a ratio of 1, by n / (n + `PRIOR_TASKS`). Source: mean of a normal distribution with a
    normal prior (Bayes' rule), the weight of the prior is common practice, no source.

    >>> round(pace([(30, 60)] * 5).factor, 3)
    1.414
    """
    ratios = [log(actual / likely) for likely, actual in timed if actual >= LEAST_TIMED and likely > 0]
    if not ratios:
        return Pace(0, 1.0, 1.0)
    mean = sum(ratios) / len(ratios)
    return Pace(len(ratios), exp(mean), exp(mean * len(ratios) / (len(ratios) + PRIOR_TASKS)))


def worked_after(worked: int | None, begun_at: datetime | None, ended_at: datetime) -> int | None:
    """Minutes that a task was in hand in all [min], once a go on it has ended.

    worked: before this go [min]. None: not known, as where this go or an earlier one was not paused in time.
    Source: definition.
    """
    if worked is None or begun_at is None:
        return None
    went = max(minutes_between(begun_at, ended_at), 0)
    return worked + went if went <= MOST_IN_ONE_GO else None
