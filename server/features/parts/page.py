"""Pages about parts: what is in the garage, in the post, needed and short; one part and who offers it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar, Protocol

from server.core.buying.part import OfferFace, PartFace
from server.core.buying.stock import Supply
from server.core.units import Kind, System, from_si
from server.errors import BadInput, Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Link, News, Page, Quantity
from server.web.words import counted, day_text, days_late, money, plain_money

LABELS = {
    "name": "Name",
    "kind": "Kind",
    "origin": "Where it comes from",
    "tried": "Tried on",
    "price": "Price for one",
    "note": "Note",
    "spec": "What runs call it",
    "stock_length": "Sold in lengths of",
    "spares": "Spares to have",
    "spare_reason": "Why spares",
}
ORIGIN_WORDS = {"buy": "to buy", "make": "to make", "salvage": "salvaged", "borrowed": "borrowed to try"}
TRIED_WORDS = {
    "not tried": "not tried on yet",
    "fits": "tried on: fits",
    "does not": "tried on: does not fit",
}
SHOWN = 30
"""Parts on one sheet of a list."""


class Asked(Protocol):
    """Which parts a list shows."""

    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def start(self) -> int: ...


@dataclass(frozen=True, slots=True)
class RefusedForm:
    """A form that was refused, and which of the sheet's: part, count, offer (with its number), new offer."""

    refused: Refused | None = None
    form: str = "part"
    number: int = 0

    def of(self, form: str, number: int = 0) -> FormState:
        """How the named form is shown: as it was refused, or fresh."""
        mine = self.form == form and self.number == number
        return FormState.of(self.refused if mine else None)

    @property
    def message(self) -> str:
        """Why one tap was refused; it stands at the head of the sheet."""
        refused = self.refused if self.form == "act" else None
        return refused.errors[0].message if isinstance(refused, BadInput) and refused.errors else ""


FIRST_SHOWN = RefusedForm()


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


@dataclass(frozen=True, slots=True)
class Sheets:
    """Where a long list goes on: which of how many are shown here, and the addresses before and after."""

    first: int
    last: int
    total: int
    next: Link | None
    back: Link | None

    @classmethod
    def of(cls, total: int, ask: Asked, sheet: str, shown: int = SHOWN) -> "Sheets":
        def at(start: int, words: str) -> Link:
            return Link(urls.part_list(sheet, ask.name, ask.kind, start), words)

        start = ask.start if ask.start < total else 0
        last = min(start + shown, total)
        rest = min(total - last, shown)
        return cls(
            start + 1,
            last,
            total,
            at(last, f"The next {rest}") if rest else None,
            at(max(start - shown, 0), "The ones before") if start else None,
        )


@dataclass(frozen=True, kw_only=True)
class PartsPage(Page):
    """The parts of the build, the short ones first, and the form for a new one."""

    template: ClassVar[str] = "parts/list.html"
    fragments: ClassVar[dict[str, str]] = {"part-list": "part_list"}

    build_id: int
    currency: str
    name: str
    kind: str
    start: int
    sheets_of: Sheets
    all_short: int
    short: tuple[PartLine, ...]
    others: tuple[PartLine, ...]
    aside: tuple[Link, ...]
    aside_count: int
    news: News | None
    form: FormState


@dataclass(frozen=True, slots=True)
class CallLine:
    """A task that calls for the part: how many, and how it stands with them."""

    task: Link
    quantity: int
    state: str


@dataclass(frozen=True, slots=True)
class OfferLine:
    """One offer: as it is told, and what stands in its fields."""

    id: int
    version: int
    supplier: Link
    told: str
    about: str
    preferred: bool
    price: str
    pack: int
    code: str
    lead_days: str
    note: str
    form: FormState = field(default_factory=FormState)


@dataclass(frozen=True, kw_only=True)
class PartPage(Page):
    """One part: its counts, who calls for it, who offers it, its settings."""

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
    spec: str
    stock_length: str
    sold_in: Quantity | None
    spares: int | None
    spare_reason: str
    set_aside: bool
    counts: PartCounts
    calls: tuple[CallLine, ...]
    coming: tuple[Link, ...]
    offers: tuple[OfferLine, ...]
    gone: tuple[OfferLine, ...]
    suppliers: tuple[str, ...]
    message: str
    news: News | None
    form: FormState
    count_form: FormState
    offer_form: FormState


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


def length_typed(length: float | None, system: System) -> str:
    """A length to put into a field, exact enough to come back the same: "2000 mm", "72 in"."""
    if length is None:
        return ""
    unit, word = ("inch", "in") if system is System.inch else ("millimeter", "mm")
    return f"{from_si(length, unit):.7g} {word}"


def about(part: PartFace, currency: str) -> str:
    words = (
        part.kind,
        ORIGIN_WORDS[part.origin],
        TRIED_WORDS.get(part.tried, ""),
        money(part.price_minor, currency),
    )
    return " · ".join(word for word in words if word)


def asked_for(parts: Sequence[PartFace], ask: Asked) -> list[PartFace]:
    """The parts whose name has every word asked for, of the kind asked for."""
    words = ask.name.casefold().split()
    return [
        part
        for part in parts
        if all(word in part.name.casefold() for word in words) and ask.kind in ("", part.kind)
    ]


