"""The schedule of tasks that share resources: the same search that the plan of a build uses."""

from collections.abc import Iterator, Mapping, Sequence

from server.core.work.plan.bound import lower_bound
from server.core.work.plan.chain import chain
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.network import network
from server.core.work.plan.problem import Activity, Problem, Use, always, minutes_whole
from server.core.work.plan.search import plan
from server.core.work.tasks import After, find_cycle
from server.errors import BadInput, FieldError
from server.features.bench import service as bench
from server.features.plan_sums import forms, page

HOUR = 60
MOST_TOLD = 12
"""Tasks named in a note."""
_ESTIMATES = ("hours_low", "hours_likely", "hours_high")


def schedule(asked: forms.ScheduleIn) -> page.ScheduleOut:
    """When each task is worked on. Raises BadInput for names, estimates and uses that don't fit together."""
    errors = [*_names(asked.tasks), *_uses(asked), *_times(asked.tasks), *_size(asked)]
    if errors:
        raise BadInput(tuple(errors), {})
    problem = _problem(asked)
    _refuse_ring(problem, asked.tasks)
    found = plan(problem, asked.iterations, asked.seed)
    dates = network(problem.activities).dates
    by_id = found.by_id()
    name = {at: task.name for at, task in enumerate(asked.tasks)}
    return page.ScheduleOut(
        notes=_rounded(asked.tasks),
        makespan=found.makespan / HOUR,
        lower_bound=lower_bound(problem).end / HOUR,
        schedules=found.passes,
        critical=tuple(name[link.id] for link in chain(problem, found)),
        tasks=tuple(
            page.TaskOut(
                name=name[one.id],
                start=one.start / HOUR,
                finish=one.finish / HOUR,
                float=dates[one.id].float / HOUR,
            )
            for one in found.placed
        ),
        starts={name[at]: by_id[at].start / HOUR for at in name},
        finishes={name[at]: by_id[at].finish / HOUR for at in name},
        float={name[at]: dates[at].float / HOUR for at in name},
    )


def _problem(asked: forms.ScheduleIn) -> Problem:
    at = {task.name: place for place, task in enumerate(asked.tasks)}
    return Problem(
        tuple(
            Activity(
                place,
                minutes_whole(_minutes(task)),
                tuple(After(at[name]) for name in dict.fromkeys(task.after)),
                tuple(Use(name, amount) for name, amount in task.uses.items() if amount),
            )
            for place, task in enumerate(asked.tasks)
        ),
        tuple(always(name, amount) for name, amount in asked.resources.items()),
    )


def _minutes(task: forms.TaskIn) -> float:
    """What is planned for the task, as given [min]."""
    if task.hours is not None:
        return task.hours * HOUR
    low, likely, high = (getattr(task, field) for field in _ESTIMATES)
    return ThreePoint(low, likely, high).mean * HOUR


def _rounded(tasks: Sequence[forms.TaskIn]) -> tuple[str, ...]:
    """A note where whole minutes are not what was given."""
    names = [task.name for task in tasks if abs(minutes_whole(_minutes(task)) - _minutes(task)) > 1e-6]
    return (f"Planned in whole minutes: {', '.join(names[:MOST_TOLD])}.",) if names else ()


def _names(tasks: Sequence[forms.TaskIn]) -> Iterator[FieldError]:
    """Names that stand twice, and names of tasks that are not there."""
    known: set[str] = set()
    for at, task in enumerate(tasks):
        if task.name in known:
            yield FieldError(f"tasks[{at}].name", f"There are two tasks {task.name}.", "each name once")
        known.add(task.name)
    for at, task in enumerate(tasks):
        for place, name in enumerate(task.after):
            if name not in known:
                yield FieldError(
                    f"tasks[{at}].after[{place}]",
                    f"{task.name} comes after {name}, and there is no such task.",
                    "the name of another task",
                )


def _uses(asked: forms.ScheduleIn) -> Iterator[FieldError]:
    """Uses of what is not there, or of more than there is."""
    for at, task in enumerate(asked.tasks):
        for name, amount in task.uses.items():
            there = asked.resources.get(name)
            if there is None:
                message = f"{task.name} uses {name}, and there is no such resource."
                yield FieldError(f"tasks[{at}].uses", message, _resources(asked.resources))
            elif amount > there:
                message = f"{task.name} uses {amount} of {name}, and there are {there}."
                yield FieldError(f"tasks[{at}].uses", message, f"up to {there} of {name}")


def _resources(known: Mapping[str, int]) -> str:
    return f"any of {', '.join(sorted(known))}" if known else "nothing, while no resources are named"


def _times(tasks: Sequence[forms.TaskIn]) -> Iterator[FieldError]:
    """A task without its hours, with both forms of them, or with estimates that don't rise."""
    accepts = "hours, or hours_low, hours_likely and hours_high, rising"
    for at, task in enumerate(tasks):
        three = {field: getattr(task, field) for field in _ESTIMATES}
        given = [field for field, value in three.items() if value is not None]
        if task.hours is not None:
            for field in given:
                yield FieldError(f"tasks[{at}].{field}", f"{task.name} has its hours twice.", accepts)
        elif not given:
            yield FieldError(f"tasks[{at}].hours", f"{task.name} has no hours.", accepts)
        elif len(given) < len(three):
            for field in three.keys() - given:
                yield FieldError(f"tasks[{at}].{field}", f"{task.name} lacks one of its estimates.", accepts)
        else:
            fault = ThreePoint(*three.values()).fault
            if fault:
                field = "hours_likely" if three["hours_likely"] < three["hours_low"] else "hours_high"
                yield FieldError(f"tasks[{at}].{field}", f"{task.name}: {fault}", accepts)


def _size(asked: forms.ScheduleIn) -> Iterator[FieldError]:
    most = forms.MOST_WORK // len(asked.tasks)
    if asked.iterations > most:
        message = f"{asked.iterations} schedules of {len(asked.tasks)} tasks take too long."
        yield FieldError("iterations", message, f"up to {most} for so many tasks")


def _refuse_ring(problem: Problem, tasks: Sequence[forms.TaskIn]) -> None:
    ring = find_cycle(problem.activities)
    if ring is not None:
        message = f"These wait for each other: {', '.join(tasks[at].name for at in ring)}."
        field = f"tasks[{ring[0]}].after"
        raise BadInput((FieldError(field, message, "tasks that do not go round in a ring"),), {})


BENCH: Mapping[str, bench.Answering] = {"schedule": (forms.ScheduleIn, schedule)}
"""For each sum: what it is asked, and how it answers."""
