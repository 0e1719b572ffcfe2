"""Queries on parts."""

from dataclasses import dataclass

from sqlmodel import Session, col, select, update

from server.errors import NotFound
from server.features.parts.tables import Part


@dataclass(frozen=True, slots=True)
class PartFace:
    """A part as the other features see it.

    `on_shelf` is what was counted before anything arrived and before any task used some.
    """

    id: int
    version: int
    name: str
    kind: str
    origin: str
    tried: str
    price_minor: int | None
    on_shelf: int
    note: str


def face(row: Part) -> PartFace:
    return PartFace(
        row.key,
        row.version,
        row.name,
        row.kind,
        row.origin,
        row.tried,
        row.price_minor,
        row.on_shelf,
        row.note,
    )


def parts(session: Session, build_id: int) -> list[Part]:
    query = select(Part).where(Part.build_id == build_id).order_by(col(Part.name), col(Part.id))
    return list(session.exec(query))


def load_part(session: Session, build_id: int, part_id: int) -> Part:
    """Raises NotFound."""
    row = session.get(Part, part_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such part in this build.")
    return row


def add_part(session: Session, row: Part) -> Part:
    session.add(row)
    session.flush()
    return row


def edit_part(session: Session, part_id: int, version: int, values: dict[str, object]) -> bool:
    """Change a part made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Part)
        .where(col(Part.id) == part_id, col(Part.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def move_shelf(session: Session, part_id: int, by: int) -> None:
    """Count so many pieces more (or less) on the shelf."""
    session.exec(update(Part).where(col(Part.id) == part_id).values(on_shelf=Part.on_shelf + by))
