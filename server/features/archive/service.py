"""Writes a build out as one open file, and brings one in: of this version of the program, or of an older."""

import hashlib
import json
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import BinaryIO, TypeVar

from sqlalchemy import MetaData
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Session, SQLModel

from server.db import make_engine, writing
from server.errors import BadInput
from server.features.archive import forms, page, store
from server.features.archive.forms import Archive, Row, refusal
from server.features.builds.service import build_face, hand_over
from server.features.photos import service as photos
from server.features.photos.forms import Original, Recoded, taken_over, with_original
from server.migrate import head, tables, upgrade_engine, versions
from server.web.whose import OWNER, Whose

Read = TypeVar("Read")
ODD = (ValueError, TypeError, KeyError, AttributeError, IndexError)
"""What a row raises that says what its table does not take; pydantic's own error is a ValueError."""


def export_build(session: Session, folder: Path, build_id: int, to: BinaryIO, now: datetime) -> str:
    """Write a build as a zip; its name. `folder`: of the photos. Raises NotFound.

    The same rows, photos and moment are the same bytes, so that two copies can be compared.
    """
    build = build_face(session, build_id)
    tables()
    rows = store.rows_of(session.connection(), SQLModel.metadata, build_id)
    pictures = dict(_pictures(rows["photo"], folder))
    lost = [name for name, path in pictures.items() if not path.is_file()]
    told = {
        "format": forms.FORMAT,
        "schema": head(),
        "lost": lost,
        "tables": {name: [store.as_json(row) for row in found] for name, found in rows.items()},
    }
    count = sum(map(len, rows.values()))
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as file:
        about = page.readme(build.name, head(), now, count, len(pictures) - len(lost), lost)
        file.writestr(_entry(forms.README, now), about)
        file.writestr(_entry(forms.SCHEMA, now), page.schema_text(head(), store.sheets()))
        rows_told = json.dumps(told, ensure_ascii=False, indent=1, allow_nan=False)
        file.writestr(_entry(forms.ROWS, now), rows_told)
        for name, path in pictures.items():
            if path.is_file():  # a JPEG gets no smaller by packing it again
                entry = _entry(name, now, zipfile.ZIP_STORED)
                file.writestr(entry, path.read_bytes())
    return build.name


def _pictures(rows: Iterable[Row], folder: Path) -> Iterator[tuple[str, Path]]:
    """Every file that rows of `photo` have: its name in an archive, and where it stands."""
    for row in rows:
        yield forms.photo_name(row["id"]), folder / row["name"]
        if kind := row["original_kind"]:
            name = forms.original_name(row["id"], kind)
            yield name, photos.original_path(folder, row["name"], kind)


def _entry(name: str, now: datetime, packing: int = zipfile.ZIP_DEFLATED) -> zipfile.ZipInfo:
    """One file of an archive, dated as the whole is."""
    entry = zipfile.ZipInfo(name, now.timetuple()[:6])
    entry.compress_type = packing
    entry.external_attr = 0o644 << 16
    return entry


def exported(session: Session, folder: Path, build_id: int, now: datetime) -> tuple[str, BinaryIO]:
    """The name of a build, and its archive in a file that is gone once closed. Raises NotFound."""
    file = tempfile.TemporaryFile()  # noqa: SIM115  whoever sends it closes it
    try:
        name = export_build(session, folder, build_id, file, now)
    except Exception:  # a build that is not there must not leave a file open
        file.close()
        raise
    file.seek(0)
    return name, file


@dataclass(frozen=True, slots=True)
class Ready:
    """A build that was read and found good. Its photos are in their folder; only its rows are to come."""

    rows: dict[str, list[Row]]
    photos: tuple[Path, ...]


def import_build(session: Session, folder: Path, sent: BinaryIO, whose: Whose = OWNER) -> int:
    """Bring in the build of an archive beside those that are here; the number it got. Raises BadInput.

    whose: who has it from then on.
    """
    return put_in(session, ready(folder, sent), whose)


def ready(folder: Path, sent: BinaryIO) -> Ready:
    """Read an archive and put its photos into their folder, none where it is refused. Raises BadInput.

    Its rows go into a database of their own first, of the archive's version, which is brought up to date like
    any other and says what is amiss: so an old archive is read by the migrations that old data is.
    """
    archive = forms.opened(sent)
    if archive.schema not in versions():
        raise refusal(
            f"The archive is of version {archive.schema[:40]!r}, which this program does not know. "
            "Bring the program up to date first."
        )
    rows = _brought_up_to_date(archive)
    forms.check_words(rows)
    if len(rows["photo"]) > 2 * photos.MOST_PHOTOS:
        raise refusal("The build has more photos than a build can have.")
    taken: list[Path] = []
    try:
        for row in rows["photo"]:
            _take_photo(archive, folder, row, taken)
    except BadInput:
        _drop(taken)
        raise
    return Ready(rows, tuple(taken))


