"""Pages about suppliers: who sells parts, on what terms, and what each of them offers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.buying.part import OfferFace, SupplierFace
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Link, Page
from server.web.words import counted, money, plain_money

LABELS = {
    "name": "Name",
    "postage": "Usual postage",
    "free_from": "Postage free from",
    "takes_back": "Takes back what was not used",
    "lead_days": "Usual days to the door",
    "contact": "How to reach them",
    "note": "Note",
}
OFFER_LABELS = {
    "price": "Price of a pack",
    "pack": "Pieces in a pack",
    "code": "Their number for it",
    "lead_days": "Days to the door",
    "note": "Note",
}
SHOWN = 30


@dataclass(frozen=True, slots=True)
class SupplierLine:
    """One supplier of the list."""

    href: str
    name: str
    about: str
    contact: str
    offers: int


@dataclass(frozen=True, slots=True)
class Offered:
    """A part that the supplier offers."""

    part: Link
    told: str


@dataclass(frozen=True, kw_only=True)
class SuppliersPage(Page):
    """Every supplier of the build, and the form for a new one."""

    template: ClassVar[str] = "suppliers/list.html"

    build_id: int
    currency: str
    suppliers: tuple[SupplierLine, ...]
    folded: tuple[SupplierLine, ...]
    form: FormState


@dataclass(frozen=True, kw_only=True)
class SupplierPage(Page):
    """One supplier: the usual terms, and what is offered."""

    template: ClassVar[str] = "suppliers/supplier.html"

    build_id: int
    id: int
    version: int
    name: str
    postage: str
    free_from: str
    takes_back: str
    currency: str
    lead_days: str
    contact: str
    note: str
    about: str
    offered: tuple[Offered, ...]
    folded: tuple[Offered, ...]
    form: FormState


def _terms(supplier: SupplierFace, currency: str) -> str:
    """E.g. "postage 6.50 EUR, free from 90.00 EUR · 5 days"."""
    words = [f"postage {money(supplier.postage_minor, currency)}" if supplier.postage_minor else "no postage"]
    if supplier.postage_minor and supplier.free_from_minor is not None:
        words[0] += f", free from {money(supplier.free_from_minor, currency)}"
    words += [] if supplier.lead_days is None else [counted(supplier.lead_days, "day")]
    return " · ".join(words)


def suppliers_page(
    build: Face,
    suppliers: Sequence[SupplierFace],
    offers: Sequence[OfferFace],
    today: date,
    refused: Refused | None,
) -> SuppliersPage:
    counts: dict[int, int] = {}
    for offer in offers:
        counts[offer.supplier_id] = counts.get(offer.supplier_id, 0) + 1
    lines = tuple(
        SupplierLine(
            urls.supplier(build.id, one.id),
            one.name,
            _terms(one, build.currency),
            one.contact,
            counts.get(one.id, 0),
        )
        for one in suppliers
    )
    return SuppliersPage(
        **heading(build, "Suppliers", today, within="Parts"),
        build_id=build.id,
        currency=build.currency,
        suppliers=lines[:SHOWN],
        folded=lines[SHOWN:],
        form=FormState.of(refused),
    )


def supplier_page(
    build: Face,
    supplier: SupplierFace,
    offers: Sequence[OfferFace],
    part_names: Mapping[int, str],
    today: date,
    refused: Refused | None,
) -> SupplierPage:
    """`offers`: of this supplier only."""
    offered = sorted(
        (_offered(build, offer, part_names[offer.part_id]) for offer in offers),
        key=lambda one: one.part.text.casefold(),
    )
    return SupplierPage(
        **heading(build, supplier.name, today, within="Parts"),
        build_id=build.id,
        id=supplier.id,
        version=supplier.version,
        name=supplier.name,
        postage=plain_money(supplier.postage_minor),
        free_from=plain_money(supplier.free_from_minor),
        takes_back="yes" if supplier.takes_back else "no",
        currency=build.currency,
        lead_days="" if supplier.lead_days is None else str(supplier.lead_days),
        contact=supplier.contact,
        note=supplier.note,
        about=_terms(supplier, build.currency),
        offered=tuple(offered[:SHOWN]),
        folded=tuple(offered[SHOWN:]),
        form=FormState.of(refused),
    )


def _offered(build: Face, offer: OfferFace, part_name: str) -> Offered:
    pack = f" for {offer.pack}" if offer.pack > 1 else ""
    code = f", {offer.code}" if offer.code else ""
    told = f"{money(offer.price_minor, build.currency)}{pack}{code}"
    return Offered(Link(urls.part(build.id, offer.part_id), part_name), told)
