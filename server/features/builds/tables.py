"""Builds and their subsystems."""

from datetime import datetime

from sqlalchemy import JSON, Column
from sqlmodel import Field, UniqueConstraint

from server.db import VersionedRow
from server.features.builders.tables import Builder


class Build(VersionedRow, table=True):
    """One car's conversion.

    `revision` names a state of all its rows; `stamps`, by table, that of the rows that were written since.
    """

    __tablename__ = "build"

    builder_id: int | None = Field(default=None, foreign_key=f"{Builder.__tablename__}.id", index=True)
    """Whose it is; none for who owns the server."""
    name: str = Field(max_length=80)
    car: str = Field(default="", max_length=120)
    system: str = Field(default="metric", max_length=10)
    currency: str = Field(default="EUR", max_length=3)
    budget_minor: int | None = None
    week_minor: int | None = None
    """What a week's wait is worth to the builder; none where nobody said."""
    meter_place: str = Field(default="before compressor", max_length=40)
    car_state: str = Field(default="on wheels", max_length=20)
    stage: str = Field(default="measuring", max_length=40)
    revision: str = Field(max_length=32)
    stamps: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    created_at: datetime


class Subsystem(VersionedRow, table=True):
    """One thing to be made: intake, charge pipe, oil drain. `letter` names it on drawings and lists."""

    __tablename__ = "subsystem"
    __table_args__ = (UniqueConstraint("build_id", "letter"),)

    build_id: int = Field(foreign_key="build.id", index=True)
    letter: str = Field(max_length=2)
    name: str = Field(max_length=80)
    kind: str = Field(max_length=40)
    position: int = 0
    removed_at: datetime | None = None
    """Set aside; it can be put back."""
