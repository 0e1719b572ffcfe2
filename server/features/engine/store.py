"""Queries on the engine sheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import bindparam
from sqlmodel import Session, col, delete, select, update

from server.core.air import demand
from server.features.engine.tables import EnginePoint, EngineSheet


@dataclass(frozen=True, slots=True)
class StoredSheet:
    """The sheet's row and its points, by rising speed."""

    row: EngineSheet
    points: tuple[demand.EnginePoint, ...]


def load(session: Session, build_id: int) -> StoredSheet | None:
    """The build's sheet as it stands in the database, or None where there is none yet."""
    found = session.exec(SHEET, params={"build": build_id}).all()
    if not found:
        return None
    points = tuple(
        demand.EnginePoint(point.rpm, point.volumetric_efficiency, point.boost)
        for _, point in found
        if point is not None
    )
    return StoredSheet(found[0][0], points)


SHEET = (
    select(EngineSheet, EnginePoint)
    .join(EnginePoint, col(EnginePoint.sheet_id) == EngineSheet.id, isouter=True)
    .where(col(EngineSheet.build_id) == bindparam("build"))
    .order_by(col(EnginePoint.rpm))
    .execution_options(populate_existing=True)
)


def add(
    session: Session, build_id: int, values: Mapping[str, Any], points: Sequence[demand.EnginePoint]
) -> None:
    """The build's first sheet."""
    row = EngineSheet(build_id=build_id, **values)
    session.add(row)
    session.flush()
    _add_points(session, row.key, points)


def edit(
    session: Session,
    build_id: int,
    version: int,
    values: Mapping[str, Any],
    points: Sequence[demand.EnginePoint],
) -> bool:
    """Change the sheet made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(EngineSheet)
        .where(col(EngineSheet.build_id) == build_id, col(EngineSheet.version) == version)
        .values(version=version + 1, **values)
    )
    if not result.rowcount:
        return False
    sheet_id = session.exec(select(EngineSheet.id).where(EngineSheet.build_id == build_id)).one()
    session.exec(delete(EnginePoint).where(col(EnginePoint.sheet_id) == sheet_id))
    _add_points(session, sheet_id or 0, points)
    return True


def _add_points(session: Session, sheet_id: int, points: Sequence[demand.EnginePoint]) -> None:
    session.add_all(
        EnginePoint(
            sheet_id=sheet_id,
            rpm=point.rpm,
            volumetric_efficiency=point.volumetric_efficiency,
            boost=point.boost,
        )
        for point in points
    )
    session.flush()
