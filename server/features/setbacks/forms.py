"""What the builder types about what may go wrong with a task."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.errors import BadInput
from server.features.work.forms import CAUTION_CODES, times
from server.web.fields import Fields, one_of_two


@dataclass(frozen=True, slots=True)
class SetbackForm:
    """What may go wrong: the task it would bring, its chance between 0 and 1, its times in minutes."""

    title: str
    chance: float
    minutes_low: int
    minutes_likely: int
    minutes_high: int
    carry: str
    caution: str
    note: str


@dataclass(frozen=True, slots=True)
class SetbackEdit:
    version: int
    form: SetbackForm


def setback_form(typed: Mapping[str, str]) -> SetbackForm:
    """Raises BadInput."""
    percent = typed.get("chance", "").replace("%", "").strip()
    fields = Fields({**typed, "chance": percent})
    low, likely, high = times(fields)
    form = SetbackForm(
        title=fields.text("title", "What it would bring", most=120, required=True),
        chance=(fields.whole("chance", "The chance in %", least=1, most=99, required=True) or 1) / 100,
        minutes_low=low,
        minutes_likely=likely,
        minutes_high=high,
        carry=fields.text("carry", "Carry with you", most=300),
        caution=fields.choice("caution", "Caution", CAUTION_CODES, default=""),
        note=fields.text("note", "Note", most=300),
    )
    if fields.errors:
        raise BadInput(tuple(fields.errors), typed)
    return form


def setback_edit(typed: Mapping[str, str]) -> SetbackEdit:
    """Raises MissingVersion, BadInput."""
    return SetbackEdit(Fields(typed).version(), setback_form(typed))


def happened(typed: Mapping[str, str]) -> bool:
    """Whether a setback happened (`yes`) or did not after all (`no`). Raises BadInput."""
    return one_of_two(typed, "happened", "It happened", usual="yes")
