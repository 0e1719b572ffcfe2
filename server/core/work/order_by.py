"""The last day on which each part must be ordered, so that what needs it can start as planned."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from server.core.work.hours import later
from server.core.work.plan.schedule import Schedule
from server.core.work.to_plan import UNKNOWN_LEAD, USABLE_FROM, Work, is_to_order


@dataclass(frozen=True, slots=True)
class OrderBy:
    """A part that somebody must order.

    day: the last day for that; here_by: the day on which it must have come; task_id, starts: the first work
    of the plan that needs it, and the aware moment at which that starts; days: what the post takes [days];
    told: an offer says so, otherwise it is assumed.
    """

    part_id: int
    what: str
    day: date
    here_by: date
    task_id: int
    starts: datetime
    days: int
    told: bool


def order_days(work: Work, schedule: Schedule) -> tuple[OrderBy, ...]:
    """Each part that is neither here nor ordered, once, the soonest day first.

    The day on which the first work that needs it starts, or the day before where that is earlier than what
    comes by post can be used, less the days that the post takes. The plan counts a part as ordered today, so
    no day lies before today. What only work without a place needs has no day. Source: definition.
    """
    placed, found = schedule.by_id(), dict[int, OrderBy]()
    for task in work.tasks:
        if task.id not in placed:
            continue
        for hold in work.standings[task.id].holds:
            if is_to_order(hold) and hold.subject_id is not None:
                starts = later(work.now, placed[task.id].start)
                one = _of(work, hold.subject_id, hold.what, task.id, starts)
                stands = found.get(one.part_id, one)
                found[one.part_id] = min(stands, one, key=lambda each: (each.starts, each.task_id))
    return tuple(sorted(found.values(), key=lambda one: (one.day, one.starts, one.part_id)))


def _of(work: Work, part_id: int, what: str, task_id: int, starts: datetime) -> OrderBy:
    days = work.lead_days.get(part_id, UNKNOWN_LEAD)
    that_evening = starts.hour * 60 + starts.minute >= USABLE_FROM
    here_by = starts.date() - timedelta(days=0 if that_evening else 1)
    day = max(here_by - timedelta(days=days), work.now.date())
    return OrderBy(part_id, what, day, here_by, task_id, starts, days, part_id in work.lead_days)
