"""Parts, who offers them for how much, and off-cuts, as they stand."""

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple


class PartFace(NamedTuple):
    """A part as the other features see it.

    `on_shelf` is what was counted before anything arrived and before any task used some; `spec` what runs
    call it; `stock_length` one length as it is sold [m], none where it is not sold by length; `same_as` the
    part that is bought in its place, none where it is bought itself.
    """

    id: int
    version: int
    name: str
    kind: str
    origin: str
    tried: str
    price_minor: int | None
    on_shelf: int
    note: str
    spec: str = ""
    stock_length: float | None = None
    spares: int | None = None
    spare_reason: str = ""
    set_aside: bool = False
    same_as: int | None = None


@dataclass(frozen=True, slots=True)
class SupplierFace:
    """Somebody who sells parts; `postage_minor` and `lead_days` are what one parcel usually takes."""

    id: int
    version: int
    name: str
    postage_minor: int
    lead_days: int | None
    contact: str
    note: str
    free_from_minor: int | None = None
    takes_back: bool = False


@dataclass(frozen=True, slots=True)
class OfferFace:
    """What one supplier asks for a pack of a part.

    `lead_days` is the supplier's usual where the offer has none of its own (`own_lead_days`).
    """

    id: int
    version: int
    part_id: int
    supplier_id: int
    supplier: str
    price_minor: int
    pack: int
    code: str
    lead_days: int | None
    preferred: bool
    note: str
    own_lead_days: int | None = None
    set_aside: bool = False


@dataclass(frozen=True, slots=True)
class OffCutFace:
    """A piece left over of a part sold by length; `length` in metres."""

    id: int
    part_id: int
    length: float
    note: str
    put_at: datetime
    used: bool = False
