"""Queries on photos."""

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime

from sqlmodel import Session, col, delete, func, select

from server.errors import NotFound
from server.features.photos.tables import Photo


def load_photo(session: Session, build_id: int, photo_id: int) -> Photo:
    """Raises NotFound, also for a photo of another build."""
    photo = session.get(Photo, photo_id)
    if photo is None or photo.build_id != build_id:
        raise NotFound("There is no such photo in this build.")
    return photo


def photos_of_many(
    session: Session, build_id: int, subject_kind: str, subject_ids: Collection[int]
) -> dict[int, list[Photo]]:
    """What shows each of several things, oldest first, in one query; those set aside are left out."""
    wanted = select(Photo).where(
        Photo.build_id == build_id,
        Photo.subject_kind == subject_kind,
        col(Photo.subject_id).in_(subject_ids),
        col(Photo.withdrawn_at).is_(None),
    )
    found: dict[int, list[Photo]] = defaultdict(list)
    for photo in session.exec(wanted.order_by(col(Photo.id))):
        found[photo.subject_id].append(photo)
    return found


def photos_of(session: Session, build_id: int, subject_kind: str, subject_id: int) -> list[Photo]:
    """What shows one thing, oldest first; those set aside are left out."""
    return photos_of_many(session, build_id, subject_kind, (subject_id,))[subject_id]


def every_photo(session: Session, build_id: int) -> list[Photo]:
    """All that show something of a build, oldest first; those set aside are left out."""
    wanted = select(Photo).where(Photo.build_id == build_id, col(Photo.withdrawn_at).is_(None))
    return list(session.exec(wanted.order_by(col(Photo.added_at), col(Photo.id))))


def usage(session: Session, build_id: int) -> tuple[int, int]:
    """How many photos a build has, and the bytes of them and their originals; those set aside don't count."""
    counted = select(func.count(), func.coalesce(func.sum(Photo.size + Photo.original_size), 0)).where(
        Photo.build_id == build_id, col(Photo.withdrawn_at).is_(None)
    )
    count, size = session.exec(counted).one()
    return count, int(size)


def set_withdrawn(session: Session, photo: Photo, at: datetime | None) -> None:
    """Set a photo aside at a moment, or with None put it back."""
    photo.withdrawn_at = at
    session.add(photo)
    session.flush()


def forget_withdrawn(session: Session, before: datetime) -> None:
    """Drop the rows of the photos that were set aside before a moment."""
    session.exec(delete(Photo).where(col(Photo.withdrawn_at) < before))


def add(session: Session, photo: Photo) -> None:
    session.add(photo)
    session.flush()


def names(session: Session) -> frozenset[str]:
    """The file names of all photos of all builds."""
    return frozenset(session.exec(select(Photo.name)))
