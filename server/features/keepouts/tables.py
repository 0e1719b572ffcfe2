"""What pipes must stay clear of."""

from datetime import datetime

from sqlalchemy import JSON, Column
from sqlmodel import Field

from server.db import VersionedRow


class KeepOut(VersionedRow, table=True):
    """A ball, capsule or box of the car. One that was set aside keeps its row."""

    __tablename__ = "keep_out"

    build_id: int = Field(foreign_key="build.id", index=True)
    name: str = Field(max_length=80)
    what: str = Field(max_length=40)
    shape: str = Field(max_length=10)
    """ball, capsule, box"""
    frame: str = Field(default="", max_length=40)
    """What it moves with; empty where as usual of it."""
    numbers: dict[str, list[float]] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """Its points, sizes, the gap it needs, how far it moves: value and standard uncertainty, SI, by name."""
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    note: str = Field(default="", max_length=300)
    removed_at: datetime | None = None
