"""Amounts of money, days and times as words on a page."""

from datetime import date, datetime

from server.core.buying.exchange import plain


def plain_money(minor: int | None, currency: str = "") -> str:
    """Whole minor units as they stand in a form, without the currency: "24.50".

    Hundredths, or what the currency named has.
    """
    return "" if minor is None else plain(minor, currency)


def money(minor: int | None, currency: str) -> str:
    """Whole minor units as they stand on a page: "24.50 EUR"."""
    return "" if minor is None else f"{plain(minor, currency)} {currency}"


def day_text(day: date) -> str:
    """E.g. "Thu 3 Dec"."""
    return f"{day:%a} {day.day} {day:%b}"


def date_text(day: date) -> str:
    """A day on a sheet that is kept, e.g. "3 Dec 2026"."""
    return f"{day.day} {day:%b %Y}"


def clock_text(minute: int) -> str:
    """A minute of the day on the clock, e.g. "18:05"."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


def moment_text(moment: datetime, now: datetime) -> str:
    """E.g. "14:30" today, "Thu 3 Dec 08:00" on another day; on the clock of `now`."""
    here = moment.astimezone(now.tzinfo)
    clock = f"{here:%H:%M}"
    return clock if here.date() == now.date() else f"{day_text(here.date())} {clock}"


def counted(number: int, word: str) -> str:
    """E.g. "1 task", "4 tasks"."""
    return f"{number} {word}{'' if number == 1 else 's'}"


def days_late(days: int) -> str:
    """E.g. "2 days late"."""
    return f"{counted(days, 'day')} late"


def due_text(due: date | None, late: int) -> str:
    """When an order comes: "2 days late", "due Thu 3 Dec", "no day promised"."""
    if late:
        return days_late(late)
    return f"due {day_text(due)}" if due else "no day promised"


def size_text(size: int) -> str:
    """The size of a file [bytes], e.g. "8.2 MB", "640 kB"; as the limit is told, a megabyte is 1,024 kB."""
    return f"{size / 1024**2:.1f} MB" if size >= 100 * 1024 else f"{max(round(size / 1024), 1)} kB"


def pieces(quantity: int, name: str) -> str:
    """E.g. "4 × T-bolt clamp"; one piece goes by its name."""
    return name if quantity == 1 else f"{quantity} × {name}"


def minutes_text(minutes: float) -> str:
    """A duration as people say it, e.g. "40 min", "1.5 h", rounded to five minutes or half an hour."""
    if minutes < 20:
        return f"{max(round(minutes), 1)} min"
    if minutes < 90:
        return f"{5 * round(minutes / 5)} min"
    return f"{round(minutes / 30) / 2:g} h"


def minutes_typed(minutes: int) -> str:
    """A duration to put into a field, exact: "40 min", "1.5 h", "2 days"."""
    if minutes and minutes % 1440 == 0:
        return counted(minutes // 1440, "day")
    return f"{minutes / 60:g} h" if minutes >= 60 and minutes % 30 == 0 else f"{minutes} min"
