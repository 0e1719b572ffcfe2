"""Queries on the trims of pieces."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session, col, select, update

from server.errors import NotFound
from server.features.builds.tables import Subsystem
from server.features.designs.tables import Design
from server.features.runs.tables import Piece
from server.features.trimming.tables import Trim


def trims_of(session: Session, piece_id: int) -> list[Trim]:
    """Those of a piece in order, withdrawn ones included."""
    return list(session.exec(select(Trim).where(Trim.piece_id == piece_id).order_by(col(Trim.id))))


def trims_in(session: Session, build_id: int) -> list[tuple[Trim, Piece]]:
    """Those of every piece of a build that count, each with its piece, in order of time."""
    query = (
        select(Trim, Piece)
        .join(Piece, col(Piece.id) == col(Trim.piece_id))
        .join(Design, col(Design.id) == col(Piece.design_id))
        .join(Subsystem, col(Subsystem.id) == col(Design.subsystem_id))
        .where(col(Subsystem.build_id) == build_id, col(Trim.withdrawn_at).is_(None))
        .order_by(col(Trim.at))
    )
    return [(trim, piece) for trim, piece in session.exec(query)]


def load_trim(session: Session, piece_id: int, trim_id: int) -> Trim:
    """Raises NotFound."""
    row = session.get(Trim, trim_id)
    if row is None or row.piece_id != piece_id:
        raise NotFound("This piece was not offered up under that number.")
    return row


def add(session: Session, row: Trim) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit(session: Session, trim_id: int, version: int, values: Mapping[str, object]) -> bool:
    """Change a row made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Trim)
        .where(col(Trim.id) == trim_id, col(Trim.version) == version)
        .values(version=version + 1, **values)
    )
    session.expire_all()
    return bool(result.rowcount)


def set_withdrawn(session: Session, row: Trim, at: datetime | None) -> None:
    row.withdrawn_at = at
    session.add(row)
    session.flush()
