"""The log as a page: days, newest first, and what happened on each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import ClassVar

from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.photos.page import Album, Picture, album
from server.web import urls
from server.web.view import FormState, Happening, News, Page, Undo
from server.web.words import day_text, moment_text

ENTRIES_SHOWN = 40
"""A page is filled up with whole days until it holds so many."""


NO_PHOTOS = Album()


@dataclass(frozen=True, slots=True)
class LogLine:
    """One thing that happened. `note_id`: of a note; 0 for what is stored elsewhere."""

    clock: str
    text: str
    href: str
    actor: str
    note_id: int = 0
    photos: Album = NO_PHOTOS


@dataclass(frozen=True, slots=True)
class Note:
    """An entry of the log: a note as it was put down, or, with the number 0, something else that happened."""

    id: int
    happening: Happening


@dataclass(frozen=True, slots=True)
class LogDay:
    """A day and what happened on it, newest first."""

    day: date
    title: str
    lines: tuple[LogLine, ...]


@dataclass(frozen=True, kw_only=True)
class LogPage(Page):
    """What happened in a build, some days at a time, and a form for a note."""

    template: ClassVar[str] = "log/log.html"
    fragments: ClassVar[dict[str, str]] = {"log": "log"}

    id: int
    days: tuple[LogDay, ...]
    newest: bool
    older: str
    news: News | None
    form: FormState


@dataclass(frozen=True, kw_only=True)
class NotePage(Page):
    """One note with its photos, the form for a photo, and the way to set it aside."""

    template: ClassVar[str] = "log/note.html"
    fragments: ClassVar[dict[str, str]] = {"note": "note"}

    id: int
    build_id: int
    text: str
    about: str
    withdrawn: bool
    photos: Album
    form: FormState


@dataclass(frozen=True, slots=True)
class Shown:
    """The days that a page of the log shows; photos are still to be filled in."""

    days: tuple[LogDay, ...]
    newest: bool
    rest: bool

    @property
    def note_ids(self) -> list[int]:
        return [line.note_id for day in self.days for line in day.lines if line.note_id]


def newest_first(entries: Iterable[Note]) -> tuple[Note, ...]:
    return tuple(sorted(entries, key=_moment, reverse=True))


def shown(entries: Sequence[Note], last: date | None, now: datetime) -> Shown:
    """entries: newest first; `last`: the day to end with, none for the newest.

    What is older than the days shown is not looked at, however long the log.
    """
    first = next((_day(one, now) for one in entries), None)
    wanted = (one for one in entries if last is None or _day(one, now) <= last)
    filled: list[LogDay] = []
    count, rest = 0, False
    for day, group in groupby(wanted, key=lambda one: _day(one, now)):
        lines = tuple(_line(one, now) for one in group)
        if filled and count + len(lines) > ENTRIES_SHOWN:
            rest = True
            break
        filled.append(LogDay(day, _title(day, now.date()), lines))
        count += len(lines)
    newest = last is None or (first is not None and first <= last)
    return Shown(tuple(filled), newest, rest)


def log_page(
    build: Face,
    what: Shown,
    photos: Mapping[int, Sequence[Picture]],
    news: News | None,
    now: datetime,
    refused: Refused | None,
) -> LogPage:
    """photos: of each note, by its number."""
    days = tuple(
        replace(
            day, lines=tuple(replace(line, photos=album(photos.get(line.note_id, ()))) for line in day.lines)
        )
        for day in what.days
    )
    return LogPage(
        **heading(build, "Log", now.date()),
        id=build.id,
        days=days,
        newest=what.newest,
        older=urls.log_days(build.id, days[-1].day - timedelta(days=1)) if what.rest else "",
        news=news,
        form=FormState.of(refused),
    )


def news_of(build: Face, note_id: int, withdrawn: bool) -> News:
    """A note was set aside or put back, with the way back."""
    where = urls.note_withdrawal(build.id, note_id)
    if withdrawn:
        return News("The note is set aside.", undo=Undo(where, (("to", "standing"),), "Put it back"))
    return News("The note is put back.", undo=Undo(where, (("to", "withdrawn"),), "Set it aside"))


def note_page(
    build: Face,
    note: Note,
    withdrawn: bool,
    photos: Sequence[Picture],
    now: datetime,
    refused: Refused | None,
) -> NotePage:
    one = note.happening
    return NotePage(
        **heading(build, "Note", now.date(), within="Log"),
        id=note.id,
        build_id=build.id,
        text=one.text,
        about=f"{moment_text(one.at, now)}, {one.actor}",
        withdrawn=withdrawn,
        photos=album(photos),
        form=FormState.of(refused),
    )


def _moment(entry: Note) -> datetime:
    return entry.happening.at


def _day(entry: Note, now: datetime) -> date:
    """The day on the garage's own clock."""
    return entry.happening.at.astimezone(now.tzinfo).date()


def _title(day: date, today: date) -> str:
    if day == today:
        return f"Today, {day_text(day)}"
    return day_text(day) if day.year == today.year else f"{day_text(day)} {day.year}"


def _line(note: Note, now: datetime) -> LogLine:
    one = note.happening
    clock = "" if one.day_only else f"{one.at.astimezone(now.tzinfo):%H:%M}"
    return LogLine(clock, one.text, one.href, "" if one.actor == "builder" else one.actor, note.id)
