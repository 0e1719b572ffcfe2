"""Types the tasks in, with what comes first, what they need and wait for, and how far they got."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime, timedelta

from seed_demo.hand import Hand, typed
from seed_demo.job import Job, MayFail
from seed_demo.jobs_begun import JOBS_BEGUN
from seed_demo.jobs_of_runs import JOBS_OF_RUNS
from seed_demo.jobs_to_first_drive import JOBS_TO_FIRST_DRIVE
from server.core.work.tasks import TaskState
from server.features.builds.service import subsystem_faces
from server.features.ports.service import port_facts
from server.features.setbacks import service as setbacks
from server.features.starting.store import add_all
from server.features.tasks import forms as task_forms
from server.features.tasks import service as tasks
from server.features.work import service as work
from server.features.work import store
from server.features.work.tables import Dependency, Need, Setback, Task, Wait

TOOK = (1.2, 0.9, 1.5)
"""Shares of the likely time that tasks of one evening took."""
JOBS = (*JOBS_BEGUN, *JOBS_OF_RUNS, *JOBS_TO_FIRST_DRIVE)


def plan(hand: Hand) -> None:
    """Every task in the order of the list; each may only come after one that stands before it there.

    What ties them is stored many rows at once, as the starting set's is: one by one, every tie would be
    weighed against all the others.
    """
    for position, job in enumerate(JOBS):
        _add(hand, position, job)
    _tie(hand)
    for position, job in enumerate(JOBS):
        _move_on(hand, position, job)


def _add(hand: Hand, position: int, job: Job) -> None:
    fields = {"title": job.title, "likely": job.likely, "low": job.low, "high": job.high, "place": job.place}
    if job.subsystem:
        fields["subsystem_id"] = str(hand.subsystems[job.subsystem])
    settings = {"version": "1", "splits": "on", **fields, **job.settings}
    form = task_forms.task_edit(settings, list(hand.subsystems.values())).form
    row = Task(build_id=hand.build_id, position=position, **asdict(form))
    hand.tasks[job.key] = store.add(hand.session, row)


def _tie(hand: Hand) -> None:
    """What each task comes after, what it needs and waits for, and who must be there."""
    offered = tasks.waits_offered(
        port_facts(hand.session, hand.build_id), subsystem_faces(hand.session, hand.build_id)
    )
    add_all(hand.session, Dependency, [row for job in JOBS for row in _after(hand, job)])
    add_all(hand.session, Need, [row for job in JOBS for row in _needs(hand, job)])
    add_all(hand.session, Wait, [row for job in JOBS for row in _waits(hand, job, offered)])
    hold = typed(kind="helper", reason="the fabricator who welds", until=hand.day(hand.visit_in))
    for job in JOBS:
        if job.for_the_visit:
            tasks.add_hold(hand.session, hand.build_id, hand.tasks[job.key], hold, hand.moment(-10))


def _after(hand: Hand, job: Job) -> list[Dependency]:
    before = list(hand.tasks.values())[: list(hand.tasks).index(job.key)]
    forms = [
        task_forms.after_form(
            typed(after_task_id=str(hand.tasks[key]), least_wait=job.least_wait.get(key, "")), before
        )
        for key in job.after
    ]
    return [Dependency(task_id=hand.tasks[job.key], **asdict(form)) for form in forms]


def _needs(hand: Hand, job: Job) -> list[Need]:
    parts = list(hand.parts.values())
    forms = [
        task_forms.need_form(typed(part_id=str(hand.parts[part]), quantity=str(quantity)), parts)
        for part, quantity in job.needs.items()
    ]
    return [Need(task_id=hand.tasks[job.key], **asdict(form)) for form in forms]


def _waits(hand: Hand, job: Job, offered: Sequence[task_forms.WaitForm]) -> list[Wait]:
    forms = [task_forms.wait_form(typed(waits_for=code), offered) for code in _codes(hand, job)]
    return [Wait(task_id=hand.tasks[job.key], **asdict(form)) for form in forms]


def _codes(hand: Hand, job: Job) -> list[str]:
    """What the task waits for, as the list on its sheet offers it."""
    readings = [
        task_forms.WaitForm("reading", port_id=hand.ports[port], dimension=dimension)
        for port, dimension in job.readings
    ]
    decisions = [
        task_forms.WaitForm("decision", subsystem_id=hand.subsystems[name]) for name in job.decisions
    ]
    checks = [task_forms.WaitForm("checks", subsystem_id=hand.subsystems[name]) for name in job.checks]
    pieces = [task_forms.WaitForm(stage, subsystem_id=hand.subsystems[name]) for stage, name in job.pieces]
    return [wait.code for wait in (*readings, *decisions, *checks, *pieces)]


def _move_on(hand: Hand, position: int, job: Job) -> None:
    number = hand.tasks[job.key]
    if job.begun is not None:
        work.set_state(
            hand.session, hand.build_id, number, TaskState.IN_HAND, hand.moment(job.begun, "19:00")
        )
    if job.done is not None:
        work.set_state(hand.session, hand.build_id, number, TaskState.DONE, _ended(hand, position, job))
    for one in job.setbacks:
        _may_fail(hand, number, one)


def _ended(hand: Hand, position: int, job: Job) -> datetime:
    """What was done in one evening took about as long as was thought, some of it longer."""
    if job.begun != job.done:
        return hand.moment(job.done or 0, "21:30")
    likely = hand.session.get_one(Task, hand.tasks[job.key]).minutes_likely
    return hand.moment(job.done or 0, "19:00") + timedelta(minutes=likely * TOOK[position % len(TOOK)])


def _may_fail(hand: Hand, task_id: int, one: MayFail) -> None:
    """Something that may go wrong; where it did, the task that it brought and how far that got."""
    session, build_id = hand.session, hand.build_id
    fields = typed(title=one.title, chance=one.chance, likely=one.likely, high=one.high, note=one.note)
    setback_id = setbacks.add(session, build_id, task_id, fields)
    if one.happened is None:
        return
    at = hand.moment(one.happened, "20:40")
    setbacks.set_happened(session, build_id, task_id, setback_id, True, at, "builder")
    brought = session.get_one(Setback, setback_id).brought_task_id
    if one.done is not None and brought is not None:
        for clock, state in (("19:10", TaskState.IN_HAND), ("21:20", TaskState.DONE)):
            work.set_state(session, build_id, brought, state, hand.moment(one.done, clock))
