"""What the builder types about the shelf."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.core.tube.shorten import Join
from server.core.units import Kind
from server.errors import BadInput
from server.features.parts.forms import LENGTHS, LONGEST_NAME, LONGEST_STOCK
from server.web.fields import Fields, one_of_two


@dataclass(frozen=True, slots=True)
class OffCutForm:
    """`length` in metres."""

    part_id: int
    length: float
    note: str


def off_cut(typed: Mapping[str, str], parts: Sequence[tuple[int, str]]) -> OffCutForm:
    """`parts`: number and name of each. Raises BadInput."""
    fields = Fields(typed)
    name = fields.text("part", "What it was cut from", most=LONGEST_NAME, required=True)
    found = [part_id for part_id, known in parts if known.casefold() == name.casefold()]
    if name and not found:
        some = ", ".join(known for _, known in parts[:3])
        fields.refuse(
            "part", f"No part is called “{name}”.", f"a part's name: {some}" if some else "add it first"
        )
    length = fields.quantity(
        "length", "Length", Kind.length, required=True, least=0.01, most=LONGEST_STOCK, accepts=LENGTHS
    )
    note = fields.text("note", "Note", most=200)
    fields.done()
    if not found or length is None:
        raise BadInput((), typed)
    return OffCutForm(found[0], length.value, note)


def used_up(typed: Mapping[str, str]) -> bool:
    """Whether an off-cut is used up (`yes`) or lies there after all (`no`). Raises BadInput."""
    return one_of_two(typed, "used", "Used up")


@dataclass(frozen=True, slots=True)
class CutForm:
    """A length to take out of a pipe [m]: where the first cut is, and how much comes out."""

    cut: float
    taken_out: float
    join: Join
    to_shelf: bool


def cut_form(typed: Mapping[str, str], joins: Sequence[Join]) -> CutForm:
    """Raises BadInput. `joins`: how the halves may be joined again here."""
    fields = Fields(typed)
    taken_out = fields.quantity(
        "take_out",
        "Length to take out",
        Kind.length,
        unit="mm",
        required=True,
        least=0.001,
        most=LONGEST_STOCK,
    )
    cut = fields.quantity(
        "cut_at", "First cut", Kind.length, unit="mm", required=True, least=0.0, most=LONGEST_STOCK
    )
    join = fields.choice("join", "Joined again by", [join.value for join in joins])
    fields.done()
    if cut is None or taken_out is None:
        raise BadInput((), typed)
    return CutForm(cut.value, taken_out.value, Join(join), fields.flag("to_shelf"))
