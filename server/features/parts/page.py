"""Pages about parts: what is in the garage, in the post, needed and short."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Protocol

from server.core.buying.stock import Supply
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Page
from server.web.words import money, plain_money

LABELS = {
    "name": "Name",
    "kind": "Kind",
    "origin": "Where it comes from",
    "tried": "Tried on",
    "price": "Price for one",
    "note": "Note",
}
ORIGIN_WORDS = {"buy": "to buy", "make": "to make", "salvage": "salvaged", "borrowed": "borrowed to try"}
TRIED_WORDS = {
    "not tried": "not tried on yet",
    "fits": "tried on: fits",
    "does not": "tried on: does not fit",
}


class PartFace(Protocol):
    """What a page needs to know of a part."""

    @property
    def id(self) -> int: ...
    @property
    def version(self) -> int: ...
    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def origin(self) -> str: ...
    @property
    def tried(self) -> str: ...
    @property
    def price_minor(self) -> int | None: ...
    @property
    def note(self) -> str: ...


@dataclass(frozen=True, slots=True)
class PartCounts:
    """Pieces of one part: in the garage, in the post (and how late), called for, coming from nowhere."""

    in_hand: int = 0
    on_order: int = 0
    late_days: int = 0
    needed: int = 0
    short: int = 0
    unusable: int = 0


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part of the list."""

    id: int
    href: str
    name: str
    about: str
    counts: PartCounts


@dataclass(frozen=True, kw_only=True)
class PartsPage(Page):
    """Every part of the build, the short ones first, and the form for a new one."""

    template: ClassVar[str] = "parts/list.html"
    fragments: ClassVar[dict[str, str]] = {"part-list": "part_list"}

    build_id: int
    currency: str
    short: tuple[PartLine, ...]
    others: tuple[PartLine, ...]
    form: FormState


@dataclass(frozen=True, kw_only=True)
class PartPage(Page):
    """One part: its counts and its settings."""

    template: ClassVar[str] = "parts/part.html"

    build_id: int
    id: int
    version: int
    name: str
    kind: str
    origin: str
    tried: str
    price: str
    currency: str
    note: str
    counts: PartCounts
    form: FormState


def counts_of(supply: Supply | None) -> PartCounts:
    if supply is None:
        return PartCounts()
    return PartCounts(
        in_hand=supply.in_hand,
        on_order=sum(order.quantity for order in supply.on_order),
        late_days=max((order.late_days for order in supply.on_order), default=0),
        needed=sum(allotment.quantity for allotment in supply.allotted),
        short=supply.short,
        unusable=supply.unusable,
    )


def _about(part: PartFace, currency: str) -> str:
    words = (
        part.kind,
        ORIGIN_WORDS[part.origin],
        TRIED_WORDS.get(part.tried, ""),
        money(part.price_minor, currency),
    )
    return " · ".join(word for word in words if word)


def _line(build: Face, part: PartFace, supply: Supply | None) -> PartLine:
    return PartLine(
        part.id,
        urls.part(build.id, part.id),
        part.name,
        _about(part, build.currency),
        counts_of(supply),
    )


def parts_page(
    build: Face,
    parts: Sequence[PartFace],
    supplies: Mapping[int, Supply],
    today: date,
    refused: Refused | None,
) -> PartsPage:
    lines = [_line(build, part, supplies.get(part.id)) for part in parts]
    return PartsPage(
        **heading(build, "Parts", today),
        build_id=build.id,
        currency=build.currency,
        short=tuple(line for line in lines if line.counts.short),
        others=tuple(line for line in lines if not line.counts.short),
        form=FormState.of(refused),
    )


def part_page(
    build: Face, part: PartFace, supply: Supply | None, today: date, refused: Refused | None
) -> PartPage:
    return PartPage(
        **heading(build, part.name, today, within="Parts"),
        build_id=build.id,
        id=part.id,
        version=part.version,
        name=part.name,
        kind=part.kind,
        origin=part.origin,
        tried=part.tried,
        price=plain_money(part.price_minor),
        currency=build.currency,
        note=part.note,
        counts=counts_of(supply),
        form=FormState.of(refused),
    )
