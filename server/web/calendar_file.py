"""Calendars as files: RFC 5545, for any program that opens one or asks for its address again and again."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime

from icalendar import Calendar, Event, vText

CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f]+")
"""Letters that a text may not have, RFC 5545, 3.3.11; a line's end is written as an escape."""
PRODUCT = "-//Witness Mark//Build calendar//EN"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a calendar.

    uid: the same each time for the same thing; start: an aware moment that has an end, or a whole day that
    has none; href: the whole address of the page that tells more.
    """

    uid: str
    title: str
    start: date | datetime
    end: datetime | None = None
    note: str = ""
    href: str = ""


def calendar_file(name: str, entries: Iterable[Entry], made_at: datetime) -> bytes:
    """Moments in UTC, so that no rules of a time zone have to come along; days as days, which take no time.

    made_at: the moment at which all of it was worked out, aware. Sources: RFC 5545 (form; 3.6.1: a day
    without an end lasts that day), RFC 7986 (the calendar's name).
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    # The package takes a name for no text of its own accord, and leaves its commas as they are.
    calendar.add("name", vText(_plain(name)))
    for entry in entries:
        calendar.add_component(_event(entry, made_at))
    content: bytes = calendar.to_ical()
    return content


def _event(entry: Entry, made_at: datetime) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", made_at.astimezone(UTC))
    if isinstance(entry.start, datetime):
        event.add("dtstart", entry.start.astimezone(UTC))
    else:
        event.add("dtstart", entry.start)
        event.add("transp", "TRANSPARENT")
    if entry.end is not None:
        event.add("dtend", entry.end.astimezone(UTC))
    event.add("summary", _plain(entry.title))
    if entry.note:
        event.add("description", _plain(entry.note))
    if entry.href:
        event.add("url", entry.href)
    return event


def _plain(text: str) -> str:
    return CONTROL.sub(" ", text)
