"""The log from the first day to the last, with the photos of each day."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from server.features.builds.page import Face
from server.features.log.page import Note
from server.web.paper import Block, Sheet
from server.web.paper_photos import Photo, Photos
from server.web.paper_words import Gap, Heading, Words
from server.web.words import date_text, day_text


@dataclass(frozen=True, slots=True)
class BookLine:
    """One thing that happened; actor: empty for the builder."""

    clock: str
    text: str
    actor: str


@dataclass(frozen=True, slots=True)
class BookDay:
    """A day, oldest entries first."""

    title: str
    lines: tuple[BookLine, ...]
    photos: tuple[Photo, ...]


@dataclass(frozen=True, slots=True)
class Book:
    """A log to keep."""

    name: str
    car: str
    span: str
    made: str
    days: tuple[BookDay, ...]
    missing: int
    """Photos whose files are not there any more."""


def book(
    build: Face,
    entries: Iterable[Note],
    photos: Sequence[tuple[datetime, Photo]],
    missing: int,
    now: datetime,
) -> Book:
    """entries: newest first, as the log has them; photos: each with the moment it was added, oldest first."""
    zone = now.tzinfo
    oldest = sorted(entries, key=lambda one: one.happening.at)
    by_day: dict[date, list[BookLine]] = {}
    for day, some in groupby(oldest, key=lambda one: one.happening.at.astimezone(zone).date()):
        by_day[day] = [_line(one, now) for one in some]
    shown: dict[date, list[Photo]] = {}
    for at, photo in photos:
        shown.setdefault(at.astimezone(zone).date(), []).append(photo)
    days = sorted({*by_day, *shown})
    return Book(
        name=build.name,
        car=build.car,
        span=f"{date_text(days[0])} to {date_text(days[-1])}" if days else "Nothing yet",
        made=date_text(now.date()),
        days=tuple(
            BookDay(f"{day_text(day)} {day.year}", tuple(by_day.get(day, ())), tuple(shown.get(day, ())))
            for day in days
        ),
        missing=missing,
    )


def _line(note: Note, now: datetime) -> BookLine:
    one = note.happening
    clock = "" if one.day_only else f"{one.at.astimezone(now.tzinfo):%H:%M}"
    return BookLine(clock, one.text, "" if one.actor == "builder" else one.actor)


def lost_words(missing: int) -> str:
    """What the book says of photos whose files are gone; empty where none is."""
    return f"{missing} photos are left out: their files are missing." if missing else ""


def sheet(shown: Book) -> Sheet:
    """The book on paper."""
    blocks: list[Block] = [Heading(shown.name, 16.0), Words(shown.car), Words(shown.span)]
    if shown.missing:
        blocks.append(Words(lost_words(shown.missing)))
    for day in shown.days:
        blocks += [Gap(), Heading(day.title)]
        for line in day.lines:
            who = f" ({line.actor})" if line.actor else ""
            blocks.append(Words(f"{line.clock}  {line.text}{who}".strip()))
        if day.photos:
            blocks.append(Photos(day.photos))
    fields = (("Build", shown.name), ("Sheet", "Log"), ("Made", shown.made))
    return Sheet(f"Log, {shown.name}", fields, tuple(blocks))
