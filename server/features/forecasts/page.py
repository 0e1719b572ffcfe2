"""How the date of a build moved: in words, day by day, and as a curve of chances."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from server.core.work.causes import lower_first
from server.core.work.moved import SHARES, Change, Outlook, What
from server.web import urls
from server.web.words import counted, day_text, minutes_text, moment_text

MOST_REASONS, MOST_DAYS = 8, 30
LEFT, RIGHT, TOP, BOTTOM = 34.0, 352.0, 10.0, 150.0
"""The frame of the curve."""


@dataclass(frozen=True, slots=True)
class Told:
    """The three dates as a day left them."""

    day: date
    finish: date | None
    likely: date | None
    safe: date | None


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that moved the date, and where it stands."""

    href: str
    text: str


@dataclass(frozen=True, slots=True)
class DayRow:
    """One line of the history, or of the chances: a name and dates in words."""

    name: str
    dates: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """A word beside the curve."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Curve:
    """The chance that it is done, by day. now, ago: paths; label: for those who hear it."""

    now: str
    ago: str
    label: str
    days: tuple[Mark, ...]
    shares: tuple[Mark, ...]
    rows: tuple[DayRow, ...]


@dataclass(frozen=True, slots=True)
class History:
    """moved: what moved last, in one sentence; why: the reasons; week: against a week ago."""

    moved: str = ""
    why: tuple[Reason, ...] = ()
    week: str = ""
    curve: Curve | None = None
    days: tuple[DayRow, ...] = ()


NOTHING = History()
"""Where there is no plan."""


def history(
    build_id: int,
    seen: Outlook,
    move: tuple[Outlook, datetime, tuple[Change, ...]] | None,
    ago: Outlook | None,
    days: Sequence[Told],
) -> History:
    """seen: as it stands now; ago: as it stood a week ago; days: those that were noted, without today."""
    told = [*days, Told(seen.at.date(), *seen.dates)][-MOST_DAYS:]
    rows = tuple(
        DayRow(day_text(one.day), tuple(day_or_none(each) for each in (one.finish, one.likely, one.safe)))
        for one in reversed(told)
    )
    return History(
        _moved(move, seen) if move else "",
        _reasons(build_id, move[2]) if move else (),
        _week(ago, seen) if ago else "",
        _curve(seen, ago),
        rows if len(rows) > 1 else (),
    )


def last_known(finish: date | None, likely: date | None, at: datetime, now: datetime) -> str:
    """E.g. "By the plan Sat 16 Jan 2027, as likely before as after Sat 30 Jan 2027, as it stood at 14:00"."""
    stood = f"As it stood {_when(at, now)}"
    if finish is None:
        return f"{stood}: no date."
    even = f", as likely before as after {day_text(likely)} {likely:%Y}" if likely else ""
    return f"{stood}: by the plan {day_text(finish)} {finish:%Y}{even}."


def _when(at: datetime, now: datetime) -> str:
    text = moment_text(at, now)
    return f"at {text}" if ":" in text and " " not in text else f"on {text}"


def day_or_none(day: date | None) -> str:
    """E.g. "Sat 16 Jan 2027"."""
    return f"{day_text(day)} {day:%Y}" if day else "no date"


NAMES = ("The date by the plan", "The even-odds date", "The four-in-five date")


def _moved(move: tuple[Outlook, datetime, tuple[Change, ...]], seen: Outlook) -> str:
    """E.g. "The date by the plan moved from Sat 16 Jan to Sat 23 Jan, 7 days later, at 14:00."."""
    before, at, why = move
    name, was, now = next(
        (name, was, now) for name, was, now in zip(NAMES, before.dates, seen.dates, strict=True) if was != now
    )
    step = f", {against(was, now)}," if was and now else ""
    text = f"{name} moved from {_short(was)} to {_short(now)}{step} {_when(at, seen.at)}"
    return f"{text}." if not why else f"{text}, because of:"


def _short(day: date | None) -> str:
    return day_text(day) if day else "no date"


def against(was: date, now: date) -> str:
    """E.g. "7 days later"."""
    days = (now - was).days
    return f"{counted(abs(days), 'day')} {'later' if days > 0 else 'earlier'}"


def _reasons(build_id: int, some: Sequence[Change]) -> tuple[Reason, ...]:
    shown = [Reason(_href(build_id, one), _words(one)) for one in some[:MOST_REASONS]]
    if len(some) > len(shown):
        shown.append(Reason("", f"And {len(some) - len(shown)} more."))
    return tuple(shown)


def _href(build_id: int, one: Change) -> str:
    if one.what in (What.COMES_LATER, What.COMES_SOONER, What.AWAITED, What.HERE):
        return urls.part(build_id, one.id)
    if one.what is What.VISIT:
        return urls.visit(build_id, one.id)
    if one.what in (What.NO_VISIT, What.MORE_HOURS, What.FEWER_HOURS):
        return urls.stints(build_id)
    return urls.task(build_id, one.id) if one.id > 0 else urls.port(build_id, -one.id)


def _words(one: Change) -> str:
    was, now = (
        day_text(each) if isinstance(each, date) else minutes_text(each or 0) for each in (one.was, one.now)
    )
    late = "overdue, " if one.late else ""
    texts = {
        What.DONE: f"‘{one.name}’ is done.",
        What.GONE: f"‘{one.name}’ is no longer planned.",
        What.ADDED: f"‘{one.name}’ is new, {now}.",
        What.LONGER: f"‘{one.name}’ takes {now}, not {was}.",
        What.SHORTER: f"‘{one.name}’ takes {now}, not {was}.",
        What.NOT_DONE: f"‘{one.name}’ was to be done by {was} and is not.",
        What.COMES_LATER: f"{one.name}: {late}now expected {now}, not {was}.",
        What.COMES_SOONER: f"{one.name}: {late}now expected {now}, not {was}.",
        What.AWAITED: f"{one.name} is waited for, expected {now}.",
        What.HERE: f"{one.name} is no longer waited for.",
        What.VISIT: f"A visit more: {one.name}, {now}.",
        What.NO_VISIT: f"A visit less: {one.name}, {was}.",
        What.MORE_HOURS: f"More time in the garage: {now}, not {was}, in the weeks ahead.",
        What.FEWER_HOURS: f"Less time in the garage: {now}, not {was}, in the weeks ahead.",
    }
    return texts[one.what]


def _week(ago: Outlook, seen: Outlook) -> str:
    """How the dates stand against those of a week ago, in one sentence."""
    day = day_text(ago.at.astimezone(seen.at.tzinfo).date())
    if ago.dates == seen.dates:
        return f"The dates stand as they did a week ago ({day})."
    told = [
        f"{lower_first(name)} {'stayed' if was == now else f'was {_short(was)}, {_against(was, now)}'}"
        for name, was, now in zip(NAMES, ago.dates, seen.dates, strict=True)
    ]
    return f"Since a week ago ({day}): {'; '.join(told)}."


def _against(was: date | None, now: date | None) -> str:
    return f"{against(was, now)} now" if was and now else f"{_short(now)} now"


def _curve(seen: Outlook, ago: Outlook | None) -> Curve | None:
    """Nothing where there are no days to draw, or all of them are one."""
    known = [day for one in (seen, ago) if one for day in one.days if day]
    if not any(seen.days) or min(known) == max(known):
        return None
    first, last = min(known) - timedelta(days=1), max(known)
    wide = (RIGHT - LEFT) / (last - first).days

    def path(one: Outlook | None) -> str:
        if one is None or not any(one.days):
            return ""
        steps, y = [f"M{LEFT:g} {BOTTOM:g}"], BOTTOM
        for share, day in zip(SHARES, one.days, strict=True):
            if day is None:
                break
            y = BOTTOM - share * (BOTTOM - TOP)
            steps.append(f"H{LEFT + wide * (day - first).days:.1f}V{y:.1f}")
        return "".join((*steps, f"H{RIGHT:g}"))

    shares = tuple(
        Mark(0, BOTTOM - share * (BOTTOM - TOP) + 5, f"{share:.0%}".replace("%", " %"))
        for share in (0.5, 0.8)
    )
    days = (
        Mark(LEFT, BOTTOM + 17, day_text(first + timedelta(days=1))),
        Mark(RIGHT, BOTTOM + 17, day_text(last)),
    )
    rows = tuple(
        DayRow(
            f"{share:.0%}".replace("%", " %"),
            (day_or_none(now), *((day_or_none(ago.by(share)),) if ago and ago.days else ())),
        )
        for share, now in zip(SHARES, seen.days, strict=True)
    )
    label = (
        f"Chance of being done by day: half by {_short(seen.by(0.5))}, four fifths by {_short(seen.by(0.8))}"
    )
    return Curve(path(seen), path(ago), label, days, shares, rows)
