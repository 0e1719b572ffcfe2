"""Queries on photos."""

from sqlmodel import Session, col, func, select

from server.errors import NotFound
from server.features.photos.tables import Photo


def load_photo(session: Session, build_id: int, photo_id: int) -> Photo:
    """Raises NotFound, also for a photo of another build."""
    photo = session.get(Photo, photo_id)
    if photo is None or photo.build_id != build_id:
        raise NotFound("There is no such photo in this build.")
    return photo


def photos_of(session: Session, build_id: int, subject_kind: str, subject_id: int) -> list[Photo]:
    """What shows one thing, oldest first."""
    wanted = select(Photo).where(
        Photo.build_id == build_id, Photo.subject_kind == subject_kind, Photo.subject_id == subject_id
    )
    return list(session.exec(wanted.order_by(col(Photo.id))))


def usage(session: Session, build_id: int) -> tuple[int, int]:
    """How many photos a build has, and how many bytes they take."""
    counted = select(func.count(), func.coalesce(func.sum(Photo.size), 0)).where(Photo.build_id == build_id)
    count, size = session.exec(counted).one()
    return count, int(size)


def add(session: Session, photo: Photo) -> None:
    session.add(photo)
    session.flush()


def names(session: Session) -> frozenset[str]:
    """The file names of all photos of all builds."""
    return frozenset(session.exec(select(Photo.name)))
