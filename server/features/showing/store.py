"""Queries on what may be shown of a build to anybody: tasks that are done, photos."""

from sqlmodel import Session, col, func, select

from server.features.photos.page import DESIGN, LINE_AFTER, LINE_BEFORE, PIECE
from server.features.photos.tables import Photo
from server.features.work.tables import Task

MOST_DONE, MOST_PHOTOS = 20, 24
SHOWN_OF = ("log", "port", "reading", "task", LINE_BEFORE, LINE_AFTER, DESIGN, PIECE)
"""What a photo may be of, to be shown to others; one of a parcel or an order has an address on it."""


def tasks_counted(session: Session, build_id: int) -> tuple[int, int]:
    """How many tasks are done, and how many there are."""
    counted = select(func.count(), func.count(col(Task.done_at)))
    total, done = session.exec(counted.where(Task.build_id == build_id, col(Task.removed_at).is_(None))).one()
    return done, total


def done(session: Session, build_id: int) -> list[Task]:
    """The tasks done last, newest first."""
    wanted = select(Task).where(
        Task.build_id == build_id, col(Task.removed_at).is_(None), col(Task.done_at).is_not(None)
    )
    return list(session.exec(wanted.order_by(col(Task.done_at).desc(), col(Task.id).desc()).limit(MOST_DONE)))


def photos(session: Session, build_id: int) -> list[Photo]:
    """The newest photos, newest first; those set aside are left out."""
    wanted = select(Photo).where(
        Photo.build_id == build_id,
        col(Photo.withdrawn_at).is_(None),
        col(Photo.subject_kind).in_(SHOWN_OF),
    )
    newest = wanted.order_by(col(Photo.added_at).desc(), col(Photo.id).desc())
    return list(session.exec(newest.limit(MOST_PHOTOS)))
