"""What is typed on the log."""

from collections.abc import Mapping
from datetime import date

from server.web.fields import Fields, one_of_two

LONGEST_NOTE = 2000


def note_text(typed: Mapping[str, str]) -> str:
    """Raises BadInput."""
    fields = Fields(typed)
    text = fields.text("text", "The note", most=LONGEST_NOTE, required=True)
    fields.done()
    return text


def last_day(typed: Mapping[str, str]) -> date | None:
    """The day that a page of the log ends with; none for the newest. Raises BadInput."""
    fields = Fields(typed)
    day = fields.day("to", "The day")
    fields.done()
    return day


def withdrawn(typed: Mapping[str, str]) -> bool:
    """Whether a note is to be set aside (`withdrawn`) or put back (`standing`). Raises BadInput."""
    return one_of_two(typed, "to", "The note", ("withdrawn", "standing"), usual="withdrawn")
