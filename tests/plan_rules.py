"""What every plan must keep to, checked minute by minute from the problem alone; problems from a seed."""

from itertools import pairwise

import numpy as np

from server.core.work.forecast.foresee import DAY, Delivery, Doubts
from server.core.work.forecast.lead_time import LeadTime
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.problem import ANY, Activity, Car, Problem, Resource, Use, Window, always
from server.core.work.plan.schedule import Placed, Schedule
from server.core.work.tasks import ON_STANDS, ON_WHEELS, After


def broken(problem: Problem, schedule: Schedule) -> list[str]:
    """Every rule that a plan breaks, in words; nothing where it keeps to all."""
    by_id = problem.by_id()
    placed = schedule.by_id()
    everything = sorted([*placed, *(one.id for one in schedule.no_place)])
    faults = [] if everything == sorted(by_id) else [f"not everything once: {everything}"]
    for one in placed.values():
        faults += _time_faults(by_id[one.id], one)
        for link in by_id[one.id].after:
            first = placed.get(link.task_id)
            if first is None or one.start < first.finish + link.least_wait:
                faults.append(f"{one.id} starts before {link.task_id} is finished and waited for")
        faults += _pause_faults(problem, by_id[one.id], one)
    return [*faults, *_amount_faults(problem, schedule), *_car_faults(problem, schedule)]


def there(resource: Resource, minute: int) -> int:
    return sum(one.amount for one in resource.windows if one.start <= minute < one.end)


def _time_faults(asked: Activity, one: Placed) -> list[str]:
    faults = []
    if one.start < max(0, asked.not_before):
        faults.append(f"{one.id} starts too early")
    if sum(part.end - part.start for part in one.parts) != asked.minutes:
        faults.append(f"{one.id} is not worked on for {asked.minutes} minutes")
    if one.parts and (one.parts[0].start, one.parts[-1].end) != (one.start, one.finish):
        faults.append(f"{one.id} starts or ends elsewhere than its parts")
    if len(one.parts) > 1 and not asked.splits:
        faults.append(f"{one.id} is split")
    return faults


def _pause_faults(problem: Problem, asked: Activity, one: Placed) -> list[str]:
    """A pause only while something that it uses is away."""
    resources = {own.id: own for own in problem.resources}
    return [
        f"{one.id} pauses at {minute} for no reason"
        for first, second in pairwise(one.parts)
        for minute in range(first.end, second.start)
        if all(there(resources[use.resource], minute) >= use.amount for use in asked.uses)
    ]


def _amount_faults(problem: Problem, schedule: Schedule) -> list[str]:
    by_id = problem.by_id()
    used: dict[tuple[str, int], int] = {}
    works = [(by_id[one.id].uses, part.start, part.end) for one in schedule.placed for part in one.parts]
    if problem.car is not None:
        works += [(problem.car.uses, one.start, one.finish) for one in schedule.changes]
    for uses, start, end in works:
        for use in uses:
            for minute in range(start, end):
                used[use.resource, minute] = used.get((use.resource, minute), 0) + use.amount
    resources = {one.id: one for one in problem.resources}
    return [
        f"{amount} of {name} at {minute}"
        for (name, minute), amount in used.items()
        if amount > there(resources[name], minute)
    ]


def _car_faults(problem: Problem, schedule: Schedule) -> list[str]:
    """How the car stands, step by step: nobody works on it otherwise, nor while it is raised or lowered."""
    if problem.car is None:
        return []
    by_id = problem.by_id()
    needs = [
        (one.start, one.finish, by_id[one.id].car_state)
        for one in schedule.placed
        if by_id[one.id].car_state != ANY
    ]
    faults = []
    bounds = [(-1, -1, problem.car.stands), *((one.start, one.finish, one.to) for one in schedule.changes)]
    for at, (_, since, stands) in enumerate(bounds):
        until = bounds[at + 1][0] if at + 1 < len(bounds) else 10**9
        if until < since:
            faults.append(f"the car changes at {until}, before it stands {stands}")
    for start, finish, state in needs:
        fits = any(
            stands == state
            and since <= start
            and finish <= (bounds[at + 1][0] if at + 1 < len(bounds) else 10**9)
            for at, (_, since, stands) in enumerate(bounds)
        )
        if not fits:
            faults.append(f"work from {start} to {finish} needs the car {state}")
    return faults + [
        f"the change at {one.start} takes {one.finish - one.start}"
        for one in schedule.changes
        if one.finish - one.start != problem.car.minutes_to(one.to)
    ]


def drawn_problem(seed: int) -> Problem:
    """A small problem: waits, windows, work that may be split, deliveries, and a car now and then."""
    rng = np.random.default_rng([7, seed])

    def some(low: int, high: int) -> int:
        return int(rng.integers(low, high + 1))

    resources = tuple(
        always(f"R{at}", some(1, 4))
        if rng.random() < 0.4
        else Resource(f"R{at}", tuple(_drawn_windows(rng, some(2, 9))))
        for at in range(some(1, 3))
    )
    car = None
    if rng.random() < 0.5:
        stands = ON_STANDS if rng.random() < 0.3 else ON_WHEELS
        car = Car(stands, some(1, 4), some(0, 3), (Use("R0"),) if rng.random() < 0.8 else ())
    activities = []
    for at in range(1, some(3, 11)):
        uses = [
            Use(one.id, some(1, max(1, one.most + (rng.random() < 0.03))))
            for one in resources
            if rng.random() < 0.6
        ]
        earlier = [other for other in range(1, at) if rng.random() < 0.25]
        activities.append(
            Activity(
                id=at,
                minutes=some(0, 12),
                after=tuple(After(other, some(0, 9) if rng.random() < 0.3 else 0) for other in earlier),
                uses=tuple(uses),
                not_before=some(0, 60) if rng.random() < 0.2 else 0,
                splits=bool(rng.random() < 0.5),
                car_state=str(rng.choice([ANY, ANY, ON_STANDS, ON_WHEELS])),
            )
        )
    return Problem(tuple(activities), resources, car)


def _drawn_windows(rng: np.random.Generator, count: int) -> list[Window]:
    windows, at = [], 0
    for _ in range(count):
        at += int(rng.integers(0, 15))
        length = int(rng.integers(3, 30))
        windows.append(Window(at, at + length, int(rng.integers(1, 4))))
        at += int(rng.integers(length // 2, length + 1))
    return windows


def evenings_of_work(count: int) -> tuple[Problem, Doubts]:
    """So many tasks for one pair of hands in evenings, each after two earlier ones."""
    estimates = {at: ThreePoint(20, 40, 90) for at in range(count)}
    activities = tuple(
        Activity(
            at,
            45,
            tuple(After(other) for other in sorted({at - 1 - at % 3, at - 7}) if other >= 0),
            (Use("builder"),),
            splits=bool(at % 2),
        )
        for at in range(count)
    )
    evenings = tuple(Window(day * DAY, day * DAY + 180) for day in range(count))
    parcels = tuple(Delivery(at, (7 * at,), at * DAY, LeadTime(5.0, 0.4)) for at in range(count // 10))
    return Problem(activities, (Resource("builder", evenings), always("bench"))), Doubts(estimates, parcels)
