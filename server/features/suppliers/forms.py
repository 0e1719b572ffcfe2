"""What the builder types about suppliers and what they offer."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.web.fields import Fields, one_of_two

LONGEST_LEAD = 730
"""[days]"""
MOST_IN_A_PACK = 100_000
YES_NO = ("no", "yes")


@dataclass(frozen=True, slots=True)
class SupplierForm:
    """Money in whole minor units, postage for one parcel; `lead_days` from order to door."""

    name: str
    postage_minor: int
    free_from_minor: int | None
    takes_back: bool
    lead_days: int | None
    contact: str
    note: str


@dataclass(frozen=True, slots=True)
class SupplierEdit:
    version: int
    form: SupplierForm


@dataclass(frozen=True, slots=True)
class OfferForm:
    """`price_minor` is for a pack; `lead_days` only where it differs from the supplier's usual."""

    price_minor: int
    pack: int
    code: str
    lead_days: int | None
    note: str


@dataclass(frozen=True, slots=True)
class NewOffer:
    supplier: str
    form: OfferForm


@dataclass(frozen=True, slots=True)
class OfferEdit:
    version: int
    form: OfferForm


def _supplier(fields: Fields) -> SupplierForm:
    return SupplierForm(
        name=fields.text("name", "The supplier's name", most=80, required=True),
        postage_minor=fields.money("postage", "Usual postage") or 0,
        free_from_minor=fields.money("free_from", "Postage free from"),
        takes_back=fields.choice("takes_back", "Takes back what was not used", YES_NO, default="no") == "yes",
        lead_days=fields.whole("lead_days", "Usual days to the door", least=0, most=LONGEST_LEAD),
        contact=fields.text("contact", "How to reach them", most=200),
        note=fields.text("note", "Note", most=300),
    )


def new_supplier(typed: Mapping[str, str]) -> SupplierForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = _supplier(fields)
    fields.done()
    return form


def supplier_edit(typed: Mapping[str, str]) -> SupplierEdit:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    form = _supplier(fields)
    fields.done()
    return SupplierEdit(version, form)


def _offer(fields: Fields) -> OfferForm:
    return OfferForm(
        price_minor=fields.money("price", "Price of a pack", required=True) or 0,
        pack=fields.whole("pack", "Pieces in a pack", least=1, most=MOST_IN_A_PACK) or 1,
        code=fields.text("code", "Their number for it", most=80),
        lead_days=fields.whole("lead_days", "Days to the door", least=0, most=LONGEST_LEAD),
        note=fields.text("note", "Note", most=200),
    )


def new_offer(typed: Mapping[str, str]) -> NewOffer:
    """Raises BadInput."""
    fields = Fields(typed)
    supplier = fields.text("supplier", "The supplier's name", most=80, required=True)
    form = _offer(fields)
    fields.done()
    return NewOffer(supplier, form)


def offer_edit(typed: Mapping[str, str]) -> OfferEdit:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    form = _offer(fields)
    fields.done()
    return OfferEdit(version, form)


def preferred(typed: Mapping[str, str]) -> bool:
    """Whether an offer is taken whatever the others ask. Raises BadInput."""
    return one_of_two(typed, "preferred", "Bought here")
