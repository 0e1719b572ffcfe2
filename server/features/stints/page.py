"""The sheet of the garage's time: the next stints, the week, exceptions, helpers and their visits."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from server.core.work.hours import Block, Hours, blocks
from server.errors import Clash, Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, News, Option, Page, Tally, Undo
from server.web.words import clock_text, day_text, minutes_typed

if TYPE_CHECKING:
    from server.features.stints.tables import GarageTime, Helper, Stint, Visit

HELPER_LABELS = {"name": "Name", "skills": "Able to do", "contact": "How to reach them", "note": "Note"}
GARAGE_LABELS = {
    "zone": "Time zone",
    "noise_from": "Noise from",
    "noise_to": "Noise until",
    "quiet_sundays": "Quiet on Sundays",
    "raising": "Raising the car",
    "lowering": "Lowering the car",
}
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAYS_AHEAD = 28
SHOWN = 8
VISITS_SHOWN, HELPERS_SHOWN = 8, 4
"""Visits and helpers that are listed at once."""
RAISING, LOWERING = 35, 25
"""Minutes, where nothing else was said; common practice, no source."""


@dataclass(frozen=True, slots=True)
class RefusedForm:
    """A form that was refused, and which one of the sheet's: weekly, extra, off, helper, helper-3,
    visit, garage."""

    refused: Refused | None = None
    which: str = ""

    def of(self, which: str) -> FormState:
        return FormState.of(self.refused if which == self.which else None)


NOT_REFUSED = RefusedForm()


@dataclass(frozen=True, slots=True)
class Asked:
    """The list of which a later part is asked for, and from where on: "visits" or "helpers"."""

    part: str = ""
    start: int = 0

    def of(self, name: str, total: int, most: int) -> slice:
        """What of a list is shown."""
        start = self.start if name == self.part and self.start < total else 0
        return slice(start, start + most)


BEGINNING = Asked()


@dataclass(frozen=True, slots=True)
class NextLine:
    """A stint on its day. change: what the clocks do that night, where they do."""

    text: str
    long: str
    who: str
    change: str


@dataclass(frozen=True, slots=True)
class Entry:
    """A stint, day off or visit of the list, with the address where it is set aside and put back.

    sheet: where it is told whether a visit is ready; empty for the others.
    """

    href: str
    text: str
    note: str
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class HelperEntry:
    """A helper with the form that changes them."""

    id: int
    version: int
    name: str
    skills: str
    contact: str
    note: str
    removal: str
    form: FormState


@dataclass(frozen=True, slots=True)
class GarageFields:
    """What stands in the form of the garage; version 0: nothing was said yet."""

    version: int
    values: dict[str, str]


@dataclass(frozen=True, kw_only=True)
class StintsPage(Page):
    """When the garage is worked in, who comes, and what it allows."""

    template: ClassVar[str] = "stints/sheet.html"

    build_id: int
    news: News | None
    next: tuple[NextLine, ...]
    zone_words: str
    weekly: tuple[Entry, ...]
    exceptions: tuple[Entry, ...]
    helpers: tuple[HelperEntry, ...]
    visits: tuple[Entry, ...]
    tally_helpers: Tally
    tally_visits: Tally
    aside: tuple[Entry, ...]
    weekdays: tuple[str, ...]
    who: tuple[Option, ...]
    garage: GarageFields
    weekly_form: FormState
    extra_form: FormState
    off_form: FormState
    helper_form: FormState
    visit_form: FormState
    garage_form: FormState


def block_words(block: Block) -> str:
    """E.g. "Sat 28 Nov 09:00–15:00"."""
    return f"{day_text(block.start.date())} {block.start:%H:%M}–{block.end:%H:%M}"


def with_whom(block: Block) -> str:
    """E.g. "with Jo, who welds stainless"; empty where nobody comes."""
    told = (f"{one.helper}{f', who {one.skills[0]}' if one.skills else ''}" for one in block.visits)
    names = " and ".join(dict.fromkeys(told))
    return f"with {names}" if names else ""


def _next_line(block: Block) -> NextLine:
    shown = block.end.hour * 60 + block.end.minute - block.start.hour * 60 - block.start.minute
    change = block.minutes - shown % (24 * 60)
    word = "forward" if change < 0 else "back"
    told = f"the clocks go {word}: {minutes_typed(block.minutes)} really pass" if change else ""
    return NextLine(block_words(block), minutes_typed(block.minutes), with_whom(block), told)


def stint_words(row: "Stint") -> str:
    """E.g. "Tuesday 18:00–21:00", "Sat 28 Nov 09:00–15:00", "Tue 24 Nov: off"."""
    on = day_text(row.day) if row.day else WEEKDAYS[row.weekday or 0]
    return (
        f"{on}: off"
        if row.kind == "off"
        else f"{on} {clock_text(row.begins or 0)}–{clock_text(row.ends or 0)}"
    )


def visit_words(row: "Visit", helper: str) -> str:
    """E.g. "Sat 28 Nov 09:00–15:00, Jo"."""
    return f"{day_text(row.day)} {clock_text(row.begins)}–{clock_text(row.ends)}, {helper}"


def stints_page(
    *,
    build: Face,
    now: datetime,
    hours: Hours,
    stints: Sequence["Stint"],
    helpers: Sequence["Helper"],
    visits: Sequence["Visit"],
    stands: "GarageTime | None",
    told: tuple[str, int] | None,
    refused: RefusedForm,
    asked: Asked,
) -> StintsPage:
    """now: in the zone of the garage; rows: those set aside included; told: what was just done."""
    ahead = [one for one in blocks(hours, now.tzinfo or UTC, now.date(), DAYS_AHEAD) if one.end > now]
    names = {row.key: row.name for row in helpers}
    entries: dict[tuple[str, int], tuple[Stint | Visit | Helper, Entry]] = {}
    entries |= {("stint", row.key): (row, _stint_entry(build, row)) for row in stints}
    entries |= {("visit", row.key): (row, _visit_entry(build, row, names)) for row in visits}
    entries |= {("helper", row.key): (row, _helper_as_entry(build, row)) for row in helpers}
    today = now.date()
    # What is over needs no room on the sheet; a helper that was set aside takes their visits along.
    gone = {row.key for row in helpers if row.removed_at is not None}
    here = [row for row in stints if row.removed_at is None and (row.day is None or row.day >= today)]
    coming = [
        row for row in visits if row.removed_at is None and row.day >= today and row.helper_id not in gone
    ]
    able = [row for row in helpers if row.removed_at is None]
    shown = asked.of("visits", len(coming), VISITS_SHOWN)
    shown_helpers = asked.of("helpers", len(able), HELPERS_SHOWN)
    listed = able[shown_helpers]
    listed += [row for row in able if refused.which == f"helper-{row.key}" and row not in listed]
    return StintsPage(
        **heading(build, "Stints", today, within="Work"),
        build_id=build.id,
        news=_news(entries, told),
        next=tuple(_next_line(one) for one in ahead[:SHOWN]),
        zone_words=_zone_words(now, stands.zone if stands else ""),
        weekly=tuple(_stint_entry(build, row) for row in here if row.kind == "weekly"),
        exceptions=tuple(_stint_entry(build, row) for row in here if row.kind != "weekly"),
        helpers=tuple(_helper_entry(build, row, refused) for row in listed),
        visits=tuple(_visit_entry(build, row, names) for row in coming[shown]),
        tally_helpers=Tally.of(len(able), shown_helpers, HELPERS_SHOWN, partial(_part, build, "helpers")),
        tally_visits=Tally.of(len(coming), shown, VISITS_SHOWN, partial(_part, build, "visits")),
        aside=tuple(entry for row, entry in entries.values() if row.removed_at is not None),
        weekdays=WEEKDAYS,
        who=tuple(Option(str(row.key), row.name) for row in able),
        garage=garage_fields(stands),
        weekly_form=refused.of("weekly"),
        extra_form=refused.of("extra"),
        off_form=refused.of("off"),
        helper_form=refused.of("helper"),
        visit_form=refused.of("visit"),
        garage_form=refused.of("garage"),
    )


def _part(build: Face, name: str, start: int) -> str:
    """Where a later part of a list stands."""
    return f"{urls.stints(build.id)}?part={name}&start={start}#{name}"


def _zone_words(now: datetime, zone: str) -> str:
    if zone:
        return f"Clocks of {zone}; a stint on the night that they change is counted as what really passes."
    offset = now.utcoffset() or timedelta()
    sign = "+" if offset >= timedelta() else "−"
    hours = abs(offset).total_seconds() / 3600
    return f"No time zone chosen: counted in UTC{sign}{hours:g}, so clocks that change are not heeded."


def _stint_entry(build: Face, row: "Stint") -> Entry:
    return Entry(urls.stint_removal(build.id, row.key), stint_words(row), row.note)


def _visit_entry(build: Face, row: "Visit", names: Mapping[int, str]) -> Entry:
    by = f"can be called off until {day_text(row.cancel_by)}" if row.cancel_by else ""
    words = visit_words(row, names.get(row.helper_id, ""))
    note = "; ".join(filter(None, (by, row.note)))
    return Entry(urls.visit_removal(build.id, row.key), words, note, urls.visit(build.id, row.key))


def _helper_as_entry(build: Face, row: "Helper") -> Entry:
    return Entry(urls.helper_removal(build.id, row.key), row.name, row.skills)


def _helper_entry(build: Face, row: "Helper", refused: RefusedForm) -> HelperEntry:
    return HelperEntry(
        row.key,
        row.version,
        row.name,
        row.skills,
        row.contact,
        row.note,
        urls.helper_removal(build.id, row.key),
        refused.of(f"helper-{row.key}"),
    )


Entries = Mapping[tuple[str, int], "tuple[Stint | Visit | Helper, Entry]"]


def _news(entries: Entries, told: tuple[str, int] | None) -> News | None:
    row, entry = entries.get(told or ("", 0), (None, None))
    if row is None or entry is None:
        return None
    if row.removed_at is not None:
        undo = Undo(entry.href, (("to", "back"),), "Put it back")
        return News(f"Set aside: {entry.text}.", "The plan no longer counts on it.", undo=undo)
    return News(f"Noted: {entry.text}.", undo=Undo(entry.href, (("to", "aside"),), "Undo"))


def garage_fields(stands: "GarageTime | None") -> GarageFields:
    """As the form shows it."""
    noise = (stands.noise_from, stands.noise_to) if stands else (None, None)
    first, last = ("" if minute is None else clock_text(minute) for minute in noise)
    values = {
        "zone": stands.zone if stands else "",
        "noise_from": first,
        "noise_to": last,
        "quiet_sundays": "on" if stands and stands.quiet_sundays else "",
        "raising": minutes_typed(stands.raising if stands else RAISING),
        "lowering": minutes_typed(stands.lowering if stands else LOWERING),
    }
    return GarageFields(stands.version if stands else 0, values)


def garage_clashes(wanted: Mapping[str, str], stands: Mapping[str, str]) -> tuple[Clash, ...]:
    """Every field that two people changed; wanted: as typed."""
    return tuple(
        Clash(name, label, stands[name], wanted.get(name, ""))
        for name, label in GARAGE_LABELS.items()
        if wanted.get(name, "") != stands[name]
    )
