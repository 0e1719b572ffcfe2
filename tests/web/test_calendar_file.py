"""Calendars as files, read back line by line and by another reader."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from icalendar import Calendar

from server.web.calendar_file import Entry, calendar_file
from tests.calendar_lines import read

PARIS = ZoneInfo("Europe/Paris")
MADE = datetime(2026, 11, 25, 10, tzinfo=PARIS)
HARD = [
    'Commas, semicolons; a back\\slash, a colon: and "quotes"',
    "Two\nlines",
    "\\n is no line's end, nor is \\, a comma",
    "Zwölf Überwurfmuttern für die Ölrücklaufleitung, dünn und grün " * 4,
    "76 mm × 90°, the elbow’s ‘long’ leg … 🔧" * 5,
    " a blank before and behind ",
]


def test_what_is_typed_comes_back_as_it_was_by_both_readers() -> None:
    """The one reads lines as RFC 5545 asks for them, the other is the package that wrote them."""
    entries = [Entry(f"entry-{n}", text, date(2026, 12, 5), None, text) for n, text in enumerate(HARD)]
    content = calendar_file("Orrin; the saloon", entries, MADE)
    own, events = read(content)
    assert own["NAME"].text == "Orrin; the saloon"
    assert own["VERSION"].value == "2.0"
    assert [event["SUMMARY"].text for event in events] == HARD
    assert [event["DESCRIPTION"].text for event in events] == HARD
    assert [str(event["summary"]) for event in Calendar.from_ical(content).walk("VEVENT")] == HARD


def test_moments_stand_in_utc_on_both_sides_of_a_clock_change_and_days_as_days() -> None:
    """Clocks in Paris go forward on 28 March 2027; Directive 2000/84/EC."""

    def nine(day: int) -> Entry:
        start, end = (datetime(2027, 3, day, hour, tzinfo=PARIS) for hour in (9, 15))
        return Entry(f"visit-{day}", "Jo comes", start, end)

    _, (before, after, whole) = read(
        calendar_file("Orrin", [nine(27), nine(28), Entry("post", "Clamps", date(2027, 3, 28))], MADE)
    )
    assert (before["DTSTART"].value, before["DTEND"].value) == ("20270327T080000Z", "20270327T140000Z")
    assert (after["DTSTART"].value, after["DTEND"].value) == ("20270328T070000Z", "20270328T130000Z")
    assert (whole["DTSTART"].parameters, whole["DTSTART"].value) == (";VALUE=DATE", "20270328")
    assert "DTEND" not in whole
    assert before["DTSTAMP"].value == f"{MADE.astimezone(UTC):%Y%m%dT%H%M%SZ}"
