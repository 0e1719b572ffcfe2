"""What can be done about what may go wrong with a task: note it, change it, say that it happened."""

import re
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlmodel import Session

from server.core.work.tasks import TaskState
from server.errors import BadInput, FieldError, Stale
from server.features.builds.service import clashes
from server.features.builds.store import BuildFace
from server.features.setbacks import forms, page
from server.features.work import store
from server.features.work.service import book_of
from server.features.work.tables import Setback, Task
from server.web import urls
from server.web.view import Happening, News
from server.web.words import day_text, minutes_typed

SETBACK = re.compile(r"setback-([0-9]{1,9})")


def add(session: Session, build_id: int, task_id: int, typed: Mapping[str, str]) -> int:
    """One more thing that may go wrong with a task; the number of its row. Raises NotFound, BadInput."""
    store.load_task(session, build_id, task_id)
    return store.add(session, Setback(task_id=task_id, **asdict(forms.setback_form(typed))))


def edit(session: Session, build_id: int, task_id: int, setback_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale with both values of every field that differs."""
    store.load_task(session, build_id, task_id)
    stands = store.load_of_task(session, Setback, task_id, setback_id)
    wanted = forms.setback_edit(typed)
    values = asdict(wanted.form)
    if not store.edit_setback(session, setback_id, wanted.version, values):
        shown = _as_shown(values), _as_shown(stands.model_dump())
        raise Stale(clashes(page.LABELS, *shown), typed)
    session.expire(stands)


def _as_shown(values: Mapping[str, Any]) -> dict[str, object]:
    """A setback's values under the names and in the words of its form."""
    times = {name: minutes_typed(values[f"minutes_{name}"]) for name in ("low", "likely", "high")}
    return {**values, **times, "chance": page.percent(values["chance"])}


def set_aside(
    session: Session, build_id: int, task_id: int, setback_id: int, aside: bool, now: datetime
) -> str:
    """Let something no longer count as what may go wrong, or put it back; how the sheet tells it.

    Raises NotFound, and BadInput where it has happened.
    """
    store.load_task(session, build_id, task_id)
    setback = store.load_of_task(session, Setback, task_id, setback_id)
    if aside and setback.happened_at is not None:
        message = f"‘{setback.title}’ happened. Say first that it did not."
        raise BadInput((FieldError("act", message, "one that has not happened"),), {"act": ""})
    store.set_setback_removed(session, setback, now if aside else None)
    return f"setback-{setback_id}"


def set_happened(
    session: Session,
    build_id: int,
    task_id: int,
    setback_id: int,
    happened: bool,
    now: datetime,
    actor: str,
) -> str:
    """Note that something went wrong, or that it did not after all; how the sheet tells it.

    It brings a task of its own, ready at once, and everything that comes after this task comes after that one
    too. Taken back, that task is set aside. Raises NotFound, and BadInput for a task not begun.
    """
    task = store.load_task(session, build_id, task_id)
    setback = store.load_of_task(session, Setback, task_id, setback_id)
    told = f"setback-{setback_id}"
    if happened == (setback.happened_at is not None):
        return told
    if happened and task.state == TaskState.OPEN.value:
        message = f"‘{task.title}’ is not begun yet. Start it first."
        raise BadInput((FieldError("act", message, "a task that is in hand or done"),), {"act": ""})
    if happened:
        _bring(session, task, setback, now, actor)
    elif setback.brought_task_id is not None:
        brought = store.load_task(session, build_id, setback.brought_task_id)
        store.set_removed(session, brought, brought.removed_at or now)
    setback.happened_at = now if happened else None
    setback.removed_at = None
    store.add(session, setback)
    return told


def _bring(session: Session, task: Task, setback: Setback, now: datetime, actor: str) -> None:
    """The task that a setback brings: made the first time, put back when it was taken back before."""
    if setback.brought_task_id is None:
        brought = Task(
            build_id=task.build_id,
            subsystem_id=task.subsystem_id,
            title=setback.title,
            minutes_low=setback.minutes_low,
            minutes_likely=setback.minutes_likely,
            minutes_high=setback.minutes_high,
            place=task.place,
            car_state=task.car_state,
            carry=setback.carry,
            caution=setback.caution,
            note=f"Brought by ‘{task.title}’, {day_text(now.date())} {now:%H:%M}, noted by {actor}. "
            f"{setback.note}"[:500].strip(),
            position=task.position,
        )
        setback.brought_task_id = store.add(session, brought)
    else:
        store.set_removed(session, store.load_task(session, task.build_id, setback.brought_task_id), None)
    store.let_wait_too(session, task.key, setback.brought_task_id)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What went wrong, for the log, in one query."""
    return tuple(
        Happening(setback.happened_at, f"{task.title}: {setback.title}", urls.task(build_id, task.key))
        for task, setback in store.setbacks_happened(session, build_id)
        if setback.happened_at is not None
    )


def news_of(session: Session, build: BuildFace, told: str) -> News | None:
    """What a task's sheet begins with after such an act; `told` e.g. "setback-7"."""
    named = SETBACK.fullmatch(told)
    if named is None:
        return None
    setback_id = int(named[1])
    setback = next((one for one in book_of(session, build).rows.setbacks if one.id == setback_id), None)
    return None if setback is None else page.news_of(build, setback)
