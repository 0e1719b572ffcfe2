"""What was foreseen, noted as it moves, and told."""

from collections.abc import Collection
from datetime import datetime, timedelta

from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session

from server.core.work.moved import Change, Outlook, reasons
from server.db import write_session
from server.features.builds.service import after_write
from server.features.forecasts import page, store
from server.features.forecasts.tables import ForecastNote

WEEK = timedelta(days=7)


def note(engine: Engine, build_id: int, seen: Outlook, done: Collection[int]) -> None:
    """Write down what is foreseen now: a new line where a date moved or a day began, else the last one again.

    In a transaction of its own, as it is asked for by who only reads. Where the database is busy it is left
    to who asks next. done: ids of the tasks that are done.
    """
    try:
        with write_session(engine) as session:
            last = store.last_note(session, build_id)
            if last is None or not _stands(last, seen):
                store.add(session, build_id, seen, reasons(store.outlook(last), seen, done) if last else ())
            elif last.stood != store.written(seen):
                store.write_again(session, last, seen)
            after_write(session, {"build_id": build_id})
    except OperationalError:
        return


def _stands(last: ForecastNote, seen: Outlook) -> bool:
    """The last note is of the same day and has the same dates."""
    same_day = last.noted_at.astimezone(seen.at.tzinfo).date() == seen.at.date()
    return same_day and _dates(last) == seen.dates


def _dates(row: ForecastNote) -> tuple[object, ...]:
    return (row.finish, row.likely, row.safe)


def history(
    session: Session, build_id: int, seen: Outlook, done: Collection[int]
) -> tuple[page.History, bool]:
    """How the dates moved up to now, and whether all of it is written down; the same before and after."""
    rows = list(store.notes(session, build_id))
    written = bool(rows) and _stands(rows[-1], seen) and rows[-1].stood == store.written(seen)
    ago = next((row for row in reversed(rows) if row.noted_at <= seen.at - WEEK), None)
    by_day = {row.noted_at.astimezone(seen.at.tzinfo).date(): row for row in rows}
    by_day.pop(seen.at.date(), None)
    told = page.history(
        build_id,
        seen,
        _last_move(rows, seen, done),
        store.outlook(ago) if ago else None,
        tuple(page.Told(day, row.finish, row.likely, row.safe) for day, row in by_day.items()),
    )
    return told, written


def _last_move(
    rows: list[ForecastNote], seen: Outlook, done: Collection[int]
) -> tuple[Outlook, datetime, tuple[Change, ...]] | None:
    """What stood before a date moved last, when that was, and what moved it; none where it never did."""
    if rows and _dates(rows[-1]) != seen.dates:
        before = store.outlook(rows[-1])
        return before, seen.at, reasons(before, seen, done)
    for earlier, row in zip(reversed(rows[:-1]), reversed(rows), strict=False):
        if _dates(earlier) != seen.dates:
            return store.outlook(earlier), row.noted_at, store.moved(row)
    return None


def last_known(session: Session, build_id: int, now: datetime) -> str:
    """What was foreseen last, read and not worked out; nothing where that was never done."""
    row = store.last_note(session, build_id)
    return page.last_known(row.finish, row.likely, row.noted_at, now) if row else ""
