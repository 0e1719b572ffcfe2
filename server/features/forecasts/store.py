"""Queries on what was foreseen, and how an outlook is written down and read back."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select, update

from server.core.work.moved import Change, Outlook, Parcel, Piece, Slot, What
from server.features.forecasts.tables import ForecastNote

MOST = 400
"""Notes that are read: more than a year of days."""

OF_PARTS = frozenset({What.COMES_LATER, What.COMES_SOONER, What.AWAITED, What.HERE})
OF_VISITS = frozenset({What.VISIT, What.NO_VISIT})
"""Changes whose number is that of a part, and of a visit; the others tell of work."""


def notes(session: Session, build_id: int) -> Sequence[ForecastNote]:
    """The latest ones, in the order in which they were noted."""
    order = (col(ForecastNote.noted_at).desc(), col(ForecastNote.id).desc())
    asked = select(ForecastNote).where(ForecastNote.build_id == build_id).order_by(*order).limit(MOST)
    return tuple(reversed(session.exec(asked).all()))


def last_note(session: Session, build_id: int) -> ForecastNote | None:
    order = (col(ForecastNote.noted_at).desc(), col(ForecastNote.id).desc())
    asked = select(ForecastNote).where(ForecastNote.build_id == build_id).order_by(*order).limit(1)
    return session.exec(asked).first()


def add(session: Session, build_id: int, seen: Outlook, moved: Sequence[Change]) -> None:
    """moved: what moved a date since the note before."""
    finish, likely, safe = seen.dates
    session.add(
        ForecastNote(
            build_id=build_id,
            noted_at=seen.at,
            finish=finish,
            likely=likely,
            safe=safe,
            stood=written(seen),
            moved=[_change(one) for one in moved],
        )
    )
    session.flush()


def write_again(session: Session, note: ForecastNote, seen: Outlook) -> None:
    """The same dates still stand, though what they rest on changed."""
    session.exec(update(ForecastNote).where(col(ForecastNote.id) == note.key).values(stood=written(seen)))


def written(seen: Outlook) -> dict[str, Any]:
    """What an outlook says, as JSON. Of one moment and another it is equal where nothing changed."""
    return {
        "days": [_day(one) for one in seen.days],
        "chain": list(seen.chain),
        "work": {
            str(at): [one.title, one.minutes, one.ends.isoformat() if one.ends else None]
            for at, one in (seen.work or {}).items()
        },
        "parcels": {
            str(at): [one.name, _day(one.on), one.late, list(one.holds)]
            for at, one in (seen.parcels or {}).items()
        },
        "visits": {str(at): [one.who, _day(one.day)] for at, one in (seen.visits or {}).items()},
        "hours": {day.isoformat(): minutes for day, minutes in (seen.hours or {}).items()},
    }


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def outlook(note: ForecastNote) -> Outlook:
    """The outlook that a note keeps."""
    stood: Mapping[str, Any] = note.stood
    return Outlook(
        note.noted_at,
        note.finish,
        tuple(date.fromisoformat(one) if one else None for one in stood.get("days", ())),
        tuple(stood.get("chain", ())),
        {
            int(at): Piece(title, minutes, datetime.fromisoformat(ends) if ends else None)
            for at, (title, minutes, ends) in stood.get("work", {}).items()
        },
        {
            int(at): Parcel(name, date.fromisoformat(on), late, tuple(holds))
            for at, (name, on, late, holds) in stood.get("parcels", {}).items()
        },
        {int(at): Slot(who, date.fromisoformat(day)) for at, (who, day) in stood.get("visits", {}).items()},
        {date.fromisoformat(day): minutes for day, minutes in stood.get("hours", {}).items()},
    )


def _change(one: Change) -> list[Any]:
    was, now = (each.isoformat() if isinstance(each, date) else each for each in (one.was, one.now))
    return [one.what.value, one.id, one.name, was, now, one.bears, one.late]


def moved(note: ForecastNote) -> tuple[Change, ...]:
    """What moved a date to where this note has it."""

    def value(told: str | int | None) -> date | int | None:
        return date.fromisoformat(told) if isinstance(told, str) else told

    return tuple(
        Change(What(what), at, name, value(was), value(now), bears, late)
        for what, at, name, was, now, bears, late in note.moved
    )


def renumbered(
    stood: Mapping[str, Any], moved: Sequence[Any], ids: Mapping[str, Mapping[int, int]]
) -> tuple[dict[str, Any], list[Any]]:
    """What a note keeps, for rows that got other numbers. ids: the new by table and old one; 0 for none.

    Work is numbered by its task, what is to be read by its port below zero.
    """

    def work(at: int) -> int:
        return ids["task"].get(at, 0) if at > 0 else -ids["port"].get(-at, 0)

    def part(at: int) -> int:
        return ids["part"].get(at, 0)

    def visit(at: int) -> int:
        return ids["visit"].get(at, 0)

    def changed(one: Sequence[Any]) -> list[Any]:
        what, at, *rest = one
        told = What(what)
        number = part if told in OF_PARTS else visit if told in OF_VISITS else work
        return [what, number(at), *rest]

    again = {
        **stood,
        "chain": [work(at) for at in stood.get("chain", ())],
        "work": {str(work(int(at))): told for at, told in stood.get("work", {}).items()},
        "parcels": {
            str(part(int(at))): [*told[:3], [work(task) for task in told[3]]]
            for at, told in stood.get("parcels", {}).items()
        },
        "visits": {str(visit(int(at))): told for at, told in stood.get("visits", {}).items()},
    }
    return again, [changed(one) for one in moved]
