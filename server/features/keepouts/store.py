"""Queries on keep-outs, and the way from their rows to solids."""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import bindparam
from sqlmodel import Session, col, select, update

from server.core.measure.estimate import Estimate
from server.core.tube.run import What
from server.core.tube.space.solids import Shape, Solid
from server.errors import NotFound
from server.features.keepouts.tables import KeepOut


def keep_outs_of(session: Session, build_id: int) -> list[KeepOut]:
    """Every keep-out of a build, those set aside included, in one query."""
    return list(session.exec(KEEP_OUTS, params={"build": build_id}))


KEEP_OUTS = select(KeepOut).where(col(KeepOut.build_id) == bindparam("build")).order_by(col(KeepOut.id))


def load(session: Session, build_id: int, keep_out_id: int) -> KeepOut:
    """Raises NotFound."""
    row = session.get(KeepOut, keep_out_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such keep-out in this build.")
    return row


def add(session: Session, row: KeepOut) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit(session: Session, keep_out_id: int, version: int, values: Mapping[str, object]) -> bool:
    """Change a keep-out made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(KeepOut)
        .where(col(KeepOut.id) == keep_out_id, col(KeepOut.version) == version)
        .values(version=version + 1, **values)
    )
    session.expire_all()
    return bool(result.rowcount)


def set_removed(session: Session, row: KeepOut, at: datetime | None) -> None:
    """Set one aside at a moment, or with None put it back."""
    row.removed_at = at
    session.add(row)
    session.flush()


def solid_of(row: KeepOut) -> Solid:
    """One keep-out as the geometry sees it."""
    numbers = {name: Estimate(*pair) for name, pair in row.numbers.items()}
    return Solid(row.key, row.name, What(row.what), Shape(row.shape), row.frame, numbers)
