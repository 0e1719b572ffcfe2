"""What the builder types about parts."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.web.fields import Fields

KINDS = (
    "",
    "tube",
    "bend",
    "coupler",
    "hose",
    "clamp",
    "flange",
    "gasket",
    "fitting",
    "fastener",
    "sensor",
    "fluid",
    "other",
)
ORIGINS = ("buy", "make", "salvage", "borrowed")
TRIED = ("", "not tried", "fits", "does not")
"""How a borrowed fitting stands; empty for parts that need no trying on."""
MOST_PIECES = 100_000
LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class PartForm:
    """`price_minor` is for one, in whole minor units."""

    name: str
    kind: str
    origin: str
    tried: str
    price_minor: int | None
    note: str


@dataclass(frozen=True, slots=True)
class NewPart:
    form: PartForm
    count: int
    """Pieces that lie in the garage already."""


@dataclass(frozen=True, slots=True)
class PartEdit:
    version: int
    form: PartForm


@dataclass(frozen=True, slots=True)
class ShelfForm:
    """Either one piece more or less (`change`), or the number that was counted (`count`)."""

    change: int = 0
    count: int | None = None


def _part(fields: Fields) -> PartForm:
    origin = fields.choice("origin", "Where it comes from", ORIGINS, default="buy")
    tried = fields.choice("tried", "Tried on", TRIED, default="")
    if origin == "borrowed" and not tried:
        tried = "not tried"
    return PartForm(
        name=fields.text("name", "The part's name", most=LONGEST_NAME, required=True),
        kind=fields.choice("kind", "Kind", KINDS, default=""),
        origin=origin,
        tried=tried if origin == "borrowed" else "",
        price_minor=fields.money("price", "Price"),
        note=fields.text("note", "Note", most=300),
    )


def new_part(typed: Mapping[str, str]) -> NewPart:
    """Raises BadInput."""
    fields = Fields(typed)
    form = _part(fields)
    count = fields.whole("count", "In the garage", least=0, most=MOST_PIECES)
    fields.done()
    return NewPart(form, count or 0)


def part_edit(typed: Mapping[str, str]) -> PartEdit:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    form = _part(fields)
    fields.done()
    return PartEdit(version, form)


def shelf_form(typed: Mapping[str, str]) -> ShelfForm:
    """Raises BadInput."""
    fields = Fields(typed)
    if "change" in typed:
        change = fields.choice("change", "One more or one less", ("+1", "-1"))
        fields.done()
        return ShelfForm(change=int(change))
    count = fields.whole("count", "In the garage", least=0, most=MOST_PIECES, required=True)
    fields.done()
    return ShelfForm(count=count)
