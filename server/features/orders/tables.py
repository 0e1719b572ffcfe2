"""Orders, their lines, and what arrived of them."""

from datetime import date, datetime

from sqlmodel import Field

from server.db import Row, VersionedRow


class Order(VersionedRow, table=True):
    """What was bought from one supplier in one go."""

    __tablename__ = "supply_order"

    build_id: int = Field(foreign_key="build.id", index=True)
    supplier: str = Field(max_length=80)
    ordered_on: date
    due_on: date | None = None
    postage_minor: int = 0
    tax_minor: int = 0
    """Tax on top of the prices, as the bill says."""
    duty_minor: int = 0
    """Duty and what the carrier asks for handing it over."""
    note: str = Field(default="", max_length=300)
    removed_at: datetime | None = None
    """Typed by mistake; it can be put back."""


class OrderLine(VersionedRow, table=True):
    """So many of one part."""

    __tablename__ = "order_line"

    order_id: int = Field(foreign_key="supply_order.id", index=True)
    part_id: int = Field(foreign_key="part.id", index=True)
    quantity: int
    price_minor: int = 0
    """For one pack, in minor units of `currency`."""
    currency: str = Field(default="", max_length=3)
    """ISO 4217; empty where it is the build's own."""
    rate: str = Field(default="", max_length=20)
    """What one of `currency` is worth in the build's own, a decimal number; empty where it is that."""
    rate_source: str = Field(default="", max_length=80)
    """Where the rate is from."""
    pack: int = 1
    """Pieces in a pack; `quantity` counts pieces."""
    cancelled: int = 0
    """Pieces of `quantity` that will not come and are not owed."""


class Delivery(Row, table=True):
    """What arrived of a line. A wrong or damaged piece arrived, but is not on the shelf."""

    __tablename__ = "delivery"

    order_line_id: int = Field(foreign_key="order_line.id", index=True)
    quantity: int
    condition: str = Field(default="right", max_length=20)
    """right, wrong, damaged"""
    arrived_on: date
    noted_at: datetime
    note: str = Field(default="", max_length=200)
    withdrawn_at: datetime | None = None


class SentBack(Row, table=True):
    """Pieces that went back to the supplier, for a replacement or for their money."""

    __tablename__ = "sent_back"

    order_line_id: int = Field(foreign_key="order_line.id", index=True)
    quantity: int
    condition: str = Field(max_length=20)
    """right, wrong, damaged"""
    wants: str = Field(max_length=20)
    """replacement, refund"""
    sent_on: date
    refund_minor: int | None = None
    """What came back for all of them, once it did."""
    settled_on: date | None = None
    noted_at: datetime
    note: str = Field(default="", max_length=200)
    withdrawn_at: datetime | None = None
