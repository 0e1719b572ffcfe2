"""Queries on builds and subsystems."""

import uuid
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, bindparam
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, func, or_, select, update

from server.core.units import System
from server.db import plain_rows
from server.errors import NotFound
from server.features.builds.tables import Build, Subsystem
from server.web.whose import Whose


@dataclass(frozen=True, slots=True)
class BuildFace:
    """A build as the other features see it."""

    id: int
    version: int
    name: str
    car: str
    system: System
    currency: str
    meter_place: str
    car_state: str
    stage: str
    revision: str
    budget_minor: int | None = None
    week_minor: int | None = None
    stamps: Mapping[str, str] = field(default_factory=dict, compare=False)

    def stamp_of(self, table: str) -> str:
        """Changes with every write to the build's rows in that table."""
        return self.stamps.get(table, self.revision)


@dataclass(frozen=True, slots=True)
class SubsystemFace:
    """A subsystem as the other features see it."""

    id: int
    version: int
    letter: str
    name: str
    kind: str
    removed: bool = False
    """Set aside."""


def new_revision() -> str:
    return uuid.uuid4().hex


def load_build(session: Session, build_id: int) -> Build:
    """Raises NotFound."""
    build = session.get(Build, build_id)
    if build is None:
        raise NotFound("There is no such build.")
    return build


FACES = select_columns(*(getattr(Build, one.name) for one in fields(BuildFace)))
FACE = FACES.where(col(Build.id) == bindparam("build"))


def face(session: Session, build_id: int) -> BuildFace:
    """Raises NotFound."""
    rows = plain_rows(session, FACE, build=build_id)
    if not rows:
        raise NotFound("There is no such build.")
    return _face(rows[0])


def all_builds(session: Session, whose: Whose | None) -> list[BuildFace]:
    """Those of one builder, or with None of all; the newest first."""
    query = FACES.order_by(col(Build.created_at).desc(), col(Build.id).desc())
    if whose is not None:
        query = query.where(col(Build.builder_id) == whose.builder_id)
    return [_face(row) for row in plain_rows(session, query)]


def _face(row: Any) -> BuildFace:
    return BuildFace(**{**row._mapping, "system": System(row.system)})


def is_of(session: Session, build_id: int, whose: Whose) -> bool:
    """Whether a build is there and is this builder's."""
    wanted = select(Build.id).where(Build.id == build_id, Build.builder_id == whose.builder_id)
    return session.exec(wanted).first() is not None


def add_build(session: Session, build: Build) -> Build:
    session.add(build)
    session.flush()
    return build


def touch(session: Session, build_id: int) -> None:
    """Mark that anything in the build may have changed."""
    session.exec(update(Build).where(col(Build.id) == build_id).values(revision=new_revision(), stamps={}))


def touch_tables(session: Session, build_id: int, tables: Collection[str]) -> None:
    """Mark that the build's rows in these tables changed.

    The row is locked before its stamps are read: two who write at once must not undo each other's.
    """
    connection, build = session.connection(), {"build": build_id}
    stamps, stamp = connection.execute(STAMPS, build).scalar_one(), new_revision()
    changed = {**stamps, **dict.fromkeys(sorted(tables), stamp)}
    connection.execute(STAMP, {**build, "stamps": changed})


STAMPS = select(Build.stamps).where(col(Build.id) == bindparam("build")).with_for_update()
STAMP = update(Build).where(col(Build.id) == bindparam("build")).values(stamps=bindparam("stamps"))


def edit_build(session: Session, build_id: int, version: int, values: dict[str, object]) -> bool:
    """Change a build made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Build)
        .where(col(Build.id) == build_id, col(Build.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def subsystem_face(row: Subsystem) -> SubsystemFace:
    return SubsystemFace(row.key, row.version, row.letter, row.name, row.kind, row.removed_at is not None)


def subsystems(session: Session, build_id: int) -> list[Subsystem]:
    """Those of a build by letter, without those that were set aside."""
    return [row for row in every_subsystem(session, build_id) if row.removed_at is None]


def every_subsystem(session: Session, build_id: int) -> list[Subsystem]:
    """The same, with those that were set aside."""
    return list(session.exec(SUBSYSTEMS, params={"build": build_id}))


SUBSYSTEMS = (
    select(Subsystem)
    .where(col(Subsystem.build_id) == bindparam("build"))
    .order_by(func.length(Subsystem.letter), col(Subsystem.letter))
)


def stands(subsystem_id: Any) -> ColumnElement[bool]:
    """For the queries of others: that a row's subsystem, if it has one, was not set aside."""
    aside = select(Subsystem.id).where(col(Subsystem.removed_at).is_not(None))
    return or_(col(subsystem_id).is_(None), col(subsystem_id).not_in(aside))


def load_subsystem(session: Session, build_id: int, subsystem_id: int) -> Subsystem:
    """Raises NotFound."""
    row = session.get(Subsystem, subsystem_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such subsystem in this build.")
    return row


def add_subsystem(session: Session, row: Subsystem) -> Subsystem:
    session.add(row)
    session.flush()
    return row


def edit_subsystem(session: Session, subsystem_id: int, version: int, values: dict[str, object]) -> bool:
    """Change a subsystem made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Subsystem)
        .where(col(Subsystem.id) == subsystem_id, col(Subsystem.version) == version)
        .values(version=version + 1, **values)
    )
    session.expire_all()
    return bool(result.rowcount)


def set_removed(session: Session, row: Subsystem, at: datetime | None) -> None:
    """Set a subsystem aside at a moment, or with None put it back."""
    row.removed_at = at
    session.add(row)
    session.flush()
