"""Offering the starting set, and adding what is ticked of it in one go."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.work.usual.questions import facts_of
from server.core.work.usual.values import UsualPort, UsualTask
from server.core.work.usual.whole import (
    KIND_OF,
    PORTS,
    SUBSYSTEMS,
    TASKS,
    named_once,
    order_among,
    stretch_of,
    suiting,
)
from server.errors import BadInput, Refused
from server.features.builds import service as builds
from server.features.builds import store as build_store
from server.features.builds.tables import Subsystem
from server.features.ports.tables import Port
from server.features.starting import forms, page, store
from server.features.starting.store import There
from server.features.work.store import count_tasks
from server.features.work.tables import Dependency, Setback, Task, Wait


@dataclass(frozen=True, slots=True)
class Added:
    """How many rows were added; what the answers left out though it stood ticked, and put in though it did
    not: kinds and codes, a kind for all that its subsystem brings.
    """

    subsystems: int
    ports: int
    tasks: int
    left_out: tuple[str, ...] = ()
    put_in: tuple[str, ...] = ()


def start_page(
    session: Session,
    build_id: int,
    typed: Mapping[str, str],
    now: datetime,
    refused: Refused | None = None,
) -> page.StartPage:
    """typed: the answers, and the one kind asked for, as the address or the refused form brings them.

    Raises NotFound.
    """
    build = builds.build_face(session, build_id)
    there = store.there(session, build_id)
    ticked = None
    if isinstance(refused, BadInput):
        ticked = frozenset(name for name, value in refused.typed.items() if value == "on")
    return page.start_page(
        build=build,
        answers=forms.answers(typed),
        suits=forms.suited(typed) if refused else forms.answers(typed),
        of=forms.kind_asked(typed),
        kinds=frozenset(there.subsystems),
        aside=there.aside,
        codes=there.codes,
        ticked=ticked,
        today=now.date(),
        refused=refused,
    )


def add(session: Session, build_id: int, typed: Mapping[str, str]) -> Added:
    """Add what is ticked and not there yet; a line counts only with its subsystem.

    Where the answers are not those that the ticks were made for, they decide every line whose tick was not
    changed by hand. Raises NotFound, BadInput.
    """
    build = builds.build_face(session, build_id)
    facts = facts_of(forms.answers(typed), build.meter_place)
    there = store.there(session, build_id)
    by_form = forms.ticked(typed)
    stood = suiting(facts_of(forms.suited(typed), build.meter_place))
    offered = stood - there.codes - frozenset(there.subsystems)
    left_out = (by_form & offered) - suiting(facts)
    put_in = suiting(facts) - stood - by_form - there.codes - frozenset(there.subsystems)
    ticked = (by_form - left_out) | put_in
    new_kinds = [
        kind
        for kind in forms.KINDS
        if kind in ticked and kind not in there.subsystems and kind not in there.aside
    ]
    subsystems = {**there.subsystems, **_add_subsystems(session, build_id, new_kinds)}
    new = [
        code
        for code, kind in KIND_OF.items()
        if code in ticked and code not in there.codes and (not kind or kind in subsystems)
    ]
    new_ports = [
        _port(build_id, PORTS[code], subsystems[KIND_OF[code]], facts) for code in new if code in PORTS
    ]
    store.add_all(session, Port, new_ports)
    ports = store.numbers(session, build_id, Port)
    first = count_tasks(session, build_id)
    chosen = [code for code in TASKS if code in new]
    new_tasks = [
        _task(build_id, TASKS[code], subsystems.get(KIND_OF[code]), first + place)
        for place, code in enumerate(chosen)
    ]
    store.add_all(session, Task, new_tasks)
    tasks = store.numbers(session, build_id, Task)
    store.add_all(session, Dependency, _dependencies(session, build_id, there, tasks))
    waits = [row for code in chosen for row in _waits(code, tasks[code], ports, subsystems)]
    store.add_all(session, Wait, waits)
    setbacks = [row for code in chosen for row in _setbacks(TASKS[code], tasks[code])]
    store.add_all(session, Setback, setbacks)
    told = [tuple(named_once(ticks)) for ticks in (left_out, put_in)]
    return Added(len(new_kinds), len(new_ports), len(new_tasks), *told)


def _add_subsystems(session: Session, build_id: int, kinds: list[str]) -> dict[str, int]:
    taken = [row.letter for row in build_store.every_subsystem(session, build_id)]
    names = {group.kind: group.name for group in SUBSYSTEMS}
    free = builds.free_letters(taken)
    rows = [
        Subsystem(build_id=build_id, letter=letter, name=names[kind], kind=kind, position=len(taken) + place)
        for place, (kind, letter) in enumerate(zip(kinds, free, strict=False))
    ]
    store.add_all(session, Subsystem, rows)
    stand = build_store.subsystems(session, build_id) if rows else []
    return {row.kind: row.key for row in reversed(stand)}


def _port(build_id: int, usual: UsualPort, subsystem_id: int, facts: frozenset[str]) -> Port:
    return Port(
        build_id=build_id,
        subsystem_id=subsystem_id,
        name=usual.name,
        role=usual.role,
        shape=usual.shape,
        medium=usual.medium,
        stretch=stretch_of(usual, facts),
        end_form=usual.end_form,
        frame=usual.frame,
        note=usual.note,
        from_set=usual.code,
    )


def _task(build_id: int, usual: UsualTask, subsystem_id: int | None, position: int) -> Task:
    low, likely, high = usual.times
    return Task(
        build_id=build_id,
        subsystem_id=subsystem_id,
        title=usual.title,
        minutes_low=low,
        minutes_likely=likely,
        minutes_high=high,
        place=usual.place,
        car_state=usual.car_state,
        hands=usual.hands,
        helper_skill=usual.helper_skill,
        hot_work=usual.hot_work,
        splits=usual.splits,
        caution=usual.caution,
        carry=usual.carry,
        note=usual.note,
        position=position,
        from_set=usual.code,
    )


def _dependencies(
    session: Session, build_id: int, there: There, tasks: Mapping[str, int]
) -> list[Dependency]:
    """Ties of the new tasks to each other and, both ways, to those there already.

    A task there that is not done comes after a new one unless the builder's own order says otherwise.
    """
    new = frozenset(tasks) - frozenset(there.tasks)
    pairs = store.dependencies(session, build_id)
    found = []
    for code, before in order_among(frozenset(tasks)).items():
        for earlier, wait in before.items():
            if code in new or earlier in new:
                found.append((code, earlier, wait))
    rows = []
    for code, earlier, wait in sorted(found, key=lambda tie: tie[0] not in new):
        if code not in new and (code in there.done or tasks[code] in store.behind(pairs, tasks[earlier])):
            continue
        pairs.append((tasks[code], tasks[earlier]))
        rows.append(Dependency(task_id=tasks[code], after_task_id=tasks[earlier], least_wait=wait))
    return rows


def _waits(code: str, task_id: int, ports: Mapping[str, int], subsystems: Mapping[str, int]) -> list[Wait]:
    usual = TASKS[code]
    readings = [
        Wait(task_id=task_id, kind="reading", port_id=ports[port], dimension=dimension)
        for port, dimension in usual.readings
        if port in ports
    ]
    subsystem_id = subsystems.get(KIND_OF[code])
    return [
        *readings,
        *(Wait(task_id=task_id, kind=kind, subsystem_id=subsystem_id) for kind in usual.design),
    ]


def _setbacks(usual: UsualTask, task_id: int) -> list[Setback]:
    return [
        Setback(
            task_id=task_id,
            title=one.title,
            chance=one.chance,
            minutes_low=one.times[0],
            minutes_likely=one.times[1],
            minutes_high=one.times[2],
            carry=one.carry,
            caution=one.caution,
            note=one.note,
        )
        for one in usual.setbacks
    ]
