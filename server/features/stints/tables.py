"""Stints of the week and their exceptions, helpers, the visits they offer, and what the garage allows."""

from datetime import date, datetime

from sqlmodel import Field

from server.db import Row, VersionedRow


class GarageTime(VersionedRow, table=True):
    """One row a build: its time zone, when noise is allowed, what raising the car takes."""

    __tablename__ = "garage_time"

    build_id: int = Field(foreign_key="build.id", unique=True)
    zone: str = Field(default="", max_length=60)
    """Name in the IANA time zone database; empty where the server's own offset counts."""
    noise_from: int | None = None
    """Minute of the day; no value: at any time."""
    noise_to: int | None = None
    quiet_sundays: bool = False
    raising: int = 35
    """Minutes of work to bring the car up on its stands."""
    lowering: int = 25


class Stint(Row, table=True):
    """A block of garage time every week, or on one day; or a day on which the weekly ones are left out."""

    __tablename__ = "stint"

    build_id: int = Field(foreign_key="build.id", index=True)
    kind: str = Field(max_length=10)
    """weekly, extra, off"""
    weekday: int | None = None
    """Of a weekly one; Monday is 0."""
    day: date | None = None
    begins: int | None = None
    """Minute of the day on the clock of the build's zone; none for a day off."""
    ends: int | None = None
    note: str = Field(default="", max_length=120)
    removed_at: datetime | None = None


class Helper(VersionedRow, table=True):
    """Somebody who comes to help, and what they are able to do."""

    __tablename__ = "helper"

    build_id: int = Field(foreign_key="build.id", index=True)
    name: str = Field(max_length=80)
    skills: str = Field(default="", max_length=300)
    """In the words that tasks ask for, parted by commas."""
    contact: str = Field(default="", max_length=120)
    note: str = Field(default="", max_length=300)
    removed_at: datetime | None = None


class Visit(Row, table=True):
    """A slot that a helper offered: a stint with that helper."""

    __tablename__ = "visit"

    build_id: int = Field(foreign_key="build.id", index=True)
    helper_id: int = Field(foreign_key="helper.id", index=True)
    day: date
    begins: int
    ends: int
    cancel_by: date | None = None
    """The last day on which calling it off does not waste the helper's trip."""
    note: str = Field(default="", max_length=200)
    removed_at: datetime | None = None
