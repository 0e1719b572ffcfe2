"""Figures of what is fitted: injectors and pump, oil feed and drain, the wastegate."""

from datetime import datetime

from sqlalchemy import JSON, Column
from sqlmodel import Field

from server.db import VersionedRow


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
