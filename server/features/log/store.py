"""Queries on the log's own entries."""

from datetime import datetime

from sqlmodel import Session, col, select

from server.errors import NotFound
from server.features.log.tables import LogEntry


def entries(session: Session, build_id: int) -> list[LogEntry]:
    """Those that stand."""
    query = select(LogEntry).where(LogEntry.build_id == build_id, col(LogEntry.withdrawn_at).is_(None))
    return list(session.exec(query))


def load_note(session: Session, build_id: int, note_id: int) -> LogEntry:
    """A note, set aside or not. Raises NotFound, also for what is no note."""
    row = session.get(LogEntry, note_id)
    if row is None or row.build_id != build_id or row.kind != "note":
        raise NotFound("There is no such note in this build.")
    return row


def set_withdrawn(session: Session, row: LogEntry, at: datetime | None) -> None:
    """Set a note aside at a moment, or with None put it back."""
    row.withdrawn_at = at
    session.add(row)
    session.flush()


def add(session: Session, row: LogEntry) -> int:
    """Store a new entry; the number it got."""
    session.add(row)
    session.flush()
    return row.key
