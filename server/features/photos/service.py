"""Photos as files and rows: what was sent is written anew (`forms.recode`), and nothing else of it is kept.

The file is complete on the disk before its row is written, so a row never names a file that is not there. A
file whose row was rolled back is an orphan, which `sweep_orphans` clears away. Beside each picture stands a
small one for lists, `<name>.s.jpg`, and where it was wanted the original, `<name>.o.jpg` or `<name>.o.png`. A
photo that is set aside is no longer shown and no longer counted; it can be put back for 30 days, after which
its row and its files are cleared away.
"""

import os
import re
import secrets
from collections.abc import Collection
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from sqlmodel import Session

from server.errors import BadInput, FieldError, NotFound, Refused
from server.features.builds.service import build_face
from server.features.photos import page, store
from server.features.photos.forms import (
    ACCEPTS,
    Original,
    Recoded,
    original_ending,
    recode,
    wants_original,
    with_original,
)
from server.features.photos.page import Picture
from server.features.photos.tables import Photo
from server.web.with_photo import WithPhoto

MOST_PHOTOS = 200
MOST_BYTES = 1_000_000_000
LONGEST_CAPTION = 200
GRACE = timedelta(hours=1)
"""A file younger than this may belong to a write that is still in progress."""

NO_ORIGINAL = Original(b"", "")

KEPT_ASIDE = timedelta(days=30)
"""How long a photo that was set aside can be put back."""

OURS = re.compile(r"([0-9a-f]{32})(\.[so])?\.(jpg|png|part)")


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
    *,
    keep_original: bool = False,
) -> Photo:
    """Keep a picture of something in a build; its row, flushed and not yet committed.

    Raises BadInput where the picture can't be used, the caption is too long, or the build is full.
    """
    typed = {"caption": caption}
    if len(caption) > LONGEST_CAPTION:
        message = f"The caption has {len(caption)} characters."
        raise BadInput((FieldError("caption", message, f"up to {LONGEST_CAPTION} characters"),), typed)
    try:
        picture, original = with_original(content) if keep_original else (recode(content), NO_ORIGINAL)
        _refuse_when_full(session, build_id, len(picture.content) + len(original.content))
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
        **original_columns(original),
        added_at=now,
        added_by=actor,
    )
    clear_away(session, photos_folder, now)
    if original.kind:
        write_file(original_path(photos_folder, photo.name, original.kind), original.content)
    write_files(photo_path(photos_folder, photo), picture)
    store.add(session, photo)
    return photo


def original_columns(original: Original) -> dict[str, Any]:
    """What the row of a photo says of its original."""
    digest = original.digest if original.kind else ""
    return {
        "original_kind": original.kind,
        "original_size": len(original.content),
        "original_digest": digest,
    }


def new_name() -> str:
    """A file name that says nothing and never repeats."""
    return f"{secrets.token_hex(16)}.jpg"


def write_files(path: Path, picture: Recoded) -> None:
    """A picture and its small one, each whole under its name or not there at all."""
    write_file(small_path(path), picture.small)
    write_file(path, picture.content)


def attach(
    session: Session,
    build_id: int,
    subject: tuple[str, int],
    sent: WithPhoto,
) -> Photo | None:
    """Keep the picture that came with a form; none where none came. `subject`: kind and number.

    Raises BadInput with everything that was typed, so that the form can be shown again.
    """
    if sent.photo is None:
        return None
    try:
        return store_photo(
            session,
            sent.folder,
            build_id,
            *subject,
            sent.photo.content,
            sent.made,
            sent.actor,
            sent.typed.get("caption", "").strip(),
            keep_original=wants_original(sent.typed),
        )
    except BadInput as refused:
        again = tuple(
            replace(error, message=f"{error.message} Choose the picture again; the rest is kept.")
            if error.field == "photo"
            else error
            for error in refused.errors
        )
        raise BadInput(again, sent.typed) from refused


def attach_required(
    session: Session,
    build_id: int,
    subject: tuple[str, int],
    sent: WithPhoto,
) -> int:
    """The same, for a form that is for a picture alone; the number of its row. Raises BadInput."""
    photo = attach(session, build_id, subject, sent)
    if photo is None:
        raise BadInput((FieldError("photo", "No picture was chosen.", ACCEPTS),), sent.typed)
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
    build_id: int,
    photo_id: int,
    sent: WithPhoto,
) -> int:
    """A photo that was drawn on, beside the one it was made from; the number of its row.

    Raises NotFound, BadInput.
    """
    photo = store.load_photo(session, build_id, photo_id)
    subject = (photo.subject_kind, photo.subject_id)
    return attach_required(session, build_id, subject, sent)


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
        write_file(little, recode(path.read_bytes()).small)
    return little.read_bytes(), f"{photo.digest}-s"


def original(session: Session, photos_folder: Path, build_id: int, photo_id: int) -> tuple[bytes, str, str]:
    """The original of a photo, its digest, and how a file of it is named at its end. Raises NotFound."""
    photo = store.load_photo(session, build_id, photo_id)
    if not photo.original_kind:
        raise NotFound("The original of this photo was not kept.")
    path = original_path(photos_folder, photo.name, photo.original_kind)
    if not path.is_file():
        raise NotFound("The original's file is missing. Put it back from a copy of the data folder.")
    return path.read_bytes(), photo.original_digest, original_ending(photo.original_kind)


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


def original_path(photos_folder: Path, name: str, kind: str) -> Path:
    """Where the original stands of the photo that goes by a name."""
    return photos_folder / f"{Path(name).stem}.o.{original_ending(kind)}"


def row_of(file_name: str) -> str:
    """The name in the row that a file belongs to; of a file that was never finished, none."""
    found = OURS.fullmatch(file_name)
    return f"{found[1]}.jpg" if found and found[3] != "part" else ""


def _refuse_when_full(session: Session, build_id: int, size: int) -> None:
    count, taken = store.usage(session, build_id)
    if count >= MOST_PHOTOS:
        message = f"This build has {MOST_PHOTOS} photos, the most it can have."
    elif taken + size > MOST_BYTES:
        message = "The photos of this build take 1 GB, the most they can take."
    else:
        return
    raise BadInput((FieldError("photo", message, "a photo after an old one was removed"),), {})


def write_file(path: Path, content: bytes) -> None:
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
        if ours and row_of(path.name) not in known and path.stat().st_mtime < oldest:
            path.unlink()
            removed.append(path.name)
    return tuple(removed)
