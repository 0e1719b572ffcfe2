"""Pressure tests that were made. What follows of the readings is worked out, never stored."""

from datetime import datetime

from sqlmodel import Field

from server.db import VersionedRow


class LeakTest(VersionedRow, table=True):
    """One pressure test of the charge side. A withdrawn one keeps its row."""

    __tablename__ = "leak_test"

    build_id: int = Field(foreign_key="build.id", index=True)
    way: str = Field(max_length=20)
    """blanked, listened"""
    pressure: float
    """Shut in, gauge [Pa]."""
    pressure_typed: str = Field(default="", max_length=40)
    last: float | None = None
    """At the end, gauge [Pa]; none where it was listened for."""
    last_typed: str = Field(default="", max_length=40)
    held: float | None = None
    """For how long [s]."""
    volume: float | None = None
    """[m3]"""
    taken: float | None = None
    """Leak that is taken, as mass of air [kg/s]."""
    before: float | None = None
    after: float | None = None
    """Temperature of the air at either end [K]; none where it was the same."""
    outside: float
    """Pressure of the open air, absolute [Pa]."""
    leaks: bool = False
    """Whether a leak was heard or seen, where it was listened for."""
    found: str = Field(default="", max_length=300)
    """Where it leaked, what was done about it."""
    by: str = Field(default="", max_length=80)
    at: datetime
    withdrawn_at: datetime | None = None
