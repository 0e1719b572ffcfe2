"""Queries on what stands near runs, and the way from its rows to the plan of a run."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy import insert
from sqlmodel import Session, col, select, update

from server.core.measure.estimate import Estimate
from server.core.tube.run import NeighbourPlan, Protection, Stood, Warmth, What
from server.errors import NotFound
from server.features.neighbours.tables import Neighbour

MOVES_DOUBT = 0.2
"""Relative standard uncertainty of a sweep seen by eye; common practice, no source."""
WIDTH_DOUBT = 0.1
"""Relative standard uncertainty of a width seen by eye; common practice, no source."""


def neighbours_of(session: Session, design_ids: Sequence[int]) -> dict[int, tuple[Neighbour, ...]]:
    """What stands near each of these designs' runs, by design, those set aside included, in one query."""
    query = select(Neighbour).where(col(Neighbour.design_id).in_(design_ids)).order_by(col(Neighbour.id))
    found: dict[int, list[Neighbour]] = defaultdict(list)
    for row in session.exec(query):
        found[row.design_id].append(row)
    return {design_id: tuple(found[design_id]) for design_id in design_ids}


def load_neighbour(session: Session, design_id: int, neighbour_id: int) -> Neighbour:
    """Raises NotFound."""
    row = session.get(Neighbour, neighbour_id)
    if row is None or row.design_id != design_id:
        raise NotFound("Nothing of that number stands near this design.")
    return row


def design_of(session: Session, neighbour_id: int) -> int | None:
    """The number of the design that a neighbour stands near, None where there is no such neighbour."""
    row = session.get(Neighbour, neighbour_id)
    return row.design_id if row is not None else None


def add(session: Session, row: Neighbour) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit(session: Session, neighbour_id: int, version: int, values: Mapping[str, object]) -> bool:
    """Change a neighbour made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Neighbour)
        .where(col(Neighbour.id) == neighbour_id, col(Neighbour.version) == version)
        .values(version=version + 1, **values)
    )
    session.expire_all()
    return bool(result.rowcount)


def set_removed(session: Session, row: Neighbour, at: datetime | None) -> None:
    row.removed_at = at
    session.add(row)
    session.flush()


def copy_all(session: Session, rows: Sequence[Neighbour], design_id: int, pieces: Mapping[int, int]) -> None:
    """Let a design have what stands near another; `pieces`: of each piece its copy, by number."""
    copies = [
        {
            **row.model_dump(exclude={"id", "version"}),
            "design_id": design_id,
            "piece_id": pieces.get(row.piece_id or 0),
            "version": 1,
        }
        for row in rows
        if row.removed_at is None
    ]
    if copies:
        session.connection().execute(insert(Neighbour), copies)


def plans(rows: Sequence[Neighbour]) -> tuple[NeighbourPlan, ...]:
    """What stands near a run as the checks see it."""
    return tuple(_plan(row) for row in rows if row.removed_at is None)


def _plan(row: Neighbour) -> NeighbourPlan:
    sizes = {}
    if row.gap is not None:
        sizes["gap"] = Estimate(row.gap, row.gap_doubt)
    if row.moves is not None:
        sizes["moves"] = Estimate(row.moves, MOVES_DOUBT * row.moves)
    if row.width is not None:
        sizes["width"] = Estimate(row.width, WIDTH_DOUBT * row.width)
    return NeighbourPlan(
        id=row.key,
        what=What(row.what),
        name=row.name or row.what,
        piece_id=row.piece_id,
        frame=row.frame,
        material=row.material,
        protection=Protection(row.protection or Protection.NONE),
        stood=Stood(row.stood),
        warmth=Warmth(row.warmth),
        sizes=sizes,
    )
