"""The shopping list of a build, offers noted on it, and orders placed from it."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from server.core.buying.cost import Purse
from server.core.buying.listing import (
    Basket,
    Line,
    ShoppingList,
    Spare,
    Stocked,
    shopping_list,
)
from server.core.buying.offers import Offer, Seller
from server.core.buying.order import OrderFace
from server.errors import BadInput, FieldError, NotFound, Refused
from server.features.builds.service import build_face, kept, kept_while
from server.features.builds.store import BuildFace
from server.features.causes.service import Book
from server.features.order_sheet import page as order_page
from server.features.orders.service import NewLine, place_order
from server.features.parts import service as parts
from server.features.parts import store as part_store
from server.features.parts.store import OffCutFace, OfferFace, PartFace
from server.features.parts.tables import Part
from server.features.planning.service import plan_state
from server.features.recutting.service import sizes_wrong_of
from server.features.shopping import forms, page
from server.features.suppliers.service import add_offer
from server.features.work.service import WorkState, work_state

MOST_LINES = 60
"""Lines of one order; what is over stays on the list."""


def listed(session: Session, build: BuildFace, now: datetime) -> ShoppingList:
    """The shopping list as it stands."""
    return _shop(session, build, now)[0]


def _shop(session: Session, build: BuildFace, now: datetime) -> tuple[ShoppingList, "Market"]:
    """The list and what it was made from, worked out once for each state of the build and each day."""
    return kept(build, ("shopping", now.date().isoformat()), lambda: _listed(session, build, now))


def _listed(session: Session, build: BuildFace, now: datetime) -> tuple[ShoppingList, "Market"]:
    state = work_state(session, build, now)
    soon = here_by(session, build, now).items()
    within = tuple((part, max((day - now.date()).days, 0)) for part, day in soon)
    wrong = tuple(sizes_wrong_of(session, build, state.book.parts).items())
    there = market(session, build, state.book, within, wrong)
    return list_of(state, there), there


def here_by(session: Session, build: BuildFace, now: datetime) -> dict[int, date]:
    """The day on which each part that nobody ordered must be here, for the plan, by its number."""
    return {one.part_id: one.here_by for one in plan_state(session, build, now).order_by}


@dataclass(frozen=True, slots=True)
class Market:
    """What can be bought, from whom, and with what money."""

    stocked: tuple[Stocked, ...]
    sellers: tuple[Seller, ...]
    purse: Purse


def market(
    session: Session,
    build: BuildFace,
    book: Book,
    within: tuple[tuple[int, int], ...] = (),
    wrong: tuple[tuple[int, float], ...] = (),
) -> Market:
    """Read in two queries; what a tick or a parcel leaves as it was is not read again.

    within: days until a part must be here, by its number; none where days are not asked about. wrong: the
    chance that its size is wrong by what was read [-], by its number.
    """
    offers = kept(build, ("offers",), lambda: parts.offer_faces(session, build.id))
    sellers = kept(build, ("sellers",), lambda: _sellers(session, build.id))
    lying = book.parts, book.off_cuts, offers, within, wrong
    stocked = kept_while(build.id, ("stocked",), lying, lambda: _stocked(*lying))
    paid = kept_while(build.id, ("spent",), (book.orders,), lambda: spent(book.orders))
    return Market(stocked, sellers, Purse(paid, build.budget_minor, build.week_minor))


def _sellers(session: Session, build_id: int) -> tuple[Seller, ...]:
    return tuple(
        Seller(one.id, one.name, one.postage_minor, one.lead_days, one.free_from_minor, one.takes_back)
        for one in parts.supplier_faces(session, build_id)
    )


def list_of(state: WorkState, there: Market) -> ShoppingList:
    """The shopping list of a build as it stands, or as it would stand."""
    return shopping_list(state.needs.wants, there.stocked, state.supplies, there.sellers, there.purse)


def _stocked(
    there: Sequence[PartFace],
    lying: Sequence[OffCutFace],
    asked: Sequence[OfferFace],
    within: Sequence[tuple[int, int]],
    wrong: Sequence[tuple[int, float]],
) -> tuple[Stocked, ...]:
    """The parts with what lies on the shelf of them and what is asked for them; by number as in `market`."""
    soon, by_reading = dict(within), dict(wrong)
    off_cuts: dict[int, list[float]] = {}
    for cut in lying:
        if not cut.used:
            off_cuts.setdefault(cut.part_id, []).append(cut.length)
    offers: dict[int, list[Offer]] = {}
    for offer in asked:
        offers.setdefault(offer.part_id, []).append(_offer(offer))
    return tuple(
        Stocked(
            part.id,
            part.name,
            part.kind,
            part.origin,
            part.price_minor,
            part.stock_length,
            0 if part.set_aside else part.spares,
            part.spare_reason,
            tuple(off_cuts.get(part.id, ())),
            tuple(offers.get(part.id, ())),
            soon.get(part.id),
            by_reading.get(part.id),
        )
        for part in there
    )


def _offer(face: OfferFace) -> Offer:
    return Offer(
        face.id,
        face.supplier_id,
        face.supplier,
        face.price_minor,
        face.pack,
        face.code,
        face.lead_days,
        face.preferred,
    )


def spent(orders: Sequence[OrderFace]) -> int:
    """What all orders cost so far, in minor units, less what came back."""
    return sum(order.total_minor for order in orders)


def _of_supplier(found: ShoppingList, there: Market, supplier_id: int) -> Basket:
    """What is bought there now, maybe nothing. Raises NotFound where there is no such supplier."""
    for basket in found.baskets:
        if basket.seller is not None and basket.seller.id == supplier_id:
            return basket
    for seller in there.sellers:
        if seller.id == supplier_id:
            return Basket(seller, (), ())
    raise NotFound("There is no such supplier in this build.")


def _digest(basket: Basket) -> str:
    """Tells one state of a supplier's lines from another."""
    told = [(one.part_id, one.quantity, one.offer and one.offer.id, one.cost_minor) for one in basket.bought]
    return hashlib.sha256(repr(told).encode()).hexdigest()[:16]


