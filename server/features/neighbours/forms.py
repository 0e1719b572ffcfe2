"""What the builder types about what stands near a run."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from server.core.checks.near import MATERIALS
from server.core.measure.instruments import instrument
from server.core.tube.run import Frame, Protection, Stood, Warmth, What
from server.core.units import Kind
from server.features.neighbours.page import LABELS, SIZES
from server.web.fields import Fields

FARTHEST = 1.0
"""What stands further off is no neighbour [m]."""


@dataclass(frozen=True, slots=True)
class NeighbourForm:
    """Values of a neighbour's columns, and each size's text as it was typed."""

    values: dict[str, Any]


def neighbour_form(typed: Mapping[str, str], pieces: Collection[int]) -> NeighbourForm:
    """Raises BadInput. `pieces`: numbers of the run's pieces."""
    fields = Fields(typed)
    what = fields.choice("what", LABELS["what"], list(What))
    values: dict[str, Any] = {
        "what": what,
        "name": fields.text("name", LABELS["name"], most=80),
        "piece_id": fields.row_id("piece_id", LABELS["piece_id"], list(pieces), required=True),
        "frame": fields.choice("frame", LABELS["frame"], list(Frame), default=""),
        "material": fields.choice("material", LABELS["material"], ("", *MATERIALS), default=""),
        "protection": fields.choice(
            "protection", LABELS["protection"], list(Protection), default=Protection.NONE
        ),
        "stood": fields.choice("stood", LABELS["stood"], list(Stood), default=""),
        "warmth": fields.choice("warmth", LABELS["warmth"], list(Warmth), default=""),
    }
    doubt = 0.0
    for size, least, most, accepts in (
        ("gap", 0.0, FARTHEST, "a gap from 0, where it touches, to 1 m, such as 35 mm or 1 3/8 in"),
        ("moves", 0.0, 0.5, "a way from 0 to 500 mm"),
        ("width", 0.001, 1.0, "a width from 1 mm to 1 m"),
    ):
        found = fields.quantity(
            size, LABELS[size], Kind.length, unit="mm", least=least, most=most, accepts=accepts
        )
        values[size] = None if found is None else found.value
        if size == "gap" and found is not None:
            doubt = instrument("tape").doubt(found.value) if found.doubt is None else found.doubt
    values["gap_doubt"] = doubt
    values["typed"] = {size: fields.raw(size) for size in SIZES}
    fields.done()
    return NeighbourForm(values)
