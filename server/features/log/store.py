"""Queries on the log's own entries."""

from sqlmodel import Session, select

from server.features.log.tables import LogEntry


def entries(session: Session, build_id: int) -> list[LogEntry]:
    return list(session.exec(select(LogEntry).where(LogEntry.build_id == build_id)))


def add(session: Session, row: LogEntry) -> None:
    session.add(row)
    session.flush()
