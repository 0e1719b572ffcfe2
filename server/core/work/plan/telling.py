"""A pass over places told as a schedule by ids, with the reason where work has no place."""

from collections.abc import Collection, Iterable, Mapping

from server.core.work.plan.bound import earliest_alone
from server.core.work.plan.calendar import open_times
from server.core.work.plan.generate import Pass, parts_of
from server.core.work.plan.indexed import Indexed
from server.core.work.plan.problem import FOREVER, Activity, Problem
from server.core.work.plan.schedule import CarChange, NoPlace, Part, Placed, Schedule


def told(problem: Problem, forth: Indexed, done: Pass, order: tuple[int, ...]) -> Schedule:
    """The schedule of a pass. order: the ids as they were passed over. Source: `generate`."""
    by_id = problem.by_id()
    placed, missing = [], []
    for place, at in enumerate(forth.ids):
        start, finish = done.starts[place], done.finishes[place]
        if finish >= FOREVER:
            missing.append(at)
        elif not by_id[at].minutes:
            placed.append(Placed(at, start, finish, ()))
        else:
            spans = forth.spans[place] or ((start, finish),)
            parts = parts_of(start, by_id[at].minutes, spans)
            placed.append(Placed(at, start, finish, tuple(Part(*part) for part in parts)))
    placed.sort(key=lambda one: (one.start, one.id))
    return Schedule(
        placed=tuple(placed),
        order=order,
        changes=tuple(
            CarChange(start, finish, forth.states[state])
            for start, finish, state in done.changes
            if finish < FOREVER
        ),
        no_place=without_place(problem, missing),
    )


def without_place(problem: Problem, missing: Iterable[int]) -> tuple[NoPlace, ...]:
    """Each of these ids with the reason why it has no place, in words. Source: geometry."""
    by_id = problem.by_id()
    ids = sorted(missing)
    lacking = frozenset(ids)
    most = {resource.id: resource.most for resource in problem.resources} if ids else {}
    return tuple(NoPlace(at, _why(problem, by_id[at], lacking, most)) for at in ids)


def _why(problem: Problem, one: Activity, missing: Collection[int], most: Mapping[str, int]) -> str:
    """Why a piece of work has no place, in words. most: of each resource that there ever is at once."""
    for use in one.uses:
        if not most[use.resource]:
            return f"Nothing says when there is {use.resource}."
        if use.amount > most[use.resource]:
            return (
                f"It needs {use.amount} of {use.resource}, and there is never more than {most[use.resource]}."
            )
    if any(link.task_id in missing for link in one.after):
        return "What it comes after has no place."
    spans = () if one.splits else open_times(problem.resources, one.uses)
    if not one.splits and earliest_alone(one, -FOREVER, spans)[1] >= FOREVER:
        longest = max((end - start for start, end in spans), default=0)
        return f"It takes {one.minutes} minutes in one go; all it uses is there for {longest} at the most."
    return "There is no time left for it in the windows given."
