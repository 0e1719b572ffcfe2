"""Designs and what was conceded on them."""

from datetime import datetime

from sqlmodel import Field, UniqueConstraint

from server.db import Row, VersionedRow


class Design(VersionedRow, table=True):
    """One candidate way to make a subsystem. Several may stand side by side; one is chosen."""

    __tablename__ = "design"

    build_id: int = Field(foreign_key="build.id", index=True)
    subsystem_id: int = Field(foreign_key="subsystem.id", index=True)
    name: str = Field(max_length=80)
    start_port_id: int | None = Field(default=None, foreign_key="port.id")
    end_port_id: int | None = Field(default=None, foreign_key="port.id")
    chosen: bool = False
    chosen_because: str = Field(default="", max_length=300)
    chosen_at: datetime | None = None
    meter_rescaled: bool = False
    """The calibration is said to be re-scaled to the meter housing fitted."""
    looked_round: bool = False
    """Whoever looked along the run entered all that stands near it."""
    pattern: bool = False
    """An old part as it was, to start from and to compare with; never chosen."""
    copied_from_id: int | None = Field(default=None, foreign_key="design.id")
    removed_at: datetime | None = None
    """Set aside; it can be put back."""


class Concession(Row, table=True):
    """A performance check that was accepted as it is, with the reason (ISO 9000)."""

    __tablename__ = "concession"
    __table_args__ = (UniqueConstraint("design_id", "rule"),)

    design_id: int = Field(foreign_key="design.id", index=True)
    rule: str = Field(max_length=40)
    reason: str = Field(max_length=300)
    by: str = Field(default="", max_length=80)
    at: datetime
