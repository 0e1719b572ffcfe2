"""The schedule as a sum: published networks, shared resources, open cases, and what is refused by name."""

import json
from itertools import pairwise
from typing import Any

import pytest

from tests.asking import Browser
from tests.asking_sums import GOOD, ask, refusal, send
from tests.open_cases import OpenCase, open_cases
from tests.reference_values import Check, load

BUILDER = {"builder": 1}


def tasks_of(check: Check) -> list[dict[str, Any]]:
    return [
        {"name": name, "hours": hours, "after": list(earlier)}
        for name, hours, earlier in check.inputs["activities"]
    ]


@pytest.mark.parametrize("check", load("network"), ids=str)
def test_a_published_network_without_resources_ends_on_its_critical_path(
    bench: Browser, check: Check
) -> None:
    found = ask(bench, "schedule", {"tasks": tasks_of(check), "iterations": 10, "seed": 1})
    assert found["makespan"] == found["lower_bound"] == check.inputs["end"]
    assert found["critical"] == check.inputs["critical"]
    assert found["float"] == {row[0]: row[5] for row in check.expected}
    assert found["starts"] == {row[0]: row[1] for row in check.expected}
    assert found["finishes"] == {row[0]: row[2] for row in check.expected}


@pytest.mark.parametrize("check", load("network"), ids=str)
def test_one_pair_of_hands_takes_the_sum_of_all_hours(bench: Browser, check: Check) -> None:
    tasks = [task | {"uses": BUILDER} for task in tasks_of(check)]
    asked = {"tasks": tasks, "resources": BUILDER, "iterations": 20, "seed": 1}
    found = ask(bench, "schedule", asked)
    total = sum(task["hours"] for task in tasks)
    assert found["makespan"] == found["lower_bound"] == total
    assert len(found["critical"]) == len(tasks)


def body_of(case: OpenCase) -> dict[str, Any]:
    return {
        "tasks": [
            {
                "name": str(one.id),
                "hours": one.minutes,
                "after": [str(link.task_id) for link in one.after],
                "uses": {use.resource: use.amount for use in one.uses},
            }
            for one in case.problem.activities
        ],
        "resources": {one.id: one.most for one in case.problem.resources},
        "iterations": 300,
        "seed": 3,
    }


@pytest.mark.parametrize("case", open_cases("j30")[::96], ids=lambda case: case.name)
def test_an_open_case_is_answered_near_its_best_with_a_chain_that_holds(
    bench: Browser, case: OpenCase
) -> None:
    asked = body_of(case)
    found = ask(bench, "schedule", asked)
    assert case.lower <= found["makespan"] <= 1.06 * case.upper
    assert case.critical_path <= found["lower_bound"] <= case.upper
    assert ask(bench, "schedule", asked) == found
    chain = found["critical"]
    assert found["finishes"][chain[-1]] == found["makespan"]
    assert found["starts"][chain[0]] == 0
    for first, second in pairwise(chain):
        assert found["finishes"][first] == found["starts"][second]


def test_three_estimates_are_planned_at_their_mean_in_whole_minutes(bench: Browser) -> None:
    found = ask(bench, "schedule", GOOD["schedule"])
    assert found["finishes"]["cut"] - found["starts"]["cut"] == 3.0
    odd = {"name": "odd", "hours_low": 0, "hours_likely": 0.1, "hours_high": 0.12}
    rounded = ask(bench, "schedule", {"tasks": [odd]})
    assert rounded["makespan"] == pytest.approx(5 / 60)
    assert rounded["notes"] == ["Planned in whole minutes: odd."]
    assert found["notes"] == []


@pytest.mark.parametrize(
    ("tasks", "words"),
    [
        ([{"name": "a", "after": ["b"]}, {"name": "b", "after": ["a"]}], "These wait for each other: a, b."),
        ([{"name": "a"}, {"name": "a"}], "There are two tasks a."),
        ([{"name": "a", "after": ["z"]}], "a comes after z, and there is no such task."),
        ([{"name": "a", "uses": {"lift": 1}}], "a uses lift, and there is no such resource."),
        ([{"name": "a", "uses": {"builder": 3}}], "a uses 3 of builder, and there are 1."),
    ],
)
def test_what_does_not_fit_together_is_refused_by_name(
    bench: Browser, tasks: list[dict[str, Any]], words: str
) -> None:
    asked = {"tasks": [{"hours": 1} | task for task in tasks], "resources": BUILDER}
    errors = refusal(send(bench, "schedule", json.dumps(asked).encode()))
    assert words in [error["message"] for error in errors.values()]


def test_too_many_schedules_of_too_many_tasks_are_refused_with_the_limit(bench: Browser) -> None:
    tasks = [{"name": str(at), "hours": 1} for at in range(400)]
    asked = {"tasks": tasks, "iterations": 50_000, "seed": 1}
    error = refusal(send(bench, "schedule", json.dumps(asked).encode()))["iterations"]
    assert error["accepts"] == "up to 10000 for so many tasks"


def test_a_person_types_names_and_amounts(bench: Browser) -> None:
    typed = {
        "tasks[0].name": "strip",
        "tasks[0].hours": "90 min",
        "tasks[0].uses": "builder",
        "tasks[1].name": "weld",
        "tasks[1].hours": "2",
        "tasks[1].after": "strip",
        "tasks[1].uses": "builder: 1; lift 1",
        "resources": "builder 1, lift 2",
    }
    page = bench.get("/sums/schedule", params=typed, headers={"accept": "application/json"}).json()
    assert page["found"]["figures"][0]["value"]["text"] == "3.5 h"
    assert page["found"]["tables"][1]["rows"] == [["strip", "0", "1.5", "0"], ["weld", "1.5", "3.5", "0"]]
    refused = bench.get("/sums/schedule", params=typed | {"tasks[1].after": "nobody"})
    assert refused.status_code == 422
    assert "there is no such task" in refused.text
