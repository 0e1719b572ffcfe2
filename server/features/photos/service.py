"""Photos as files and rows: what was sent is written anew (`forms.recode`), and nothing else of it is kept.

The file is complete on the disk before its row is written, so a row never names a file that is not there. A
file whose row was rolled back is an orphan, which `sweep_orphans` clears away. Beside each picture stands a
small one for lists, `<name>.s.jpg`. A photo that is set aside is no longer shown and no longer counted; it
can be put back for 30 days, after which its row and its files are cleared away.
"""

import os
import re
import secrets
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from sqlmodel import Session

from server.errors import BadInput, FieldError, NotFound, Refused
from server.features.builds.service import build_face
from server.features.photos import page, store
from server.features.photos.forms import ACCEPTS, Recoded, recode
from server.features.photos.page import Picture
from server.features.photos.tables import Photo
from server.web.posted import PostedFile

MOST_PHOTOS = 200
MOST_BYTES = 1_000_000_000
LONGEST_CAPTION = 200
GRACE = timedelta(hours=1)
"""A file younger than this may belong to a write that is still in progress."""

KEPT_ASIDE = timedelta(days=30)
"""How long a photo that was set aside can be put back."""

OURS = re.compile(r"[0-9a-f]{32}(\.s)?\.(jpg|part)")


def store_photo(
    session: Session,
    photos_folder: Path,
    build_id: int,
    subject_kind: str,
    subject_id: int,
    content: bytes,
    now: datetime,
    actor: str,
    caption: str = "",
) -> Photo:
    """Keep a picture of something in a build; its row, flushed and not yet committed.

    Raises BadInput where the picture can't be used, the caption is too long, or the build is full.
    """
    typed = {"caption": caption}
    if len(caption) > LONGEST_CAPTION:
        message = f"The caption has {len(caption)} characters."
        raise BadInput((FieldError("caption", message, f"up to {LONGEST_CAPTION} characters"),), typed)
    try:
        picture = recode(content)
        _refuse_when_full(session, build_id, len(picture.content))
    except BadInput as refused:
        raise BadInput(refused.errors, typed) from refused
    photo = Photo(
        build_id=build_id,
        name=new_name(),
        subject_kind=subject_kind,
        subject_id=subject_id,
        caption=caption,
        width=picture.width,
        height=picture.height,
        size=len(picture.content),
        digest=picture.digest,
        added_at=now,
        added_by=actor,
    )
    clear_away(session, photos_folder, now)
    write_files(photo_path(photos_folder, photo), picture)
    store.add(session, photo)
    return photo


def new_name() -> str:
    """A file name that says nothing and never repeats."""
    return f"{secrets.token_hex(16)}.jpg"


def write_files(path: Path, picture: Recoded) -> None:
    """A picture and its small one, each whole under its name or not there at all."""
    _write(small_path(path), picture.small)
    _write(path, picture.content)


def attach(
    session: Session,
    photos_folder: Path,
    build_id: int,
    subject: tuple[str, int],
    typed: Mapping[str, str],
    sent: PostedFile | None,
    now: datetime,
    actor: str,
) -> Photo | None:
    """Keep the picture that came with a form; none where none came. `subject`: kind and number.

    Raises BadInput with everything that was typed, so that the form can be shown again.
    """
    if sent is None:
        return None
    caption = typed.get("caption", "").strip()
    try:
        return store_photo(session, photos_folder, build_id, *subject, sent.content, now, actor, caption)
    except BadInput as refused:
        again = tuple(
            replace(error, message=f"{error.message} Choose the picture again; the rest is kept.")
            if error.field == "photo"
            else error
            for error in refused.errors
        )
        raise BadInput(again, typed) from refused


def attach_required(
    session: Session,
    photos_folder: Path,
    build_id: int,
    subject: tuple[str, int],
    typed: Mapping[str, str],
    sent: PostedFile | None,
    now: datetime,
    actor: str,
) -> int:
    """The same, for a form that is for a picture alone; the number of its row. Raises BadInput."""
    photo = attach(session, photos_folder, build_id, subject, typed, sent, now, actor)
    if photo is None:
        raise BadInput((FieldError("photo", "No picture was chosen.", ACCEPTS),), typed)
    return photo.key


