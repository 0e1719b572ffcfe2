"""What can be done with suppliers and what they offer, and their pages."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime

from sqlmodel import Session

from server.errors import BadInput, FieldError, Refused, Stale
from server.features.builds.service import build_face, clashes
from server.features.parts import store
from server.features.parts.service import known_offers, known_parts, supplier_faces, supplier_named
from server.features.parts.tables import Offer, Supplier
from server.features.suppliers import forms, page
from server.web.words import plain_money


def add_supplier(session: Session, build_id: int, form: forms.SupplierForm, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput where there is one of that name."""
    build_face(session, build_id)
    _name_is_free(session, build_id, 0, form.name, typed)
    return store.add(session, Supplier(build_id=build_id, **asdict(form)))


def edit_supplier(
    session: Session, build_id: int, supplier_id: int, edit: forms.SupplierEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, BadInput, Stale with both values of every field that differs."""
    stands = store.load_supplier(session, build_id, supplier_id)
    _name_is_free(session, build_id, supplier_id, edit.form.name, typed)
    values = asdict(edit.form)
    if not store.edit(session, Supplier, supplier_id, edit.version, values):
        raise Stale(clashes(page.LABELS, _as_shown(values), _as_shown(stands.model_dump())), typed)
    session.expire(stands)


def _name_is_free(
    session: Session, build_id: int, supplier_id: int, name: str, typed: Mapping[str, str]
) -> None:
    for row in store.suppliers(session, build_id):
        if row.name.casefold() == name.casefold() and row.key != supplier_id:
            message = f"There is a supplier called {row.name} already."
            raise BadInput((FieldError("name", message, "another name"),), typed)


def _as_shown(values: Mapping[str, object]) -> dict[str, object]:
    """As the fields show it: money with its decimals, nothing where nothing is known."""
    shown = {name: "" if value is None else value for name, value in values.items()}
    for name in ("postage", "free_from", "price"):
        minor = values.get(f"{name}_minor")
        shown[name] = plain_money(minor if isinstance(minor, int) else None)
    shown["takes_back"] = "yes" if values.get("takes_back") else "no"
    return shown


def add_offer(session: Session, build_id: int, part_id: int, new: forms.NewOffer) -> int:
    """An offer of the supplier of that name, who is new where not known yet. Raises NotFound."""
    store.load_part(session, build_id, part_id)
    supplier_id = supplier_named(session, build_id, new.supplier)
    return store.add(session, Offer(part_id=part_id, supplier_id=supplier_id, **asdict(new.form)))


def part_of_offer(session: Session, build_id: int, offer_id: int) -> int:
    """The number of the part that is offered. Raises NotFound."""
    return store.load_offer(session, build_id, offer_id).part_id


def edit_offer(
    session: Session, build_id: int, offer_id: int, edit: forms.OfferEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, Stale with both values of every field that differs."""
    stands = store.load_offer(session, build_id, offer_id)
    values = asdict(edit.form)
    if not store.edit(session, Offer, offer_id, edit.version, values):
        raise Stale(clashes(page.OFFER_LABELS, _as_shown(values), _as_shown(stands.model_dump())), typed)
    session.expire(stands)


def prefer(session: Session, build_id: int, offer_id: int, preferred: bool) -> None:
    """Take one of a part's offers whatever the others ask, or the cheapest again. Raises NotFound."""
    offer = store.load_offer(session, build_id, offer_id)
    if preferred:
        store.prefer(session, offer.part_id, offer_id)
    else:
        store.set_values(session, Offer, offer_id, preferred=False)


def set_offer_aside(session: Session, build_id: int, offer_id: int, aside: bool, now: datetime) -> None:
    """Raises NotFound."""
    store.load_offer(session, build_id, offer_id)
    if aside:
        store.set_values(session, Offer, offer_id, removed_at=now, preferred=False)
    else:
        store.set_values(session, Offer, offer_id, removed_at=None)


def suppliers_page(
    session: Session, build_id: int, now: datetime, refused: Refused | None = None
) -> page.SuppliersPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    suppliers, offers = supplier_faces(session, build_id), known_offers(session, build)
    return page.suppliers_page(build, suppliers, offers, now.date(), refused)


def supplier_page(
    session: Session, build_id: int, supplier_id: int, now: datetime, refused: Refused | None = None
) -> page.SupplierPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    supplier = store.supplier_face(store.load_supplier(session, build_id, supplier_id))
    offers = [one for one in known_offers(session, build) if one.supplier_id == supplier_id]
    names = {part.id: part.name for part in known_parts(session, build) if not part.set_aside}
    return page.supplier_page(build, supplier, offers, names, now.date(), refused)
