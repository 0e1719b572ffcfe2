"""Queries on designs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Integer, bindparam, cast, null, union_all
from sqlalchemy import select as sa_select
from sqlmodel import Session, col, select, update

from server.db import Row, plain_rows
from server.errors import NotFound
from server.features.builds.tables import Subsystem
from server.features.designs.tables import Concession, Design
from server.features.figures.tables import FigureConcession
from server.features.neighbours.tables import Neighbour
from server.features.runs import store as runs
from server.features.runs.store import RunRows

ONLY_ONE = "the only one so far"
"""Why the first design of a subsystem is the chosen one."""


@dataclass(frozen=True, slots=True)
class DesignRows:
    """A design with everything on it."""

    design: Design
    run: RunRows
    concessions: tuple[Concession, ...]
    neighbours: tuple[Neighbour, ...] = ()
    """Those set aside included."""

    def told(self) -> tuple[object, ...]:
        """All that they say, to compare with what they said another time."""
        run = self.run
        groups: tuple[Sequence[Row], ...] = (
            *((self.design,), run.pieces, run.removed, run.bungs, run.joints),
            *(self.concessions, self.neighbours),
        )
        return tuple(tuple(row.told() for row in rows) for rows in groups)


@dataclass(frozen=True, slots=True)
class ConcededOn:
    """One concession of a build. design_id: none where it is on the figures of a subsystem."""

    design_id: int | None
    subsystem_id: int
    name: str
    rule: str
    reason: str
    by: str
    at: datetime


def load_design(session: Session, build_id: int, design_id: int) -> Design:
    """Raises NotFound."""
    design = session.get(Design, design_id)
    if design is None or design.build_id != build_id:
        raise NotFound("There is no such design in this build.")
    return design


def check_design(session: Session, build_id: int, design_id: int) -> None:
    """Raises NotFound where this build has no such design."""
    if not plain_rows(session, OF_BUILD, build=build_id, design=design_id):
        raise NotFound("There is no such design in this build.")


OF_BUILD = select(Design.id).where(
    col(Design.id) == bindparam("design"), col(Design.build_id) == bindparam("build")
)


def designs_of(session: Session, build_id: int, subsystem_id: int | None = None) -> list[Design]:
    """The designs of a build or of one of its subsystems, without those that were set aside."""
    return [row for row in every_design(session, build_id, subsystem_id) if row.removed_at is None]


def every_design(session: Session, build_id: int, subsystem_id: int | None = None) -> list[Design]:
    """The same, with those that were set aside."""
    query = select(Design).where(Design.build_id == build_id).order_by(col(Design.id))
    if subsystem_id is not None:
        query = query.where(Design.subsystem_id == subsystem_id)
    return list(session.exec(query))


def copied_from(session: Session, design: Design) -> Design | None:
    """The design that another was started from, if it was."""
    return session.get(Design, design.copied_from_id) if design.copied_from_id is not None else None


def rows_of(session: Session, designs: Sequence[Design]) -> dict[int, DesignRows]:
    """Everything on these designs, in a fixed number of queries however many they are."""
    ids = [design.key for design in designs]
    if not ids:
        return {}
    runs_by_design = runs.runs_of(session, ids)
    concessions: dict[int, dict[int, Concession]] = {one: {} for one in ids}
    near: dict[int, dict[int, Neighbour]] = {one: {} for one in ids}
    for design_id, concession, neighbour in session.exec(PAIRS, params={"designs": ids}):
        if concession is not None:
            concessions[design_id or 0][concession.key] = concession
        if neighbour is not None:
            near[design_id or 0][neighbour.key] = neighbour
    return {
        design.key: DesignRows(
            design,
            runs_by_design[design.key],
            tuple(concessions[design.key].values()),
            tuple(near[design.key].values()),
        )
        for design in designs
    }


PAIRS = (
    select(Design.id, Concession, Neighbour)
    .join(Concession, col(Concession.design_id) == Design.id, isouter=True)
    .join(Neighbour, col(Neighbour.design_id) == Design.id, isouter=True)
    .where(col(Design.id).in_(bindparam("designs", expanding=True)))
    .order_by(col(Concession.id), col(Neighbour.id))
)
"""Both hang on the design alone and are few: one query brings every pair of them."""


def conceded(session: Session, build_id: int) -> list[ConcededOn]:
    """Every concession of a build, on designs and on figures, in one query."""
    nowhere = cast(null(), Integer)
    on_designs = (
        sa_select(col(Design.id), col(Design.subsystem_id), col(Design.name), *_told(Concession))
        .join(Design, col(Design.id) == col(Concession.design_id))
        .where(col(Design.build_id) == build_id)
    )
    on_figures = (
        sa_select(nowhere, col(Subsystem.id), col(Subsystem.name), *_told(FigureConcession))
        .join(Subsystem, col(Subsystem.id) == col(FigureConcession.subsystem_id))
        .where(col(Subsystem.build_id) == build_id)
    )
    return [ConcededOn(*row) for row in session.execute(union_all(on_designs, on_figures))]


def _told(table: type[Concession] | type[FigureConcession]) -> tuple[Any, ...]:
    return (col(table.rule), col(table.reason), col(table.by), col(table.at))


def add(session: Session, row: Design | Concession) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit_design(session: Session, design_id: int, version: int, values: Mapping[str, object]) -> bool:
    """Change a design made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Design)
        .where(col(Design.id) == design_id, col(Design.version) == version)
        .values(version=version + 1, **values)
    )
    session.expire_all()
    return bool(result.rowcount)


def choose(session: Session, design: Design, because: str, at: datetime) -> None:
    """Mark one design of its subsystem as the chosen one."""
    for other in designs_of(session, design.build_id, design.subsystem_id):
        if other.id == design.id:
            other.chosen, other.chosen_because, other.chosen_at = True, because, at
        elif other.chosen:
            other.chosen, other.chosen_at = False, None
            # The reason stays, to be offered again; that there was no other is none any more.
            other.chosen_because = "" if other.chosen_because == ONLY_ONE else other.chosen_because
        session.add(other)
    session.flush()


def unchoose(session: Session, design: Design, because: str, at: datetime) -> None:
    """Take a choice back; why, and when, stays with the design until it is chosen again."""
    design.chosen, design.chosen_because, design.chosen_at = False, because, at
    session.add(design)
    session.flush()


def set_removed(session: Session, design: Design, at: datetime | None) -> None:
    design.removed_at = at
    session.add(design)
    session.flush()


def set_looked_round(session: Session, design: Design, looked: bool) -> None:
    design.looked_round = looked
    session.add(design)
    session.flush()


def withdraw_concession(session: Session, design_id: int, rule: str) -> None:
    query = select(Concession).where(Concession.design_id == design_id, Concession.rule == rule)
    for row in session.exec(query):
        session.delete(row)
    session.flush()