def _asked(basket: Basket) -> list[forms.Asked]:
    return [
        forms.Asked(one.part_id or 0, one.name, one.offer.pack if one.offer else 1, isinstance(one, Spare))
        for one in basket.bought[:MOST_LINES]
    ]


def order_from_list(
    session: Session, build_id: int, supplier_id: int, typed: Mapping[str, str], now: datetime
) -> int:
    """Place the order that the sheet shows; its number. Raises NotFound, BadInput."""
    build = build_face(session, build_id)
    basket = _of_supplier(*_shop(session, build, now), supplier_id)
    form = forms.order_form(typed, _asked(basket), _digest(basket), now.date())
    offers = {one.part_id: one.offer for one in basket.bought if one.offer is not None}
    lines = [
        NewLine(part_id, count, offers[part_id].price_minor, offers[part_id].pack)
        for part_id, count in form.pieces.items()
    ]
    name = basket.seller.name if basket.seller else ""
    return place_order(
        session, build_id, name, form.ordered_on, form.due_on, form.postage_minor, lines, form.note
    )


def note_offer(session: Session, build_id: int, typed: Mapping[str, str], now: datetime) -> str:
    """Note who sells something on the list and for how much; the supplier's name.

    A part is made of it where it is none yet. Raises NotFound, BadInput.
    """
    build = build_face(session, build_id)
    form = forms.offered_form(typed)
    line = _named(listed(session, build, now), form.key)
    if line is None:
        message = "This is no longer on the list without an offer."
        raise BadInput((FieldError("supplier", message, "an offer for a line that stands there now"),), typed)
    part_id = line.part_id or parts.part_for_spec(session, build_id, form.key, line.name, line.kind)
    if form.stock_length is not None:
        part_store.set_values(session, Part, part_id, stock_length=form.stock_length)
    add_offer(session, build_id, part_id, form.offer)
    return form.offer.supplier


OVERRULED = "you said so on the shopping list"
"""Why there are so many spares, where the builder overruled the rule without a reason."""


def keep_spares(session: Session, build_id: int, typed: Mapping[str, str]) -> None:
    """So many spares of a part from now on, whatever the rule says. Raises NotFound, BadInput."""
    form = forms.spares_form(typed)
    part = part_store.load_part(session, build_id, form.part_id)
    reason = part.spare_reason or (OVERRULED if form.spares else "")
    part_store.set_values(session, Part, part.key, spares=form.spares, spare_reason=reason)


def _named(found: ShoppingList, key: str) -> Line | Spare | None:
    for line in found.unoffered.lines:
        if line.key == key:
            return line
    return next((one for one in found.unoffered.spares if one.key == key), None)


def shopping_page(
    session: Session,
    build_id: int,
    now: datetime,
    at: page.At,
    refused: Refused | None = None,
    key: str = "",
) -> page.ShoppingPage:
    """`key` names the line whose form was refused. Raises NotFound."""
    build = build_face(session, build_id)
    found, there = _shop(session, build, now)
    names = tuple(seller.name for seller in there.sellers)
    when = page.When(now.date(), here_by(session, build, now))
    merged = _merged(work_state(session, build, now).book.parts)
    return page.shopping_page(build, found, names, when, at, page.RefusedOffer(refused, key), merged)


def _merged(there: Sequence[PartFace]) -> tuple[page.Merged, ...]:
    names = {part.id: part.name for part in there}
    return tuple(
        page.Merged(part.id, f"{part.name} is bought as {names[part.same_as]}")
        for part in there
        if part.same_as in names and not part.set_aside
    )


def merge(session: Session, build_id: int, typed: Mapping[str, str]) -> None:
    """Buy a part as another one from now on, or by itself again. Raises NotFound, BadInput."""
    form = forms.merge_form(typed)
    part = part_store.load_part(session, build_id, form.part_id)
    if form.same_as is not None:
        other = part_store.load_part(session, build_id, form.same_as)
        if other.same_as_id is not None or other.key == part.key:
            message = "That one is bought as another part itself."
            raise BadInput((FieldError("same_as", message, "a part that stands on the list"),), typed)
    part_store.set_values(session, Part, part.key, same_as_id=form.same_as)


def order_sheet(
    session: Session, build_id: int, supplier_id: int, now: datetime, refused: Refused | None = None
) -> order_page.OrderSheetPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    basket = _of_supplier(*_shop(session, build, now), supplier_id)
    return order_page.order_sheet(build, basket, _digest(basket), MOST_LINES, now.date(), refused)
