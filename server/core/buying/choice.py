"""From whom to buy what, so that prices and postage together come to the least."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, vstack

from server.core.buying.offers import Offer, Seller

NODES = 5_000
"""Nodes of the programme at the most."""


@dataclass(frozen=True, slots=True)
class Ask:
    """So many pieces of one part. within: days until it is needed at the door, none where nobody knows."""

    key: int
    pieces: int
    offers: tuple[Offer, ...]
    within: int | None = None

    @property
    def open_to(self) -> tuple[Offer, ...]:
        """The offers to choose from: preferred ones alone, else those in time, else the soonest."""
        if len(self.offers) == 1:
            return self.offers
        offers = tuple(one for one in self.offers if one.preferred) or self.offers
        timely = tuple(one for one in offers if one.in_time(self.within))
        soonest = min((one.lead_days or 0 for one in offers), default=0)
        return timely or tuple(one for one in offers if (one.lead_days or 0) == soonest)

    def cheapest(self, offers: Sequence[Offer] | None = None) -> Offer | None:
        """The cheapest for so many pieces by itself, of two at one price the sooner one."""
        asked = self.open_to if offers is None else offers
        return min(asked, key=lambda one: (one.cost(self.pieces), *_soon(one)), default=None)


OpenTo = Mapping[int, tuple[Offer, ...]]
"""The offers to choose from for each part (`Ask.open_to`), looked out once."""


def _soon(offer: Offer) -> tuple[bool, int, str, int]:
    return (offer.lead_days is None, offer.lead_days or 0, offer.supplier, offer.id)


@dataclass(frozen=True, slots=True)
class Chosen:
    """The offer for each part, what all of it costs with postage, and what other ways would cost.

    apart_minor: each part where it is cheapest by itself; together_minor: all from the one supplier that is
    cheapest for that, none where nobody has it all; bound_minor: no choice costs less.
    """

    offers: Mapping[int, Offer]
    total_minor: int
    apart_minor: int
    together_minor: int | None
    bound_minor: int

    @property
    def saved_minor(self) -> int:
        """Against the dearer of the two plain ways."""
        return max(self.apart_minor, self.together_minor or 0) - self.total_minor


def total(asks: Iterable[Ask], offers: Mapping[int, Offer], sellers: Mapping[int, Seller]) -> int:
    """What these offers cost with postage, in whole minor units. Source: definition (counting)."""
    goods: dict[int, int] = {}
    for ask in asks:
        offer = offers.get(ask.key)
        if offer is not None and ask.pieces:
            goods[offer.supplier_id] = goods.get(offer.supplier_id, 0) + offer.cost(ask.pieces)
    return sum(
        minor + (sellers[supplier].postage(minor) if supplier in sellers else 0)
        for supplier, minor in goods.items()
    )


def choose(asks: Sequence[Ask], sellers: Iterable[Seller]) -> Chosen:
    """One offer for each part that has one: least cost with postage, then fewest parcels.

    Postage is paid once a supplier, and not where its goods come to the sum from which it is free. Late
    offers are taken only where none is in time.
    Source: fixed-charge choice as a mixed-integer programme (HiGHS through scipy), gap 0; totals by counting.
    """
    known = {one.id: one for one in sellers}
    asked = [ask for ask in asks if ask.pieces and ask.offers]
    open_to = {ask.key: ask.open_to for ask in asked}
    apart = {ask.key: offer for ask in asked if (offer := ask.cheapest(open_to[ask.key])) is not None}
    plans = [(_rank(asked, one, known), one) for one in (apart, *_together(asked, open_to))]
    apart_minor = plans[0][0][0]
    together = min((rank[0] for rank, _ in plans[1:]), default=None)
    rank, best = min(plans, key=itemgetter(0))
    bound = rank[0]
    if len({one.supplier_id for offers in open_to.values() for one in offers}) > 1:
        found, proved = _programme(asked, open_to, known)
        if found is not None and (better := _rank(asked, found, known)) < rank:
            rank, best = better, found
        bound = min(proved, rank[0])
    idle = {ask.key: offer for ask in asks if not ask.pieces and (offer := ask.cheapest()) is not None}
    return Chosen({**idle, **best}, rank[0], apart_minor, together, bound)


def _rank(asked: Sequence[Ask], offers: Mapping[int, Offer], known: Mapping[int, Seller]) -> tuple[int, int]:
    """What it costs in minor units, then in how many parcels it comes: the less the better."""
    return total(asked, offers, known), len({one.supplier_id for one in offers.values()})


def _together(asked: Sequence[Ask], open_to: OpenTo) -> list[dict[int, Offer]]:
    """All from one supplier, for each that has all of it."""
    sellers_of = [{one.supplier_id for one in offers} for offers in open_to.values()]
    found = []
    for supplier in sorted(set.intersection(*sellers_of)) if sellers_of else ():
        mine = {
            ask.key: ask.cheapest([one for one in open_to[ask.key] if one.supplier_id == supplier])
            for ask in asked
        }
        found.append({key: offer for key, offer in mine.items() if offer is not None})
    return found


class _Rows:
    """Rows of a programme, of which few columns are not zero."""

    def __init__(self, width: int) -> None:
        self._width = width
        self._rows: list[int] = []
        self._columns: list[int] = []
        self._values: list[float] = []

    def put(self, row: int, column: int, value: float) -> None:
        if value:
            self._rows.append(row)
            self._columns.append(column)
            self._values.append(value)

    def of(self, count: int) -> csr_array:
        """So many of them as a matrix."""
        places = self._rows, self._columns
        return csr_array((np.array(self._values, dtype=float), places), shape=(count, self._width))


def _programme(
    asked: Sequence[Ask], open_to: OpenTo, known: Mapping[int, Seller]
) -> tuple[dict[int, Offer] | None, int]:
    """The best choice and the least that any costs.

    Columns: offers, then for each supplier whether it is bought from, then whether its postage is free. A
    dearer offer of the same supplier stays in: it may be what brings the parcel to where postage ends.
    """
    options = [(ask, offer) for ask in asked for offer in open_to[ask.key]]
    suppliers = sorted({offer.supplier_id for _, offer in options})
    count, many = len(options), len(suppliers)
    width = count + 2 * many
    scale = many + 1
    """A minor unit weighs more than all parcels together, so that parcels decide between equal costs."""
    costs = np.zeros(width)
    one_each, bought, free, in_use = _Rows(width), _Rows(width), _Rows(width), _Rows(width)
    rows = {ask.key: at for at, ask in enumerate(asked)}
    places = {supplier: place for place, supplier in enumerate(suppliers)}
    for at, (ask, offer) in enumerate(options):
        place, cost = places[offer.supplier_id], offer.cost(ask.pieces)
        costs[at] = cost * scale
        one_each.put(rows[ask.key], at, 1.0)
        bought.put(at, at, -1.0)
        bought.put(at, count + place, 1.0)
        free.put(place, at, cost)
    most = np.ones(width)
    for place, supplier in enumerate(suppliers):
        seller = known.get(supplier, Seller(supplier, ""))
        costs[count + place] = seller.postage_minor * scale + 1
        costs[count + many + place] = -seller.postage_minor * scale
        if seller.free_from_minor is None:
            most[count + many + place] = 0.0
        free.put(place, count + many + place, -(seller.free_from_minor or 0))
        in_use.put(place, count + place, 1.0)
        in_use.put(place, count + many + place, -1.0)
    found = milp(
        costs,
        integrality=np.ones(width, dtype=int),
        bounds=Bounds(0.0, most),
        constraints=[
            LinearConstraint(one_each.of(len(asked)), lb=1.0, ub=1.0),
            LinearConstraint(vstack([bought.of(count), free.of(many), in_use.of(many)]), lb=0.0),
        ],
        options={"node_limit": NODES, "mip_rel_gap": 0.0},
    )
    least = 0 if found.mip_dual_bound is None else int(np.floor(found.mip_dual_bound / scale + 1e-6))
    if found.x is None:
        return None, least
    return {ask.key: offer for (ask, offer), x in zip(options, found.x, strict=False) if x > 0.5}, least
