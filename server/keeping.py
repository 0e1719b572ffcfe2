"""Copies of the data folder that can be trusted: made while the server runs, checked, listed file by file.

A copy is a folder with the database, the photos, and `SHA256SUMS`, which `sha256sum -c` reads too; or all
that in one zip. The passphrase stays out of it: set it again after putting a copy back.
"""

import hashlib
import os
import re
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path

import pysqlite3

from server.errors import NotAllowed
from server.settings import COPIES, Settings

DATABASE = "witness-mark.sqlite"
PHOTOS = "photos"
LIST = "SHA256SUMS"
ENDING, PARTIAL = ".zip", ".partial"
INSIDE = re.compile(rf"{re.escape(DATABASE)}|{LIST}|{PHOTOS}/[^/\\\x00]*[^/\\\x00.]")
"""Names of files in a copy that is one file."""
BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError)
"""What reading a file that is no zip may raise."""


class Unusable(NotAllowed):
    """A copy that can't be trusted, or a place where none can be put; the text says why and what to do."""


def database_file(settings: Settings) -> Path:
    """The SQLite file of these settings. Raises Unusable where the data is kept in PostgreSQL."""
    if not settings.database_url.startswith("sqlite:///"):
        raise Unusable(
            f"The data is kept in PostgreSQL. Copy it with pg_dump, and {settings.photos} beside it."
        )
    return Path(settings.database_url.removeprefix("sqlite:///"))


def backup(settings: Settings, to: Path, now: datetime, one_file: bool = False) -> Path:
    """Copy database and photos into a new, dated folder below `to`, or into one zip there; where that is.

    Raises Unusable.
    """
    target = to.resolve() / f"witness-mark-{now:%Y-%m-%d-%H%M%S}"
    if target.is_relative_to(settings.data):
        raise Unusable("A copy inside the data folder would be lost with it. Name a folder elsewhere.")
    whole = target.with_name(target.name + ENDING)
    if target.exists() or whole.exists():
        raise Unusable(f"{target} is there already. Try again in a second.")
    make_copy(settings, target)
    if not one_file:
        return target
    partial = whole.with_name(whole.name + PARTIAL)
    try:
        with zipfile.ZipFile(partial, "x", zipfile.ZIP_DEFLATED) as file:
            for path in (*_files(target), target / LIST):
                name = path.relative_to(target).as_posix()
                packed = zipfile.ZIP_STORED if name.startswith(PHOTOS) else zipfile.ZIP_DEFLATED
                file.write(path, name, packed)  # a JPEG gets no smaller by packing it again
        with unpacked(partial, to.resolve()) as again:
            check_copy(again)
        partial.chmod(0o600)
        _sync(partial)
        partial.rename(whole)
    finally:
        partial.unlink(missing_ok=True)
        shutil.rmtree(target)
    return whole


def make_copy(settings: Settings, target: Path, like: Path | None = None) -> None:
    """Copy database and photos into a new folder.

    The database comes first: a photo's file is stored before its row, so every row of the copy has its file.
    The folder carries its final name only once everything in it has been checked. `like`: an earlier copy,
    whose photos are not written a second time where they are the same. Raises Unusable.
    """
    source = database_file(settings)
    if not source.is_file():
        raise Unusable(f"There is no database in {settings.data} to copy.")
    partial = target.with_name(target.name + PARTIAL)
    partial.mkdir(mode=0o700, parents=True)
    try:
        _copy_database(source, partial / DATABASE)
        _check_database(partial / DATABASE)
        (partial / PHOTOS).mkdir(mode=0o700)
        if settings.photos.is_dir():
            for photo in sorted(path for path in settings.photos.iterdir() if path.is_file()):
                _copy_photo(photo, partial / PHOTOS / photo.name, like)
        lines = [f"{digest(path)}  {path.relative_to(partial).as_posix()}\n" for path in _files(partial)]
        (partial / LIST).write_text("".join(lines), encoding="utf-8")
        _to_disk(partial)
        partial.rename(target)
    except BaseException:
        shutil.rmtree(partial, ignore_errors=True)
        raise


def _copy_photo(photo: Path, to: Path, like: Path | None) -> None:
    """By a second name of the earlier copy's file, where that is the same and the disk can do it."""
    before = like / PHOTOS / photo.name if like is not None else None
    if before is not None and before.is_file() and digest(before) == digest(photo):
        with suppress(OSError):
            to.hardlink_to(before)
            return
    shutil.copy2(photo, to)


