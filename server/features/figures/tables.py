"""Figures of what is fitted: injectors and pump, oil feed and drain, the wastegate."""

from datetime import datetime

from sqlalchemy import JSON, Column
from sqlmodel import Field, UniqueConstraint

from server.db import Row, VersionedRow


class FigureSheet(VersionedRow, table=True):
    """Every figure of one subsystem, by its key; those that nobody typed are left out."""

    __tablename__ = "figure_sheet"

    subsystem_id: int = Field(foreign_key="subsystem.id", unique=True)
    numbers: dict[str, list[float]] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """Value and standard uncertainty [SI]."""
    said: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    tables: dict[str, list[list[float]]] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """Rows [SI units of their columns]."""
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    by: str = Field(default="", max_length=80)
    at: datetime


class FigureConcession(Row, table=True):
    """A performance check of what is fitted that was accepted as it is, with the reason (ISO 9000)."""

    __tablename__ = "figure_concession"
    __table_args__ = (UniqueConstraint("subsystem_id", "rule"),)

    subsystem_id: int = Field(foreign_key="subsystem.id", index=True)
    rule: str = Field(max_length=40)
    reason: str = Field(max_length=300)
    by: str = Field(default="", max_length=80)
    at: datetime
