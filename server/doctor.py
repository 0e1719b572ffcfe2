"""Looks over a data folder and says what is right and what is not, in plain words."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pysqlite3
from sqlalchemy import Engine
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session, select

from server.certificate import UnusableCertificate, check_certificate
from server.db import SAFE_SQLITE, make_engine
from server.features.builders.service import passphrase_set
from server.features.photos.service import original_path, row_of
from server.features.photos.tables import Photo
from server.keeping import Unusable, check_copy, digest
from server.migrate import current, head
from server.nightly import copies_in
from server.settings import PROJECT, Settings
from server.web.words import counted, size_text

HTMX = PROJECT / "static" / "vendor" / "htmx-2.0.11.min.js"
HTMX_SHA256 = "d6fdc75f204e6bdefa99b69bf1e6d4ac69b8a364f77929f45c13476b4000f717"
PRAGMAS = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}
OLD_COPY = timedelta(days=3)
"""A garage that is shut over the weekend is no fault."""
LITTLE_ROOM = 1024**3
NO_ROOM = 100 * 1024**2


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at. `good` is false for what must be mended."""

    good: bool
    text: str


def look_over(settings: Settings, now: datetime) -> tuple[Finding, ...]:
    """Everything that was looked at, in the order in which to mend it."""
    if not settings.data.is_dir():
        return (Finding(False, f"There is no data folder at {settings.data}. `serve` makes one."),)
    engine = make_engine(settings.database_url)
    try:
        database = tuple(_database(engine, settings))
    finally:
        engine.dispose()
    kept = (_room(settings.data), _readers(settings.data))
    return (*database, *_copies(settings, now), *kept, _passphrase(settings), _encryption(settings), _htmx())


def _database(engine: Engine, settings: Settings) -> Iterator[Finding]:
    if engine.dialect.name == "sqlite":
        version = ".".join(str(part) for part in SAFE_SQLITE)
        free = pysqlite3.sqlite_version_info >= SAFE_SQLITE
        yield Finding(
            free,
            f"SQLite {pysqlite3.sqlite_version} {'is free of' if free else 'HAS'} the write-ahead log's "
            f"reset fault, which was mended in {version}." + ("" if free else " Bring pysqlite3 up to date."),
        )
        if not Path(engine.url.database or "").is_file():
            yield Finding(False, "There is no database yet. `serve` makes one.")
            return
    try:
        if engine.dialect.name == "sqlite":
            yield from _sqlite(engine)
        stands = current(engine)
        yield Finding(
            stands == head(),
            f"Tables stand at {stands or 'nothing'}; this program's are {head()}."
            + ("" if stands == head() else " `serve` brings them up to date."),
        )
        yield from _photos(engine, settings)
    except DatabaseError as error:
        yield Finding(False, f"The database can't be read: {error.orig}. Put a copy back with `restore`.")


def _sqlite(engine: Engine) -> Iterator[Finding]:
    with engine.connect() as connection:
        set_to = {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in PRAGMAS}
        wrong = {name: value for name, value in set_to.items() if value != PRAGMAS[name]}
        yield Finding(
            not wrong, f"Safe writing is on: {set_to}." if not wrong else f"Safe writing is off: {wrong}."
        )
        answer = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
        yield Finding(answer == "ok", f"Integrity of the database file: {answer}.")
        broken = len(connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall())
        yield Finding(broken == 0, f"Links between rows: {broken} broken.")


def _photos(engine: Engine, settings: Settings) -> Iterator[Finding]:
    with Session(engine) as session:
        rows = session.exec(select(Photo.name, Photo.original_kind)).all()
    there = settings.photos.iterdir() if settings.photos.is_dir() else ()
    files = {path.name: path.stat().st_size for path in there if path.is_file()}
    names = {name for name, _ in rows}
    originals = {original_path(settings.photos, name, kind).name for name, kind in rows if kind}
    missing = sorted((names | originals) - files.keys())
    unused = sum(row_of(name) not in names for name in files)  # a small picture goes with its row
    text = (
        f"Photos: {len(names)}, and {counted(len(originals), 'original')}; {len(missing)} without a file, "
        f"{unused} files that no entry uses. They take {size_text(sum(files.values()))}, of it originals "
        f"{size_text(sum(files.get(name, 0) for name in originals))}."
    )
    yield Finding(not missing, text + (f" Missing: {', '.join(missing[:5])}." if missing else ""))


def _copies(settings: Settings, now: datetime) -> Iterator[Finding]:
    """The nightly copies: how old the newest is, whether it can be trusted, whether its disk is another."""
    if not settings.database_url.startswith("sqlite:///"):
        yield Finding(True, "No nightly copies: the data is kept in PostgreSQL. Copy it with pg_dump.")
        return
    if settings.copies is None:
        yield Finding(True, "Nightly copies are off. Copy the data with `backup` from time to time.")
        return
    there = copies_in(settings.copies)
    if not there:
        yield Finding(
            True, f"No copy is in {settings.copies} yet: `serve` makes one as it starts, then nightly."
        )
        return
    newest = max(there)
    age = now.replace(tzinfo=None) - newest
    old = age > OLD_COPY
    yield Finding(
        not old,
        f"The last nightly copy is {_age(age)} old, of {len(there)} in {settings.copies}."
        + (
            " Let `serve` run: it copies as it starts, and says in its log why where it can't." if old else ""
        ),
    )
    try:
        check_copy(there[newest])
        yield Finding(True, f"Every file of {there[newest].name} is as it was when it was copied.")
    except Unusable as fault:
        yield Finding(False, f"{fault} Remove {there[newest]}: the next copy is made in its place.")
    if settings.copies.stat().st_dev == settings.data.stat().st_dev:
        yield Finding(
            True, "The copies lie on the data's own disk: put one elsewhere now and then, with `backup`."
        )


def _age(age: timedelta) -> str:
    hours = max(int(age.total_seconds() // 3600), 0)
    return f"{hours // 24} days" if hours >= 48 else counted(hours, "hour")


def _room(folder: Path) -> Finding:
    free = shutil.disk_usage(folder).free
    text = f"Room on the disk: {free / 1024**3:.1f} GiB."
    return Finding(free >= NO_ROOM, text + (" That is little; free some." if free < LITTLE_ROOM else ""))


def _readers(folder: Path) -> Finding:
    mode = folder.stat().st_mode & 0o777
    text = (
        f"The data folder can be read by {'its owner alone' if not mode & 0o077 else 'others'} ({mode:03o})."
    )
    return Finding(not mode & 0o007, text + (f" Mend it with: chmod 700 {folder}" if mode & 0o007 else ""))


def _passphrase(settings: Settings) -> Finding:
    if passphrase_set(settings.data):
        return Finding(True, "A passphrase is set; the server may be reached from other machines.")
    return Finding(True, "No passphrase is set, so the server answers this machine alone.")


def _encryption(settings: Settings) -> Finding:
    try:
        check_certificate(settings)
    except UnusableCertificate as refused:
        return Finding(False, str(refused))
    if settings.encrypted:
        return Finding(True, f"Connections are encrypted, with the certificate {settings.certificate}.")
    return Finding(True, "No certificate is set: plain HTTP, unless a proxy in front has one.")


def _htmx() -> Finding:
    same = HTMX.is_file() and digest(HTMX) == HTMX_SHA256
    return Finding(
        same, f"{HTMX.name} is {'the file that was released' if same else 'not the file released'}."
    )
