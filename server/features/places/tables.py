"""The datum of a build, and readings of where its ports are and which way they face."""

from datetime import datetime

from sqlalchemy import JSON, Column
from sqlmodel import Field

from server.db import Row, VersionedRow


class Datum(VersionedRow, table=True):
    """The point of the car that forward, left and up are counted from, in the builder's words."""

    __tablename__ = "datum"

    build_id: int = Field(foreign_key="build.id", unique=True)
    words: str = Field(max_length=200)


class PoseReading(Row, table=True):
    """One reading of a port's place or facing. Rows are only ever added; a wrong one is withdrawn.

    The newest of each that stands is the one that counts.
    """

    __tablename__ = "pose_reading"

    build_id: int = Field(foreign_key="build.id", index=True)
    port_id: int = Field(foreign_key="port.id")
    about: str = Field(max_length=10)
    """place, facing"""
    way: str = Field(max_length=10)
    """offsets, tapes, beside; words, gauge, stick"""
    numbers: dict[str, list[float]] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """What was read, by name: value and standard uncertainty, SI."""
    said: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """What was chosen, by name."""
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """Each field's text as it was entered."""
    beside_id: int | None = Field(default=None, foreign_key="port.id")
    """The port that it was read from."""
    instrument: str = Field(max_length=40)
    taken_at: datetime
    taken_by: str = Field(default="builder", max_length=80)
    note: str = Field(default="", max_length=300)
    withdrawn_at: datetime | None = None
