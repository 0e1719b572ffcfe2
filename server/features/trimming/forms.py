"""What is typed as a piece is offered up and trimmed."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.measure.instruments import instrument
from server.core.units import Kind
from server.errors import BadInput
from server.features.trimming.page import LABELS, READ_WITH
from server.web.fields import Fields

MOST = 1.0
"""A piece is cut no longer than this over its length [m]."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A piece as offered up. excess, doubt: [m]."""

    excess: float
    doubt: float
    read_with: str
    note: str
    typed: dict[str, str]


def reading(typed: Mapping[str, str]) -> Reading:
    """Raises BadInput."""
    fields = Fields(typed)
    excess = fields.quantity(
        "excess",
        LABELS["excess"],
        Kind.length,
        unit="mm",
        required=True,
        least=-MOST,
        most=MOST,
        accepts="how much too long, such as 6 mm or 1/4 in; 0 where it just fits, −2 mm for a gap of 2 mm",
    )
    read_with = fields.choice("read_with", LABELS["read_with"], READ_WITH)
    note = fields.text("note", LABELS["note"], most=200)
    fields.done()
    if excess is None:
        raise BadInput((), typed)
    doubt = instrument(read_with).doubt(abs(excess.value)) if excess.doubt is None else excess.doubt
    return Reading(excess.value, doubt, read_with, note, {"excess": fields.raw("excess")})


def taken_off(typed: Mapping[str, str]) -> float:
    """What was taken off [m]. Raises BadInput."""
    fields = Fields(typed)
    taken = fields.quantity(
        "taken_off",
        LABELS["taken_off"],
        Kind.length,
        unit="mm",
        required=True,
        least=0.00005,
        most=MOST,
        accepts="what came off, the blade's width in it, such as 4 mm or 3/16 in",
    )
    fields.done()
    if taken is None:
        raise BadInput((), typed)
    return taken.value
