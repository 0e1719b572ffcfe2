"""What the builder types about parts."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.units import Kind
from server.web.fields import Fields, one_of_two

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
LONGEST_STOCK = 30.0
"""[m]: no part is sold in one length longer than that, and no off-cut is."""
LENGTHS = "a length with its unit, such as 2 m, 500 mm or 6 ft"


@dataclass(frozen=True, slots=True)
class Ask:
    """Which parts a list shows: those whose name has these words, of one kind, after so many others."""

    name: str = ""
    kind: str = ""
    start: int = 0


ALL = Ask()


@dataclass(frozen=True, slots=True)
class PartForm:
    """`price_minor` is for one, in whole minor units."""

    name: str
    kind: str
    origin: str
    tried: str
    price_minor: int | None
    note: str
    spec: str
    stock_length: float | None
    """[m]"""
    spares: int | None
    spare_reason: str


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
    stock_length = fields.quantity(
        "stock_length", "Sold in lengths of", Kind.length, least=0.01, most=LONGEST_STOCK, accepts=LENGTHS
    )
    spares = fields.whole("spares", "Spares to have", least=0, most=MOST_PIECES)
    spare_reason = fields.text("spare_reason", "Why spares", most=200)
    if spares and not spare_reason:
        fields.refuse("spare_reason", "Say why spares are wanted.", "a few words, such as: seals once only")
    return PartForm(
        name=fields.text("name", "The part's name", most=LONGEST_NAME, required=True),
        kind=fields.choice("kind", "Kind", KINDS, default=""),
        origin=origin,
        tried=tried if origin == "borrowed" else "",
        price_minor=fields.money("price", "Price"),
        note=fields.text("note", "Note", most=300),
        spec=fields.text("spec", "What runs call it", most=160),
        stock_length=stock_length.value if stock_length else None,
        spares=spares,
        spare_reason=spare_reason,
    )


def ask(typed: Mapping[str, str]) -> Ask:
    """What an address or a form says of the list it stands on; what can't be read asks for nothing."""
    kind = typed.get("kind", "")
    start = typed.get("from", "")
    return Ask(
        typed.get("name", "").strip()[:LONGEST_NAME],
        kind if kind in KINDS else "",
        int(start) if start.isascii() and start.isdigit() and len(start) < 7 else 0,
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


def tried_form(typed: Mapping[str, str]) -> str:
    """How a borrowed part went on. Raises BadInput."""
    fields = Fields(typed)
    tried = fields.choice("tried", "Tried on", [answer for answer in TRIED if answer])
    fields.done()
    return tried


def set_aside(typed: Mapping[str, str]) -> bool:
    """Whether something is to be set aside (`yes`) or put back (`no`). Raises BadInput."""
    return one_of_two(typed, "aside", "Set aside")
