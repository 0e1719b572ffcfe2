"""Parts: what can be bought, made or salvaged, who sells it, and what of it lies on the shelf."""

from datetime import datetime

from sqlmodel import Field, UniqueConstraint

from server.db import Row, VersionedRow


class Part(VersionedRow, table=True):
    """A part. Money is whole minor units of the build's currency."""

    __tablename__ = "part"

    build_id: int = Field(foreign_key="build.id", index=True)
    name: str = Field(max_length=120)
    kind: str = Field(default="", max_length=40)
    origin: str = Field(default="buy", max_length=20)
    """buy, make, salvage, borrowed"""
    tried: str = Field(default="", max_length=20)
    """Borrowed fittings: not tried, fits, does not."""
    price_minor: int | None = None
    on_shelf: int = 0
    note: str = Field(default="", max_length=300)
    spec: str = Field(default="", max_length=160)
    """What a run's parts list calls it, so that a piece finds its part; empty where none does."""
    stock_length: float | None = None
    """Sold by length: how long one is as it is sold [m]; its count is then of such lengths."""
    spares: int | None = None
    """How many to have over what is needed; none where the rule says how many."""
    spare_reason: str = Field(default="", max_length=200)
    removed_at: datetime | None = None
    """Set aside; it can be put back."""
    same_as_id: int | None = Field(default=None, foreign_key="part.id")
    """The part that is bought in its place, where one does for both."""


class Supplier(VersionedRow, table=True):
    """Somebody who sells parts."""

    __tablename__ = "supplier"
    __table_args__ = (UniqueConstraint("build_id", "name"),)

    build_id: int = Field(foreign_key="build.id", index=True)
    name: str = Field(max_length=80)
    postage_minor: int = 0
    """Usual, for one parcel."""
    free_from_minor: int | None = None
    """From this much of goods on a parcel is free; none where it never is."""
    takes_back: bool = False
    """What was not used may go back for its price."""
    lead_days: int | None = None
    """Usual, from order to door [days]."""
    contact: str = Field(default="", max_length=200)
    note: str = Field(default="", max_length=300)


class Offer(VersionedRow, table=True):
    """What one supplier asks for a part."""

    __tablename__ = "offer"

    part_id: int = Field(foreign_key="part.id", index=True)
    supplier_id: int = Field(foreign_key="supplier.id", index=True)
    price_minor: int
    """For one pack."""
    pack: int = 1
    """Pieces in a pack."""
    code: str = Field(default="", max_length=80)
    """The supplier's own number for it."""
    lead_days: int | None = None
    """Where it differs from the supplier's usual [days]."""
    preferred: bool = False
    """Taken whatever the others ask."""
    note: str = Field(default="", max_length=200)
    removed_at: datetime | None = None


class OffCut(Row, table=True):
    """A piece of a part sold by length that is left over."""

    __tablename__ = "off_cut"

    part_id: int = Field(foreign_key="part.id", index=True)
    length: float
    """[m]"""
    note: str = Field(default="", max_length=200)
    put_at: datetime
    used_at: datetime | None = None
