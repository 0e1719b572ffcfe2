"""Queries on figures of what is fitted."""

from datetime import datetime

from sqlalchemy import bindparam
from sqlmodel import Session, col, select, update

from server.features.builds.tables import Subsystem
from server.features.figures.forms import FigureForm
from server.features.figures.tables import FigureConcession, FigureSheet


def sheets(session: Session, build_id: int) -> list[tuple[FigureSheet | None, FigureConcession | None]]:
    """The sheet of every subsystem of a build, beside each concession on it; in one query."""
    return list(session.exec(SHEETS, params={"build": build_id}))


SHEETS = (
    select(FigureSheet, FigureConcession)
    .select_from(Subsystem)
    .outerjoin(FigureSheet, col(FigureSheet.subsystem_id) == col(Subsystem.id))
    .outerjoin(FigureConcession, col(FigureConcession.subsystem_id) == col(Subsystem.id))
    .where(col(Subsystem.build_id) == bindparam("build"))
    .order_by(col(FigureSheet.id), col(FigureConcession.id))
)


def sheet(session: Session, subsystem_id: int) -> FigureSheet | None:
    return session.exec(select(FigureSheet).where(FigureSheet.subsystem_id == subsystem_id)).first()


def add(session: Session, subsystem_id: int, form: FigureForm, by: str, at: datetime) -> None:
    session.add(
        FigureSheet(
            subsystem_id=subsystem_id,
            numbers=form.numbers,
            said=form.said,
            tables=form.tables,
            typed=form.typed,
            by=by,
            at=at,
        )
    )
    session.flush()


def edit(session: Session, row: FigureSheet, version: int, form: FigureForm, by: str, at: datetime) -> bool:
    """Change figures typed on `version`; false when somebody else changed them meanwhile."""
    result = session.exec(
        update(FigureSheet)
        .where(col(FigureSheet.id) == row.id, col(FigureSheet.version) == version)
        .values(
            version=version + 1,
            numbers=form.numbers,
            said=form.said,
            tables=form.tables,
            typed=form.typed,
            by=by,
            at=at,
        )
    )
    session.expire(row)
    return bool(result.rowcount)


def add_concession(session: Session, row: FigureConcession) -> None:
    session.add(row)
    session.flush()


def withdraw_concession(session: Session, subsystem_id: int, rule: str) -> None:
    query = select(FigureConcession).where(
        FigureConcession.subsystem_id == subsystem_id, FigureConcession.rule == rule
    )
    for row in session.exec(query):
        session.delete(row)
    session.flush()
