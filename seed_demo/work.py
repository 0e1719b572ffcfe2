"""Types the tasks in, with what comes first, what they need and wait for, and how far they got."""

from seed_demo.hand import Hand, typed
from seed_demo.job import Job
from seed_demo.jobs_begun import JOBS_BEGUN
from seed_demo.jobs_of_runs import JOBS_OF_RUNS
from seed_demo.jobs_to_first_drive import JOBS_TO_FIRST_DRIVE
from server.core.work.tasks import TaskState
from server.features.tasks import forms as task_forms
from server.features.tasks import service as tasks
from server.features.work import service as work


def plan(hand: Hand) -> None:
    """Every task in the order of the list; each may only come after one that stands before it there."""
    for job in (*JOBS_BEGUN, *JOBS_OF_RUNS, *JOBS_TO_FIRST_DRIVE):
        _add(hand, job)
        _tie(hand, job)
        _move_on(hand, job)


def _add(hand: Hand, job: Job) -> None:
    fields = {"title": job.title, "likely": job.likely, "low": job.low, "high": job.high, "place": job.place}
    if job.subsystem:
        fields["subsystem_id"] = str(hand.subsystems[job.subsystem])
    task_id = work.add_task(hand.session, hand.build_id, fields)
    if job.settings:
        settings = {"version": "1", "splits": "on", **fields, **job.settings}
        tasks.edit_task(hand.session, hand.build_id, task_id, settings)
    hand.tasks[job.key] = task_id


def _tie(hand: Hand, job: Job) -> None:
    session, build_id, task_id = hand.session, hand.build_id, hand.tasks[job.key]
    for key in job.after:
        wait = job.least_wait.get(key, "")
        tasks.add_after(
            session, build_id, task_id, typed(after_task_id=str(hand.tasks[key]), least_wait=wait)
        )
    for part, quantity in job.needs.items():
        tasks.add_need(
            session, build_id, task_id, typed(part_id=str(hand.parts[part]), quantity=str(quantity))
        )
    for code in _codes(hand, job):
        tasks.add_wait(session, build_id, task_id, typed(waits_for=code))
    if job.for_the_visit:
        hold = typed(kind="helper", reason="the fabricator who welds", until=hand.day(hand.visit_in))
        tasks.add_hold(session, build_id, task_id, hold, hand.moment(-10))


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
    return [wait.code for wait in (*readings, *decisions, *checks)]


def _move_on(hand: Hand, job: Job) -> None:
    steps = ((job.begun, "19:00", TaskState.IN_HAND), (job.done, "21:30", TaskState.DONE))
    for day, at, state in steps:
        if day is not None:
            work.set_state(hand.session, hand.build_id, hand.tasks[job.key], state, hand.moment(day, at))
