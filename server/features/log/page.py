"""The log as a page: days, newest first, and what happened on each."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import ClassVar

from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Happening, Page
from server.web.words import day_text

ENTRIES_SHOWN = 40
"""A page is filled up with whole days until it holds so many."""


@dataclass(frozen=True, slots=True)
class LogLine:
    """One thing that happened. `href` is empty for a note."""

    clock: str
    text: str
    href: str
    actor: str


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
    form: FormState


def log_page(
    build: Face, happened: Iterable[Happening], last: date | None, now: datetime, refused: Refused | None
) -> LogPage:
    """`last`: the day to end with; none for the newest."""
    days = _days(happened, now)
    wanted = [day for day in days if last is None or day.day <= last]
    shown = _filled(wanted)
    rest = len(wanted) > len(shown)
    return LogPage(
        **heading(build, "Log", now.date()),
        id=build.id,
        days=shown,
        newest=last is None or (bool(days) and days[0].day <= last),
        older=urls.log_days(build.id, shown[-1].day - timedelta(days=1)) if rest else "",
        form=FormState.of(refused),
    )


def _filled(days: Sequence[LogDay]) -> tuple[LogDay, ...]:
    """As many whole days as fill a page, one at least."""
    shown: list[LogDay] = []
    count = 0
    for day in days:
        if shown and count + len(day.lines) > ENTRIES_SHOWN:
            break
        shown.append(day)
        count += len(day.lines)
    return tuple(shown)


def _days(happened: Iterable[Happening], now: datetime) -> list[LogDay]:
    """Everything by day on the garage's own clock, newest first."""
    local = [(one.at.astimezone(now.tzinfo), one) for one in happened]
    local.sort(key=_moment, reverse=True)
    return [
        LogDay(day, _title(day, now.date()), tuple(_line(at, one) for at, one in group))
        for day, group in groupby(local, key=_day)
    ]


def _moment(entry: tuple[datetime, Happening]) -> datetime:
    return entry[0]


def _day(entry: tuple[datetime, Happening]) -> date:
    return entry[0].date()


def _title(day: date, today: date) -> str:
    if day == today:
        return f"Today, {day_text(day)}"
    return day_text(day) if day.year == today.year else f"{day_text(day)} {day.year}"


def _line(at: datetime, one: Happening) -> LogLine:
    return LogLine(f"{at:%H:%M}", one.text, one.href, "" if one.actor == "builder" else one.actor)
