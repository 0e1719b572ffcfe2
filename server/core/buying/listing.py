"""The shopping list: what is still called for, less what is there or coming, by supplier, spares apart."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from server.core.buying.choice import Ask, Chosen, choose
from server.core.buying.cost import Purse
from server.core.buying.lengths import CutPlan, cut_plan
from server.core.buying.offers import Offer, Seller
from server.core.buying.spares import Advice, advised, by_readings, usual_chance
from server.core.buying.stock import Supply
from server.core.buying.wants import Want, Who

BOUGHT = "buy"
"""The origin of parts that are bought; all others are listed apart."""


@dataclass(frozen=True, slots=True)
class Stocked:
    """A part as the list of parts knows it.

    price_minor: what one is thought to cost where nobody offers it; stock_length: one as sold [m], for what
    is sold by length; off_cuts: what lies on the shelf of it [m]; spares: wanted over what is needed, none
    where the rule says how many; within: days until it must be here, none where no planned work waits for it;
    wrong: the chance that its size is wrong by the readings of what it fits [-], none where none were taken.
    """

    part_id: int
    name: str
    kind: str = ""
    origin: str = BOUGHT
    price_minor: int | None = None
    stock_length: float | None = None
    spares: int | None = None
    spare_reason: str = ""
    off_cuts: tuple[float, ...] = ()
    offers: tuple[Offer, ...] = ()
    within: int | None = None
    wrong: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One part to buy.

    needed: pieces for what is not done yet; in_hand, on_order: what there is of them; quantity: pieces to
    order, in whole packs; left_over: how many of those nothing calls for; cost_minor: none where no price is
    known; cutting: for what is sold by length.
    """

    key: str
    part_id: int | None
    spec: str
    name: str
    kind: str
    needed: int
    in_hand: int
    on_order: int
    quantity: int
    left_over: int
    offer: Offer | None
    cost_minor: int | None
    by: tuple[Who, ...]
    cutting: CutPlan | None = None


@dataclass(frozen=True, slots=True)
class Spare:
    """Pieces to have over what is needed, with the reason; quantity: to order, in whole packs.

    advice: what the rule rests on, none where the builder said how many.
    """

    part_id: int
    name: str
    kind: str
    wanted: int
    quantity: int
    offer: Offer | None
    cost_minor: int | None
    reason: str
    advice: Advice | None = None

    @property
    def key(self) -> str:
        """Of what a line of the part would have."""
        return f"part:{self.part_id}"


@dataclass(frozen=True, slots=True)
class Apart:
    """Something called for that is not to be bought, or not yet: how many, where from, why it waits."""

    part_id: int | None
    name: str
    quantity: int
    lengths: tuple[float, ...]
    origin: str
    why: str
    by: tuple[Who, ...]