def restore(settings: Settings, copy: Path, now: datetime, aside: bool = False) -> Path | None:
    """Put a checked copy, a folder or one file, back as the data folder; where the old one went, if anywhere.

    A data folder with anything in it is never written over: it is refused, or with `aside` renamed first. The
    nightly copies in it stay with the data folder. Raises Unusable.
    """
    database_file(settings)
    if copy.is_file():
        settings.data.parent.mkdir(parents=True, exist_ok=True)
        with unpacked(copy, settings.data.parent) as folder:
            return restore(settings, folder, now, aside)
    check_copy(copy)
    occupied = settings.data.exists() and any(settings.data.iterdir())
    if occupied and not aside:
        raise Unusable(
            f"{settings.data} is not empty, so nothing was changed. Add --aside to rename it first, "
            "or name an empty folder with --data."
        )
    partial = settings.data.with_name(settings.data.name + PARTIAL)
    if partial.exists():
        raise Unusable(f"{partial} is left from an attempt that was interrupted. Remove it, then try again.")
    partial.mkdir(mode=0o700, parents=True)
    shutil.copy2(copy / DATABASE, partial / DATABASE)
    shutil.copytree(copy / PHOTOS, partial / PHOTOS)
    _to_disk(partial)
    moved = None
    if occupied:
        moved = settings.data.with_name(f"{settings.data.name}-before-{now:%Y-%m-%d-%H%M%S}")
        settings.data.rename(moved)
    elif settings.data.exists():
        settings.data.rmdir()
    partial.rename(settings.data)
    if moved is not None and (moved / COPIES).is_dir():
        (moved / COPIES).rename(settings.data / COPIES)
    return moved


@contextmanager
def unpacked(file: Path, beside: Path) -> Iterator[Path]:
    """A copy that is one file, as a folder for the while. Raises Unusable where it is no such file.

    Only files named as a copy's are unpacked; whether they are as they were says `check_copy`.
    """
    with tempfile.TemporaryDirectory(prefix=".witness-mark-", dir=beside) as scratch:
        folder = Path(scratch)
        try:
            with zipfile.ZipFile(file) as packed:
                for entry in packed.infolist():
                    if not INSIDE.fullmatch(entry.filename):
                        raise Unusable(f"{file} is no copy made by `backup`: it has {entry.filename[:80]!r}.")
                    packed.extract(entry, folder)
        except BROKEN as error:
            raise Unusable(f"{file} is no copy made by `backup`, or it is broken: {error}.") from error
        (folder / PHOTOS).mkdir(exist_ok=True)
        yield folder


def check_copy(copy: Path) -> None:
    """Compare every file of a copy with its list, and check its database. Raises Unusable."""
    if not (copy / LIST).is_file():
        raise Unusable(f"{copy} is no copy made by `backup`: it has no {LIST}.")
    listed: dict[str, str] = {}
    for line in (copy / LIST).read_text(encoding="utf-8").splitlines():
        wanted, _, name = line.partition("  ")
        listed[name] = wanted
    found = {path.relative_to(copy).as_posix() for path in _files(copy)}
    missing = sorted(listed.keys() - found)
    if missing or DATABASE not in listed:
        raise Unusable(f"The copy lacks {', '.join(missing[:5]) or DATABASE}. Use another copy.")
    changed = sorted(name for name, wanted in listed.items() if digest(copy / name) != wanted)
    if changed:
        raise Unusable(f"{', '.join(changed[:5])} changed since the copy was made. Use another copy.")
    unlisted = sorted(found - listed.keys())
    if unlisted:
        raise Unusable(
            f"{', '.join(unlisted[:5])} is not in the copy's list. Use another copy, or remove it."
        )
    _check_database(copy / DATABASE)


def digest(path: Path) -> str:
    """SHA-256 of a file, as hexadecimal digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _files(folder: Path) -> Iterator[Path]:
    return (path for path in sorted(folder.rglob("*")) if path.is_file() and path.name != LIST)


def _copy_database(source: Path, target: Path) -> None:
    """SQLite's own online copy: consistent while others read and write."""
    origin = pysqlite3.connect(f"file:{source}?mode=ro", uri=True, timeout=30.0)
    copy = pysqlite3.connect(str(target))
    try:
        origin.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, without a log beside it
    except pysqlite3.Error as error:
        raise Unusable(f"The database can't be copied: {error}.") from error
    finally:
        copy.close()
        origin.close()


def _check_database(path: Path) -> None:
    connection = pysqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)
    try:
        answer = connection.execute("PRAGMA integrity_check").fetchone()[0]
        broken = connection.execute("PRAGMA foreign_key_check").fetchall()
    except pysqlite3.DatabaseError as error:
        answer, broken = str(error), []
    finally:
        connection.close()
    if answer != "ok" or broken:
        raise Unusable(f"The database of the copy is damaged: {answer if answer != 'ok' else broken[:3]}.")


def _to_disk(folder: Path) -> None:
    """Ask the system to put every file and folder below onto the disk itself."""
    for path in (*_files(folder), folder / LIST, folder / PHOTOS, folder):
        if path.exists():
            _sync(path)


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    os.fsync(handle)
    os.close(handle)
