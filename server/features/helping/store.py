"""Queries on what was done by a link: tasks it started or finished, notes, photos."""

from datetime import datetime

from sqlmodel import Session, col, select

from server.features.log.tables import LogEntry
from server.features.photos.store import load_photo
from server.features.sharing.page import Link
from server.features.work.tables import Task

MOST_NOTES = 20


def acted_on(session: Session, link: Link) -> frozenset[int]:
    """The numbers of the tasks that the link started or finished."""
    started = (col(Task.started_by) == link.name) & (col(Task.started_at) >= link.created_at)
    done = (col(Task.done_by) == link.name) & (col(Task.done_at) >= link.created_at)
    wanted = select(Task.id).where(
        Task.build_id == link.build_id, col(Task.removed_at).is_(None), started | done
    )
    return frozenset(number for number in session.exec(wanted) if number is not None)


def notes(session: Session, link: Link) -> list[tuple[int, datetime, str]]:
    """Number, moment and text of the link's last notes, newest first."""
    wanted = select(LogEntry).where(
        LogEntry.build_id == link.build_id,
        LogEntry.kind == "note",
        LogEntry.actor == link.name,
        LogEntry.at >= link.created_at,
        col(LogEntry.withdrawn_at).is_(None),
    )
    rows = session.exec(wanted.order_by(col(LogEntry.at).desc(), col(LogEntry.id).desc()).limit(MOST_NOTES))
    return [(row.key, row.at, row.text) for row in rows]


def is_own_photo(session: Session, link: Link, photo_id: int) -> bool:
    """Whether a photo came by the link. Raises NotFound, also for one of another build."""
    photo = load_photo(session, link.build_id, photo_id)
    return photo.added_by == link.name and photo.added_at >= link.created_at
