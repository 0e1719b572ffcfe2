"""A plan in which something is better than it was: made so that supposing it never makes the odds worse.

Who gets one more day, or a parcel sooner, may leave that unused, so no date need be later than before. A plan
made anew may be tighter all the same, and an order of work that is kept may be caught by the anomalies that
more of something brings (R. L. Graham, Bounds on multiprocessing timing anomalies, SIAM Journal on Applied
Mathematics 17 (1969) 416).
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf

from server.core.work.forecast.foresee import Forecast
from server.core.work.plan.problem import Problem
from server.core.work.plan.schedule import Schedule
from server.core.work.plan.search import plan, replay


@dataclass(frozen=True, slots=True)
class Supposed:
    """A plan and when its goal may really be finished; none where the goal has no place."""

    schedule: Schedule
    foreseen: Forecast | None


def supposed(
    problem: Problem,
    passes: int,
    before: Supposed,
    foresee: Callable[[Schedule], Forecast | None],
) -> Supposed:
    """The best plan of a problem that asks no more and offers no less than the one before.

    before: the plan as it stands; foresee: the forecast of a plan of this problem. Tried are a plan made anew
    and the order of work that stands; each counts only where neither its plan nor its 50 % and 80 % dates are
    later than before, else all stays as it is. Source: definition.
    """
    made = plan(problem, passes)
    tried = [made, replay(problem, _in_full(before.schedule.order, made))]
    most = len(before.schedule.placed)
    ways = [Supposed(one, foresee(one)) for one in tried if len(one.placed) >= most]
    none_later = [one for one in ways if _no_later(one, before)]
    return min((*none_later, before), key=_dates)


def _in_full(order: Iterable[int], made: Schedule) -> tuple[int, ...]:
    """The order that stands, and behind it what had no place in it and has one now."""
    return tuple(dict.fromkeys((*order, *made.order)))


def _dates(one: Supposed) -> tuple[float, float, float]:
    """The 80 % date, the 50 % date and the plan's [min]; infinite where there is none."""
    if one.foreseen is None:
        return inf, inf, inf
    safe, likely = (inf if at is None else at for at in (one.foreseen.safe, one.foreseen.likely))
    return safe, likely, one.foreseen.planned


def _no_later(one: Supposed, before: Supposed) -> bool:
    return all(then <= was for then, was in zip(_dates(one), _dates(before), strict=True))
