"""Pages of subsystems, and the acts on them."""

import re
from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.work.usual.whole import named_once
from server.errors import Refused
from server.features.builds import forms as build_forms
from server.features.builds import service as builds
from server.features.designing import service as designing
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.subsystems import page
from server.web.words import counted


def add_subsystem(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    return builds.add_subsystem(session, build_id, build_forms.subsystem_form(typed))


def edit_subsystem(session: Session, build_id: int, subsystem_id: int, typed: Mapping[str, str]) -> None:
    """Another name or kind. Raises NotFound, MissingVersion, BadInput, Stale."""
    edit = build_forms.subsystem_edit(typed)
    builds.edit_subsystem(session, build_id, subsystem_id, edit, typed)


ADDED = re.compile(r"([0-9]{1,4})-([0-9]{1,4})-([0-9]{1,4})")
NAMED = 4
"""So many lines are named that the answers left out or put in; the others are counted."""


def started(asked: Mapping[str, str]) -> page.Started | None:
    """What an address says of the starting set: `added`, as "18-41-132" (subsystems, ports, tasks); `out` and
    `in`, what the answers left out or put in. None where `added` can't be read.
    """
    told = ADDED.fullmatch(asked.get("added", ""))
    if told is None:
        return None
    nouns = ("subsystem", "port", "task")
    numbers = (counted(int(number), noun) for number, noun in zip(told.groups(), nouns, strict=True))
    return page.Started(*numbers, *(_named(asked.get(name, "")) for name in ("out", "in")))


def _named(ticks: str) -> str:
    names = list(named_once(ticks.split(",")).values())
    more = f" and {counted(len(names) - NAMED, 'more line')}" if len(names) > NAMED else ""
    return ", ".join(f"‘{name}’" for name in names[:NAMED]) + more


def subsystems_page(
    session: Session,
    build_id: int,
    now: datetime,
    refused: Refused | None = None,
    first: str = "",
    added: page.Started | None = None,
    wanted: str = "",
) -> page.SubsystemsPage:
    """first: how many were on the sheets before, as an address brings it; what can't be read counts as not
    given. added: what the starting set just brought. wanted: a kind, as an address brings it.

    Raises NotFound.
    """
    build = builds.build_face(session, build_id)
    around = designs.surroundings(session, build)
    return page.subsystems_page(
        build=build,
        standings=designs.standings(session, build),
        ports=around.ports,
        aside=[face for face in around.every_subsystem.values() if face.removed],
        first=int(first) if first.isascii() and first.isdigit() and len(first) < 7 else 0,
        started=added,
        kinds=build_forms.SUBSYSTEM_KINDS,
        wanted=wanted,
        today=now.date(),
        refused=refused,
    )


def subsystem_page(
    session: Session,
    build_id: int,
    subsystem_id: int,
    now: datetime,
    refused: Refused | None = None,
    editing: Refused | None = None,
) -> page.SubsystemPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    subsystem = builds.subsystem_face(session, build_id, subsystem_id)
    around = designs.surroundings(session, build)
    rows = design_store.rows_of(session, design_store.designs_of(session, build_id, subsystem_id))
    latest = next(reversed(rows.values()), None)
    return page.subsystem_page(
        build=build,
        subsystem=subsystem,
        kinds=build_forms.SUBSYSTEM_KINDS,
        designs=[
            (
                item.design,
                item.design.chosen_because,
                len(item.run.pieces),
                designs.answers_of(item, around),
            )
            for item in rows.values()
        ],
        designs_aside=designing.set_aside_designs(session, build_id, subsystem_id),
        ports=around.ports,
        last_ends=(latest.design.start_port_id, latest.design.end_port_id) if latest else (None, None),
        today=now.date(),
        refused=refused,
        editing=editing,
    )
