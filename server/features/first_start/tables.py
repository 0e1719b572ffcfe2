"""What is entered, looked at and signed before the first start. Nothing is ever overwritten or deleted."""

from datetime import datetime

from sqlalchemy import JSON, Column
from sqlmodel import Field

from server.db import Row, VersionedRow


class StartEntry(Row, table=True):
    """A tick or figure of a stage. The latest of each counts."""

    __tablename__ = "start_entry"

    build_id: int = Field(foreign_key="build.id", index=True)
    stage: str = Field(max_length=20)
    item: str = Field(max_length=20)
    value: float | None = None
    """Of a figure [SI]; 1 for a tick; none where it was taken away."""
    typed: str = Field(default="", max_length=40)
    by: str = Field(default="", max_length=80)
    at: datetime


class StartSignature(VersionedRow, table=True):
    """A stage signed. Whether it still stands is worked out."""

    __tablename__ = "start_signature"

    build_id: int = Field(foreign_key="build.id", index=True)
    stage: str = Field(max_length=20)
    by: str = Field(max_length=80)
    at: datetime
    evidence: dict[str, list[str]] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """What it rests on, by key: its name and how it was."""
    taken_back_at: datetime | None = None
    taken_back_by: str = Field(default="", max_length=80)
    reason: str = Field(default="", max_length=300)


class StartLook(Row, table=True):
    """Somebody followed a connection from end to end."""

    __tablename__ = "start_look"

    build_id: int = Field(foreign_key="build.id", index=True)
    item: str = Field(max_length=20)
    """line.3, point.7"""
    state: str = Field(max_length=60)
    """How it was then; a look counts while it is so."""
    name: str = Field(default="", max_length=80)
    by: str = Field(max_length=80)
    at: datetime
