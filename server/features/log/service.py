"""What can be done with the log. What happened elsewhere is asked there; only notes are stored here."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.errors import Refused
from server.features.builds.service import build_face
from server.features.designs import service as designs
from server.features.log import forms, page, store
from server.features.log.tables import LogEntry
from server.features.orders import service as orders
from server.features.ports import service as ports
from server.features.work import service as work
from server.web.view import Happening

TELLERS = (ports.events, designs.events, orders.events, work.events)
"""What is asked what happened: each one query."""


def add_note(session: Session, build_id: int, typed: Mapping[str, str], now: datetime, actor: str) -> None:
    """Raises NotFound, BadInput."""
    build_face(session, build_id)
    text = forms.note_text(typed)
    store.add(session, LogEntry(build_id=build_id, at=now, kind="note", actor=actor, text=text))


def log_page(
    session: Session,
    build_id: int,
    asked: Mapping[str, str],
    now: datetime,
    refused: Refused | None = None,
) -> page.LogPage:
    """Raises NotFound, BadInput for a day that can't be read."""
    build = build_face(session, build_id)
    last = forms.last_day(asked)
    happened = [one for tell in TELLERS for one in tell(session, build_id)]
    happened += [Happening(row.at, row.text, row.href, row.actor) for row in store.entries(session, build_id)]
    return page.log_page(build, happened, last, now, refused)
