"""What can be done with the log. What happened elsewhere is asked there; only notes are stored here."""

import re
from collections.abc import Callable, Mapping
from datetime import datetime

from sqlmodel import Session

from server.errors import Refused
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.connecting import service as connecting
from server.features.designing import service as designing
from server.features.first_start import service as first_start
from server.features.leak_tests import service as leak_tests
from server.features.limits import service as limits
from server.features.log import forms, page, store
from server.features.log.tables import LogEntry
from server.features.orders import service as orders
from server.features.photos import service as photos
from server.features.ports import service as ports
from server.features.setbacks import service as setbacks
from server.features.trimming import service as trimming
from server.features.work import service as work
from server.web.view import Happening
from server.web.with_photo import WithPhoto

TELLERS = (
    ports.events,
    limits.events,
    designing.events,
    orders.events,
    work.events,
    setbacks.events,
    trimming.events,
    first_start.events,
    leak_tests.events,
    connecting.events,
)
"""What is asked what happened; none asks more the more there is to tell."""
Teller = Callable[[Session, int], tuple[Happening, ...]]


def add_note(session: Session, build_id: int, typed: Mapping[str, str], now: datetime, actor: str) -> int:
    """A new note; the number of its row. Raises NotFound, BadInput."""
    build_face(session, build_id)
    text = forms.note_text(typed)
    return store.add(session, LogEntry(build_id=build_id, at=now, kind="note", actor=actor, text=text))


def set_withdrawn(session: Session, build_id: int, note_id: int, withdrawn: bool, now: datetime) -> None:
    """Set a note aside, or put it back; what stands so already stays. Raises NotFound."""
    note = store.load_note(session, build_id, note_id)
    if withdrawn != (note.withdrawn_at is not None):
        store.set_withdrawn(session, note, now if withdrawn else None)


def add_photo(session: Session, build_id: int, note_id: int, sent: WithPhoto) -> None:
    """A photo with a note that stands. Raises NotFound, BadInput."""
    store.load_note(session, build_id, note_id)
    photos.attach_required(session, build_id, ("log", note_id), sent)


TOLD = re.compile(r"note-([0-9]{1,9})")


def log_page(
    session: Session,
    build_id: int,
    asked: Mapping[str, str],
    now: datetime,
    refused: Refused | None = None,
) -> page.LogPage:
    """asked: `to`, the day to end with; `told`, what was just done, e.g. "note-7".

    Raises NotFound, BadInput for a day that can't be read.
    """
    build = build_face(session, build_id)
    last = forms.last_day(asked)
    shown = page.shown(everything(session, build), last, now)
    pictures = photos.photos_of_many(session, build_id, "log", shown.note_ids, now)
    named = TOLD.fullmatch(asked.get("told", ""))
    news = None
    if named is not None:
        note = store.load_note(session, build_id, int(named[1]))
        news = page.news_of(build, note.key, note.withdrawn_at is not None)
    return page.log_page(build, shown, pictures, news, now, refused)


def everything(session: Session, build: BuildFace) -> tuple[page.Note, ...]:
    """All that ever happened in a build, newest first; read once for each state of it."""
    return kept(build, ("log",), lambda: _entries(session, build))


def _entries(session: Session, build: BuildFace) -> tuple[page.Note, ...]:
    told = [page.Note(0, one) for tell in TELLERS for one in _told(session, build, tell)]
    rows = store.entries(session, build.id)
    told += [page.Note(0, _happening(row)) for row in rows if row.kind != "note"]
    told += [page.Note(row.key, _happening(row)) for row in rows if row.kind == "note"]
    return page.newest_first(told)


def _told(session: Session, build: BuildFace, tell: Teller) -> tuple[Happening, ...]:
    """Asked again only when something was written that it tells of."""
    return kept(build, ("told", tell.__module__), lambda: tell(session, build.id))


def _happening(row: LogEntry) -> Happening:
    return Happening(row.at, row.text, row.href, row.actor)


def note_page(
    session: Session, build_id: int, note_id: int, now: datetime, refused: Refused | None = None
) -> page.NotePage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    row = store.load_note(session, build_id, note_id)
    pictures = photos.photos_of_many(session, build_id, "log", (note_id,), now).get(note_id, ())
    note = page.Note(row.key, _happening(row))
    return page.note_page(build, note, row.withdrawn_at is not None, pictures, now, refused)