def _line(build: Face, part: PartFace, supply: Supply | None) -> PartLine:
    return PartLine(
        part.id,
        urls.part(build.id, part.id),
        part.name,
        about(part, build.currency),
        counts_of(supply),
    )


def parts_page(
    build: Face,
    parts: Sequence[PartFace],
    supplies: Mapping[int, Supply],
    ask: Asked,
    today: date,
    news: News | None,
    refused: Refused | None,
) -> PartsPage:
    """`parts` with those set aside."""
    listed = asked_for([part for part in parts if not part.set_aside], ask)
    gone = asked_for([part for part in parts if part.set_aside], ask)
    short = {number for number, supply in supplies.items() if supply.short}
    listed.sort(key=lambda part: part.id not in short)
    sheets = Sheets.of(len(listed), ask, urls.parts(build.id))
    shown = listed[sheets.first - 1 : sheets.last]
    here = [_line(build, part, supplies.get(part.id)) for part in shown]
    return PartsPage(
        **heading(build, "Parts", today),
        build_id=build.id,
        currency=build.currency,
        name=ask.name,
        kind=ask.kind,
        start=sheets.first - 1,
        sheets_of=sheets,
        all_short=sum(1 for part in listed if part.id in short),
        short=tuple(line for line in here if line.counts.short),
        others=tuple(line for line in here if not line.counts.short),
        aside=tuple(Link(urls.part(build.id, part.id), part.name) for part in gone[:SHOWN]),
        aside_count=len(gone),
        news=news,
        form=FormState.of(refused),
    )


def call_lines(build: Face, supply: Supply | None, titles: Mapping[int, str]) -> tuple[CallLine, ...]:
    """The tasks that call for a part, in the order in which they get it."""
    found = []
    for one in supply.allotted if supply else ():
        words = [f"{one.short} short"] if one.short else []
        words += [f"{one.quantity - one.in_hand - one.short} on order"] if one.awaited else []
        title = titles.get(one.task_id, "a task")
        state = ", ".join(words) or "all here"
        found.append(CallLine(Link(urls.task(build.id, one.task_id), title), one.quantity, state))
    return tuple(found)


def _coming(build: Face, supply: Supply | None) -> tuple[Link, ...]:
    found = []
    for order in supply.on_order if supply else ():
        due = f", due {day_text(order.due_on)}" if order.due_on else ", no day promised"
        late = f", {days_late(order.late_days)}" if order.late_days else ""
        text = f"{order.quantity} from {order.supplier}{due}{late}"
        found.append(Link(urls.order(build.id, order.order_id), text))
    return tuple(found)


def offer_line(build: Face, offer: OfferFace, form: FormState) -> OfferLine:
    """E.g. "24.50 EUR for 10, 2.45 EUR each", "6 days, number TC-80"."""
    told = money(offer.price_minor, build.currency)
    if offer.pack > 1:
        each = money(round(offer.price_minor / offer.pack), build.currency)
        told += f" for {offer.pack}, {each} each"
    days = "" if offer.lead_days is None else counted(offer.lead_days, "day")
    words = (days, f"their number {offer.code}" if offer.code else "", offer.note)
    return OfferLine(
        offer.id,
        offer.version,
        Link(urls.supplier(build.id, offer.supplier_id), offer.supplier),
        told,
        " · ".join(word for word in words if word),
        offer.preferred,
        plain_money(offer.price_minor),
        offer.pack,
        offer.code,
        "" if offer.own_lead_days is None else str(offer.own_lead_days),
        offer.note,
        form,
    )


def part_page(
    build: Face,
    part: PartFace,
    supply: Supply | None,
    titles: Mapping[int, str],
    offers: Sequence[OfferFace],
    suppliers: Sequence[str],
    today: date,
    news: News | None,
    refused: RefusedForm,
) -> PartPage:
    lines = [(offer, offer_line(build, offer, refused.of("offer", offer.id))) for offer in offers]
    sold_in = None
    if part.stock_length is not None:
        sold_in = Quantity.of(part.stock_length, Kind.length, build.system)
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
        spec=part.spec,
        stock_length=length_typed(part.stock_length, build.system),
        sold_in=sold_in,
        spares=part.spares,
        spare_reason=part.spare_reason,
        set_aside=part.set_aside,
        counts=counts_of(supply),
        calls=call_lines(build, supply, titles),
        coming=_coming(build, supply),
        offers=tuple(line for offer, line in lines if not offer.set_aside),
        gone=tuple(line for offer, line in lines if offer.set_aside),
        suppliers=tuple(suppliers),
        message=refused.message,
        news=news,
        form=refused.of("part"),
        count_form=refused.of("count"),
        offer_form=refused.of("new offer"),
    )


def standing_in_the_way(build: Face, part: PartFace, supply: Supply | None, titles: Mapping[int, str]) -> str:
    """Why a part is not set aside: what calls for it and what is still to come; empty where nothing does."""
    calls, coming = call_lines(build, supply, titles), _coming(build, supply)
    told = [f"‘{call.task.text}’ calls for {call.quantity}" for call in calls[:3]]
    told += [f"{counted(len(calls) - 3, 'more task')} too"] if len(calls) > 3 else []
    told += [f"on order: {link.text}" for link in coming[:3]]
    return f"{part.name} is not set aside: {'; '.join(told)}." if told else ""
