"""What suppliers ask: prices by the pack, postage by the parcel, days to the door."""

from dataclasses import dataclass

from server.core.buying.cost import packs


@dataclass(frozen=True, slots=True)
class Offer:
    """What one supplier asks. price_minor: for one pack; pack: pieces; lead_days: from order to door."""

    id: int
    supplier_id: int
    supplier: str
    price_minor: int
    pack: int = 1
    code: str = ""
    lead_days: int | None = None
    preferred: bool = False

    def packs(self, pieces: int) -> int:
        """Whole packs that hold so many pieces."""
        return packs(pieces, self.pack)

    def cost(self, pieces: int) -> int:
        """What so many pieces cost in whole packs, in minor units."""
        return self.packs(pieces) * self.price_minor

    def in_time(self, within: int | None) -> bool:
        """It is at the door within so many days; an offer that says no day is taken to be."""
        return within is None or self.lead_days is None or self.lead_days <= within


@dataclass(frozen=True, slots=True)
class Seller:
    """A supplier: postage of one parcel in minor units, usual days from order to door.

    free_from_minor: from this much of goods on a parcel is free; none where it never is. takes_back: what was
    not used may go back for its price.
    """

    id: int
    name: str
    postage_minor: int = 0
    lead_days: int | None = None
    free_from_minor: int | None = None
    takes_back: bool = False

    def postage(self, goods_minor: int) -> int:
        """What the parcel costs with so much in it, in minor units."""
        free = self.free_from_minor is not None and goods_minor >= self.free_from_minor
        return 0 if free else self.postage_minor
