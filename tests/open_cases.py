"""The open scheduling cases of Kolisch and Sprecher (1997) as problems; see `reference/rcpsp/README.md`."""

import gzip
import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from server.core.work.plan.problem import Activity, Problem, Use, always
from server.core.work.plan.search import plan
from server.core.work.tasks import After
from tests.reference_values import FOLDER

SETS = ("j30", "j60")


@dataclass(frozen=True, slots=True)
class OpenCase:
    """One case: its critical path, and the best ends known of it, in periods."""

    name: str
    problem: Problem
    critical_path: int
    lower: int
    upper: int


@cache
def open_cases(name: str) -> tuple[OpenCase, ...]:
    """All 480 cases of a set."""
    with gzip.open(FOLDER / "rcpsp" / f"{name}.jsonl.gz", "rt", encoding="utf-8") as lines:
        return tuple(_case(json.loads(line)) for line in lines)


def _case(entry: dict[str, Any]) -> OpenCase:
    before: list[list[int]] = [[] for _ in entry["durations"]]
    for place, later in enumerate(entry["successors"]):
        for one in later:
            before[one].append(place)
    activities = tuple(
        Activity(
            place,
            minutes,
            tuple(After(one) for one in before[place]),
            tuple(Use(f"R{at}", amount) for at, amount in enumerate(entry["demands"][place]) if amount),
        )
        for place, minutes in enumerate(entry["durations"])
    )
    resources = tuple(always(f"R{at}", amount) for at, amount in enumerate(entry["capacities"]))
    return OpenCase(
        entry["name"],
        Problem(activities, resources),
        entry["critical_path"],
        entry["lower"],
        entry["upper"],
    )


@dataclass(frozen=True, slots=True)
class Gaps:
    """What so many schedules a case reach: mean distances [%], cases as good as the best known."""

    over_best: float
    over_path: float
    as_good: int
    schedules: int


def gaps(cases: Sequence[OpenCase], passes: int, seed: int = 1) -> Gaps:
    """Plan every case; an end below what is proved fails here, naming the case."""
    over_best = over_path = 0.0
    as_good = schedules = 0
    for case in cases:
        found = plan(case.problem, passes, seed)
        assert found.makespan >= case.lower, f"{case.name} ends at {found.makespan}, below {case.lower}"
        assert found.passes <= passes, f"{case.name} took {found.passes} schedules"
        over_best += found.makespan / case.upper - 1
        over_path += found.makespan / case.critical_path - 1
        as_good += found.makespan <= case.upper
        schedules += found.passes
    share = 100 / len(cases)
    return Gaps(over_best * share, over_path * share, as_good, schedules)