def photos_of_many(
    session: Session, build_id: int, kind: str, ids: Collection[int], now: datetime
) -> dict[int, tuple[Picture, ...]]:
    """The pictures of each of several things of one kind, as pages show them, in one query."""
    found = store.photos_of_many(session, build_id, kind, ids) if ids else {}
    return {
        subject: tuple(page.picture(build_id, row, now) for row in rows) for subject, rows in found.items()
    }


def every_photo(session: Session, build_id: int) -> list[Photo]:
    """All that show something of a build, oldest first; those set aside are left out."""
    return store.every_photo(session, build_id)


def set_withdrawn(session: Session, build_id: int, photo_id: int, withdrawn: bool, now: datetime) -> None:
    """Set a photo aside, or put it back; what stands so already stays. Raises NotFound."""
    photo = store.load_photo(session, build_id, photo_id)
    if withdrawn != (photo.withdrawn_at is not None):
        store.set_withdrawn(session, photo, now if withdrawn else None)


def marks_page(
    session: Session, build_id: int, photo_id: int, now: datetime, refused: Refused | None = None
) -> page.MarksPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    return page.marks_page(build, store.load_photo(session, build_id, photo_id), now, refused)


def add_marked(
    session: Session,
    photos_folder: Path,
    build_id: int,
    photo_id: int,
    typed: Mapping[str, str],
    sent: PostedFile | None,
    now: datetime,
    actor: str,
) -> int:
    """A photo that was drawn on, beside the one it was made from; the number of its row.

    Raises NotFound, BadInput.
    """
    photo = store.load_photo(session, build_id, photo_id)
    subject = (photo.subject_kind, photo.subject_id)
    return attach_required(session, photos_folder, build_id, subject, typed, sent, now, actor)


def photo_page(session: Session, build_id: int, photo_id: int, now: datetime) -> page.PhotoPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    return page.photo_page(build, store.load_photo(session, build_id, photo_id), now)


def content(
    session: Session, photos_folder: Path, build_id: int, photo_id: int, small: bool
) -> tuple[bytes, str]:
    """A picture and its digest; the small one is made where an older row has none. Raises NotFound."""
    photo = store.load_photo(session, build_id, photo_id)
    path = photo_path(photos_folder, photo)
    if not path.is_file():
        raise NotFound("The picture's file is missing. Put it back from a copy of the data folder.")
    if not small:
        return path.read_bytes(), photo.digest
    little = small_path(path)
    if not little.is_file():
        _write(little, recode(path.read_bytes()).small)
    return little.read_bytes(), f"{photo.digest}-s"


def clear_away(session: Session, photos_folder: Path, now: datetime) -> None:
    """Clear files that no row names, then the rows of photos set aside long ago; their files go next time.

    In this order, a row that is rolled back never stands without its file.
    """
    sweep_orphans(session, photos_folder, now)
    store.forget_withdrawn(session, now - KEPT_ASIDE)


def photo_path(photos_folder: Path, photo: Photo) -> Path:
    """Where the picture of a row stands."""
    return photos_folder / photo.name


def small_path(path: Path) -> Path:
    """Where the small picture stands, beside the large one."""
    return path.with_suffix(".s.jpg")


def _refuse_when_full(session: Session, build_id: int, size: int) -> None:
    count, taken = store.usage(session, build_id)
    if count >= MOST_PHOTOS:
        message = f"This build has {MOST_PHOTOS} photos, the most it can have."
    elif taken + size > MOST_BYTES:
        message = "The photos of this build take 1 GB, the most they can take."
    else:
        return
    raise BadInput((FieldError("photo", message, "a photo after an old one was removed"),), {})


def _write(path: Path, content: bytes) -> None:
    """Under its name the file is whole or not there at all, also after a power cut."""
    part = path.with_suffix(".part")
    try:
        with part.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.rename(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def sweep_orphans(session: Session, photos_folder: Path, now: datetime) -> tuple[str, ...]:
    """Remove files that no row names; the names that were removed.

    Only files named as this module names them are touched, and only those older than `GRACE`.
    """
    oldest = (now - GRACE).timestamp()
    known = store.names(session)
    removed = []
    for path in sorted(photos_folder.iterdir()):
        ours = OURS.fullmatch(path.name) and path.is_file()
        if ours and path.name.replace(".s.", ".") not in known and path.stat().st_mtime < oldest:
            path.unlink()
            removed.append(path.name)
    return tuple(removed)