@dataclass(frozen=True, slots=True)
class Basket:
    """All that is bought from one supplier in one parcel; `seller` none for what nobody offers yet."""

    seller: Seller | None
    lines: tuple[Line, ...]
    spares: tuple[Spare, ...]

    @property
    def bought(self) -> tuple[Line | Spare, ...]:
        return (*self.lines, *self.spares)

    @property
    def goods_minor(self) -> int:
        return sum(line.cost_minor or 0 for line in self.lines)

    @property
    def spares_minor(self) -> int:
        return sum(spare.cost_minor or 0 for spare in self.spares)

    @property
    def postage_minor(self) -> int:
        return self.seller.postage(self.goods_minor + self.spares_minor) if self.seller else 0

    @property
    def total_minor(self) -> int:
        return self.goods_minor + self.spares_minor + self.postage_minor

    @property
    def unpriced(self) -> int:
        """Lines and spares without a price."""
        return sum(1 for one in self.bought if one.cost_minor is None)

    @property
    def lead_days(self) -> int | None:
        """The longest wait among its lines [days]; none where nobody said one."""
        usual = self.seller.lead_days if self.seller else None
        known = [one.offer.lead_days if one.offer else None for one in self.bought]
        days = [usual if one is None else one for one in known]
        return max((one for one in days if one is not None), default=None)


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums in minor units; left_minor: of the budget once all is bought, below zero where it is overdrawn."""

    goods_minor: int
    postage_minor: int
    spares_minor: int
    unpriced: int
    purse: Purse

    @property
    def to_buy_minor(self) -> int:
        return self.goods_minor + self.postage_minor + self.spares_minor

    @property
    def left_minor(self) -> int | None:
        if self.purse.budget_minor is None:
            return None
        return self.purse.budget_minor - self.purse.spent_minor - self.to_buy_minor


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """baskets: by supplier; unoffered: what nobody offers yet; not_bought: made, salvaged or borrowed;
    waiting: what can't be ordered yet, each with its reason; chosen: how suppliers were chosen; asked: what
    was asked of them, by part number."""

    baskets: tuple[Basket, ...]
    unoffered: Basket
    not_bought: tuple[Apart, ...]
    waiting: tuple[Apart, ...]
    totals: Totals
    chosen: Chosen
    asked: Mapping[int, Ask]


def shopping_list(
    wants: Iterable[Want],
    parts: Iterable[Stocked],
    supplies: Mapping[int, Supply],
    sellers: Iterable[Seller],
    purse: Purse,
) -> ShoppingList:
    """Everything still to be bought, once, from the suppliers that together cost least, and what is apart.

    What is in hand or on order is taken off first what is needed, then off the spares. Pieces left over from
    a pack count as spares. Nothing is left out for the sake of the budget.
    Source: definition (counting); `choice.choose`; `spares.advised`.
    """
    known = {part.part_id: part for part in parts}
    sellers = tuple(sellers)
    not_bought: list[Apart] = []
    waiting: list[Apart] = []
    entries: list[_Entry] = []
    called_for = set()
    for want in wants:
        part = known.get(want.part_id or 0) or _unknown(want)
        called_for.add(part.part_id)
        account = _account(part, want, supplies.get(part.part_id))
        if want.unsure:
            waiting.append(_apart(want, account, want.unsure))
        elif want.origin != BOUGHT:
            if account.short:
                not_bought.append(_apart(want, account, ""))
        else:
            entries.append((part, want, replace(account, spares=part.spares) if part.spares else account))
    for part in known.values():
        if part.part_id not in called_for and part.spares and part.origin == BOUGHT:
            account = _account(part, None, supplies.get(part.part_id))
            entries.append((part, None, replace(account, spares=part.spares)))
    asked = _asked(entries)
    chosen = choose(tuple(asked.values()), sellers)
    if purse.week_minor is not None:
        entries = _with_spares(entries, chosen, {one.id: one for one in sellers}, purse.week_minor)
        asked = _asked(entries)
        chosen = choose(tuple(asked.values()), sellers)
    lines: list[Line] = []
    spares: list[Spare] = []
    for part, own, account in entries:
        offer = chosen.offers.get(part.part_id)
        bought = replace(account, offer=offer) if offer else account
        lines += _line(part, own, bought) if own else []
        spares += _spare(part, bought)
    baskets, unoffered = _by_supplier(lines, spares, sellers)
    totals = _totals((*baskets, unoffered), purse)
    return ShoppingList(baskets, unoffered, tuple(not_bought), tuple(waiting), totals, chosen, asked)


@dataclass(frozen=True, slots=True)
class _Account:
    """What there is of a part against what is called for, and the offer to buy the rest at."""

    needed: int
    in_hand: int
    on_order: int
    cutting: CutPlan | None
    offer: Offer | None = None
    spares: int = 0
    advice: Advice | None = None

    @property
    def short(self) -> int:
        return max(self.needed - self.in_hand - self.on_order, 0)

    @property
    def wanted(self) -> int:
        """Pieces to order, spares included, before they are rounded up to packs."""
        return max(self.needed + self.spares - self.in_hand - self.on_order, 0)

    @property
    def quantity(self) -> int:
        """Pieces to order for what is needed, in whole packs."""
        return self.short if self.offer is None else self.offer.packs(self.short) * self.offer.pack

    @property
    def over(self) -> int:
        """Pieces that nothing calls for, once those are here."""
        return max(self.in_hand + self.on_order + self.quantity - self.needed, 0)


_Entry = tuple[Stocked, Want | None, _Account]
"""A part to buy, what calls for it, and how it stands."""


def _unknown(want: Want) -> Stocked:
    """A part that stands in no list yet."""
    return Stocked(0, want.name, want.kind, want.origin)


def _account(part: Stocked, want: Want | None, supply: Supply | None) -> _Account:
    lengths = want.lengths if want else ()
    cutting = cut_plan(lengths, part.off_cuts, part.stock_length) if lengths else None
    pieces = want.quantity if want else 0
    if cutting:
        pieces += len(cutting.bought) + len(cutting.too_long)
    in_hand = supply.in_hand if supply else 0
    owed = sum(order.quantity for order in supply.on_order) if supply else 0
    unrecorded = supply.unrecorded if supply else 0
    return _Account(pieces, in_hand, max(owed - unrecorded, 0), cutting)


def _asked(entries: Iterable[_Entry]) -> dict[int, Ask]:
    return {part.part_id: Ask(part.part_id, own.wanted, part.offers, part.within) for part, _, own in entries}


def _with_spares(
    entries: Sequence[_Entry], chosen: Chosen, sellers: Mapping[int, Seller], week_minor: int
) -> list[_Entry]:
    """Spares by the rule where the builder said nothing: of pieces that are still to be used.

    Those of a supplier from whom nothing else is bought carry their parcel.
    """
    used = {
        chosen.offers[part.part_id].supplier_id
        for part, _, account in entries
        if account.wanted and part.part_id in chosen.offers
    }
    found = []
    for part, want, account in entries:
        offer = chosen.offers.get(part.part_id)
        usual = usual_chance(part.kind, part.name)
        chance, why = usual if part.wrong is None else by_readings(usual, part.wrong)
        if part.spares is None and offer is not None and chance and account.needed:
            seller = sellers.get(offer.supplier_id, Seller(0, ""))
            advice = advised(
                account.needed,
                chance,
                why,
                price_minor=-(-offer.price_minor // offer.pack),
                days=offer.lead_days or 0,
                week_minor=week_minor,
                postage_minor=seller.postage_minor,
                takes_back=seller.takes_back,
                parcel=offer.supplier_id not in used,
            )
            account = replace(account, spares=advice.count, advice=advice)
        found.append((part, want, account))
    return found


def _cost(part: Stocked, offer: Offer | None, pieces: int) -> int | None:
    if offer is not None:
        return offer.cost(pieces)
    return None if part.price_minor is None else part.price_minor * pieces


def _line(part: Stocked, want: Want, account: _Account) -> list[Line]:
    if not account.short:
        return []
    return [
        Line(
            want.key,
            want.part_id,
            want.spec,
            want.name,
            want.kind,
            account.needed,
            account.in_hand,
            account.on_order,
            account.quantity,
            account.quantity - account.short,
            account.offer,
            _cost(part, account.offer, account.short),
            want.by,
            account.cutting,
        )
    ]


def _spare(part: Stocked, account: _Account) -> list[Spare]:
    wanted = max(account.spares - account.over, 0)
    if not wanted:
        return []
    offer = account.offer
    quantity = wanted if offer is None else offer.packs(wanted) * offer.pack
    cost = _cost(part, offer, wanted)
    reason = account.advice.why if account.advice else part.spare_reason
    return [Spare(part.part_id, part.name, part.kind, wanted, quantity, offer, cost, reason, account.advice)]


def _apart(want: Want, account: _Account, why: str) -> Apart:
    count = account.short or account.needed
    return Apart(want.part_id, want.name, count, want.lengths, want.origin, why, want.by)


def _by_supplier(
    lines: Sequence[Line], spares: Sequence[Spare], sellers: Iterable[Seller]
) -> tuple[tuple[Basket, ...], Basket]:
    lines_of: dict[int, list[Line]] = {}
    for line in lines:
        lines_of.setdefault(line.offer.supplier_id if line.offer else 0, []).append(line)
    spares_of: dict[int, list[Spare]] = {}
    for spare in spares:
        spares_of.setdefault(spare.offer.supplier_id if spare.offer else 0, []).append(spare)
    baskets = [
        Basket(seller, tuple(lines_of.get(seller.id, ())), tuple(spares_of.get(seller.id, ())))
        for seller in sorted(sellers, key=lambda one: one.name.casefold())
        if seller.id in lines_of or seller.id in spares_of
    ]
    return tuple(baskets), Basket(None, tuple(lines_of.get(0, ())), tuple(spares_of.get(0, ())))


def _totals(baskets: Iterable[Basket], purse: Purse) -> Totals:
    goods = postage = spares = unpriced = 0
    for basket in baskets:
        goods += basket.goods_minor
        postage += basket.postage_minor
        spares += basket.spares_minor
        unpriced += basket.unpriced
    return Totals(goods, postage, spares, unpriced, purse)
