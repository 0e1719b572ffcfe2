"""The critical path: earliest and latest dates and float, as if hands and hours had no end."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.core.work.plan.problem import Activity
from server.core.work.tasks import in_order


@dataclass(frozen=True, slots=True)
class Dates:
    """The earliest and latest dates of a piece of work [min], from the origin of the plan."""

    id: int
    early_start: int
    early_finish: int
    late_start: int
    late_finish: int

    @property
    def float(self) -> int:
        """How long it may be put off without putting off the end [min]."""
        return self.late_start - self.early_start


@dataclass(frozen=True, slots=True)
class Network:
    """Dates by id, in an order in which each stands behind what it comes after; end: when all is done [min].

    ring: ids that wait for each other, each before the next and the last before the first; where there is one
    there are no dates.
    """

    dates: Mapping[int, Dates]
    end: int
    ring: tuple[int, ...] = ()

    @property
    def critical(self) -> tuple[int, ...]:
        """The ids without float, by earliest start, then id."""
        tight = [one for one in self.dates.values() if one.float == 0]
        return tuple(one.id for one in sorted(tight, key=lambda one: (one.early_start, one.id)))


def network(activities: Sequence[Activity]) -> Network:
    """Earliest and latest dates [min] by a forward and a backward pass, waits and earliest starts heeded.

    Errors: ValueError where something comes after what is not among those given. Source: J. E. Kelley and M.
    R. Walker, Critical-path planning and scheduling, Proceedings of the Eastern Joint Computer Conference
    (1959) 160.

    >>> network([Activity(1, 30), Activity(2, 60)]).dates[1].float
    30
    """
    order, ring = in_order(activities)
    if ring:
        return Network({}, 0, ring)
    by_id = {one.id: one for one in activities}
    early: dict[int, int] = {}
    for at in order:
        one = by_id[at]
        arrivals = (early[link.task_id] + by_id[link.task_id].minutes + link.least_wait for link in one.after)
        early[at] = max((one.not_before, *arrivals))
    end = max((early[at] + by_id[at].minutes for at in order), default=0)
    late = dict.fromkeys(order, end)
    """Latest finishes."""
    for at in reversed(order):
        start = late[at] - by_id[at].minutes
        for link in by_id[at].after:
            late[link.task_id] = min(late[link.task_id], start - link.least_wait)
    return Network(
        {
            at: Dates(at, early[at], early[at] + by_id[at].minutes, late[at] - by_id[at].minutes, late[at])
            for at in order
        },
        end,
    )
