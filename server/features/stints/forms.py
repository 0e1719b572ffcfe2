"""What the builder types about stints, helpers and visits."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from server.core.work.hours import Span
from server.features.stints.page import WEEKDAYS
from server.features.work.forms import minutes
from server.web.fields import Fields, one_of_two

KINDS = ("weekly", "extra", "off")
LONGEST_SETTING_UP = 8 * 3600.0
"""[s]"""
ZONE_ACCEPTED = "a name such as Europe/Paris or America/Chicago; empty for the server's own clock"


@dataclass(frozen=True, slots=True)
class StintForm:
    """A stint every week, on one day, or a day off; minutes of the day."""

    kind: str
    weekday: int | None
    day: date | None
    begins: int | None
    ends: int | None
    note: str


@dataclass(frozen=True, slots=True)
class HelperForm:
    name: str
    skills: str
    contact: str
    note: str


@dataclass(frozen=True, slots=True)
class VisitForm:
    """A slot that a helper offered; minutes of the day."""

    helper_id: int
    day: date
    begins: int
    ends: int
    cancel_by: date | None
    note: str


@dataclass(frozen=True, slots=True)
class GarageTimeForm:
    """What the garage allows; noise from and to in minutes of the day, raising and lowering in minutes."""

    zone: str
    noise_from: int | None
    noise_to: int | None
    quiet_sundays: bool
    raising: int
    lowering: int


def stint_form(typed: Mapping[str, str]) -> StintForm:
    """Raises BadInput."""
    fields = Fields(typed)
    kind = fields.choice("kind", "What it is", KINDS, default="weekly")
    weekday = day = span = None
    if kind == "weekly":
        weekday = WEEKDAYS.index(fields.choice("weekday", "The weekday", WEEKDAYS, default="Monday"))
    else:
        day = fields.day("day", "The day", required=True)
    if kind != "off":
        span = _span(fields)
    note = fields.text("note", "Note", most=120)
    fields.done()
    return StintForm(kind, weekday, day, span.begins if span else None, span.ends if span else None, note)


def helper_form(typed: Mapping[str, str]) -> HelperForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = HelperForm(
        name=fields.text("name", "The helper's name", most=80, required=True),
        skills=", ".join(skills_in(fields.text("skills", "What they are able to do", most=300))),
        contact=fields.text("contact", "How to reach them", most=120),
        note=fields.text("note", "Note", most=300),
    )
    fields.done()
    return form


def skills_in(text: str) -> tuple[str, ...]:
    """Skills parted by commas, each once."""
    return tuple(dict.fromkeys(filter(None, (one.strip() for one in text.split(",")))))


def visit_form(typed: Mapping[str, str], helper_ids: Sequence[int]) -> VisitForm:
    """Raises BadInput."""
    fields = Fields(typed)
    helper_id = fields.row_id("helper_id", "Who comes", helper_ids, required=True)
    day = fields.day("day", "The day", required=True)
    span = _span(fields)
    cancel_by = fields.day("cancel_by", "The last day to call it off")
    if day and cancel_by and cancel_by > day:
        fields.refuse("cancel_by", "The last day to call it off is after the visit.", f"up to {day}")
    note = fields.text("note", "Note", most=200)
    fields.done()
    return VisitForm(helper_id or 0, day or date.min, span.begins, span.ends, cancel_by, note)


def garage_time_form(typed: Mapping[str, str]) -> GarageTimeForm:
    """Raises BadInput."""
    fields = Fields(typed)
    zone = fields.text("zone", "The time zone", most=60)
    if zone and not zone_named(zone):
        fields.refuse("zone", f"The time zone: “{zone}” is not known here.", ZONE_ACCEPTED)
    first = fields.clock("noise_from", "Noise from")
    last = fields.clock("noise_to", "Noise until")
    if (first is None) != (last is None) and not fields.errors:
        fields.refuse("noise_to", "Noise needs both times, or neither.", "from and until, or nothing")
    if first is not None and last is not None and last <= first:
        fields.refuse("noise_to", "Noise ends before it begins.", "a later time of the same day")
    raising = minutes(fields, "raising", "Raising the car", LONGEST_SETTING_UP)
    lowering = minutes(fields, "lowering", "Lowering the car", LONGEST_SETTING_UP)
    quiet = fields.flag("quiet_sundays")
    fields.done()
    return GarageTimeForm(zone, first, last, quiet, raising or 0, lowering or 0)


def zone_named(name: str) -> ZoneInfo | None:
    """The time zone of that name; nothing where the machine knows none such."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def to_be_set_aside(typed: Mapping[str, str]) -> bool:
    """Whether something is to be set aside (`aside`) or put back (`back`). Raises BadInput."""
    return one_of_two(typed, "to", "What to do", ("aside", "back"), usual="aside")


def _span(fields: Fields) -> Span:
    begins = fields.clock("begins", "From", required=True)
    ends = fields.clock("ends", "Until", required=True)
    if begins is not None and ends is not None and ends <= begins:
        fields.refuse("ends", "It ends before it begins.", "a later time of the same day, up to 24:00")
    return Span(begins or 0, ends or 0)