def put_in(session: Session, brought: Ready, whose: Whose = OWNER) -> int:
    """The rows of a build that was read, under new numbers; the build's own. Raises BadInput."""
    try:
        number = store.add_rows(session, brought.rows)["build"][brought.rows["build"][0]["id"]]
        hand_over(session, number, whose)
        return number
    except ODD as error:
        _drop(brought.photos)
        raise refusal(f"A row says what can't be: {_short(error)}") from error


def _take_photo(archive: Archive, folder: Path, row: Row, taken: list[Path]) -> None:
    """One picture at a time, so that no more than one is in memory. Raises BadInput."""
    picture, original = _picture(archive, row), _original(archive, row)
    row["name"] = photos.new_name()
    row |= photos.original_columns(original)
    if original.kind:
        taken.append(photos.original_path(folder, row["name"], original.kind))
        photos.write_file(taken[-1], original.content)
    if picture is not None:
        row |= {"width": picture.width, "height": picture.height}
        row |= {"size": len(picture.content), "digest": picture.digest}
        taken.append(folder / row["name"])
        photos.write_files(taken[-1], picture)
    if sum(path.stat().st_size for path in taken) > photos.MOST_BYTES:
        raise refusal("The build has more photos than a build can have.")


def _drop(taken: Iterable[Path]) -> None:
    """Photos whose rows never came."""
    for path in taken:
        path.unlink(missing_ok=True)
        photos.small_path(path).unlink(missing_ok=True)


def _brought_up_to_date(archive: Archive) -> dict[str, list[Row]]:
    """The archive's rows as this version has them. Raises BadInput."""
    with tempfile.TemporaryDirectory() as scratch:
        engine = make_engine(f"sqlite:///{Path(scratch) / 'archive.sqlite'}")
        try:
            newest = archive.schema == head()
            if newest:
                tables().create_all(engine)
            else:
                upgrade_engine(engine, archive.schema)
            with writing(engine).begin() as connection:
                then = MetaData()
                then.reflect(connection)
                store.fill(connection, then, archive.rows)
            if not newest:
                upgrade_engine(engine)
            with engine.connect() as connection:
                number = archive.rows["build"][0]["id"]
                return store.rows_of(connection, tables(), number)
        except BadInput:
            raise
        except SQLAlchemyError as error:
            raise refusal(f"The rows don't fit together: {_short(error)}") from error
        except Exception as error:  # a migration fed with rows that nobody wrote may raise anything
            raise refusal(f"The rows can't be brought up to date: {_short(error)}") from error
        finally:
            engine.dispose()


def _short(error: Exception) -> str:
    """The first line of what went wrong."""
    return str(getattr(error, "orig", None) or error).split("\n", maxsplit=1)[0][:160]


def _picture(archive: Archive, row: Row) -> Recoded | None:
    """The picture of a row; none where its file was lost before. Raises BadInput."""
    name = forms.photo_name(row["id"])
    content = archive.photo(name)
    return None if content is None else _as_sent(name, content, row["digest"], taken_over)


def _original(archive: Archive, row: Row) -> Original:
    """The original of a row, where it was kept and not lost before. Raises BadInput."""
    kind = row["original_kind"]
    name = forms.original_name(row["id"], kind)
    content = archive.photo(name) if kind else None
    if content is None:
        return photos.NO_ORIGINAL
    _, kept = _as_sent(name, content, row["original_digest"], with_original)
    return replace(kept, kind="WEBP") if (kind, kept.kind) == ("WEBP", "JPEG") else kept


def _as_sent(name: str, content: bytes, digest: str, read: Callable[[bytes], Read]) -> Read:
    """A picture of an archive as it is read. Raises BadInput where it can't be, or was changed."""
    try:
        found = read(content)
    except BadInput as refused:
        raise refusal(f"{name}: {refused.errors[0].message}") from refused
    if hashlib.sha256(content).hexdigest() != digest:
        raise refusal(f"{name} is not the picture that its row was written for: it was changed.")
    return found
