"""What joins what under the bonnet: spaces, the points that open into them, lines, and devices between."""

from datetime import datetime

from sqlmodel import Field

from server.db import Row, VersionedRow


class LineSpace(VersionedRow, table=True):
    """A space with one pressure: a part of the car, or a junction between two hoses."""

    __tablename__ = "line_space"

    build_id: int = Field(foreign_key="build.id", index=True)
    kind: str = Field(max_length=60)
    name: str = Field(max_length=80)
    hottest: float | None = None
    """Of what touches it [K]; none: as usual of its kind."""
    hottest_typed: str = Field(default="", max_length=40)
    removed_at: datetime | None = None


class LinePoint(VersionedRow, table=True):
    """A connection point: an opening of the car or of a part, joined or closed or not."""

    __tablename__ = "line_point"

    build_id: int = Field(foreign_key="build.id", index=True)
    space_id: int = Field(foreign_key="line_space.id")
    name: str = Field(max_length=80)
    medium: str = Field(max_length=30)
    closing: str = Field(default="open", max_length=20)
    """Where no line joins it: open, capped, removed."""
    reason: str = Field(default="", max_length=300)
    by: str = Field(default="", max_length=80)
    """Who closed it."""
    size: float | None = None
    """Outside diameter of its spigot [m]."""
    size_typed: str = Field(default="", max_length=40)
    height: float | None = None
    """Above the datum [m]."""
    height_typed: str = Field(default="", max_length=40)
    removed_at: datetime | None = None
    """Set aside: entered by mistake."""


class LedgerLine(VersionedRow, table=True):
    """A hose, pipe or wire. One that was taken out of the car, and one set aside, keeps its row."""

    __tablename__ = "ledger_line"

    build_id: int = Field(foreign_key="build.id", index=True)
    name: str = Field(max_length=80)
    medium: str = Field(max_length=30)
    kind: str = Field(max_length=10)
    """hose, pipe, wire"""
    tag: int = 0
    """The number taped to both its ends, 0 for none."""
    first_id: int | None = Field(default=None, foreign_key="line_point.id")
    second_id: int | None = Field(default=None, foreign_key="line_point.id")
    """The points it joins now; none for an end that hangs loose."""
    first_was_id: int | None = Field(default=None, foreign_key="line_point.id")
    second_was_id: int | None = Field(default=None, foreign_key="line_point.id")
    """The points it joined when it was entered."""
    size: float | None = None
    """Bore [m]."""
    size_typed: str = Field(default="", max_length=40)
    clamp: str = Field(default="", max_length=80)
    rating: float | None = None
    """The most heat it may have for long [K]; none where nobody has said."""
    rating_typed: str = Field(default="", max_length=40)
    taken_out: str = Field(default="", max_length=20)
    """What closes its points since it was taken out: capped, removed; empty while it is in the car."""
    reason: str = Field(default="", max_length=300)
    by: str = Field(default="", max_length=80)
    out_at: datetime | None = None
    removed_at: datetime | None = None
    """Set aside: entered by mistake."""

    @property
    def in_car(self) -> bool:
        """Whether it is on the map."""
        return self.removed_at is None and not self.taken_out

    @property
    def ends(self) -> tuple[int, ...]:
        """The points that it joins."""
        return tuple(one for one in (self.first_id, self.second_id) if one is not None)


class LineDevice(VersionedRow, table=True):
    """A valve, restrictor or consumer between two or three spaces."""

    __tablename__ = "line_device"

    build_id: int = Field(foreign_key="build.id", index=True)
    kind: str = Field(max_length=40)
    name: str = Field(max_length=80)
    first_id: int = Field(foreign_key="line_space.id")
    second_id: int = Field(foreign_key="line_space.id")
    third_id: int | None = Field(default=None, foreign_key="line_space.id")
    way: str = Field(default="", max_length=30)
    """Which way round it is fitted; empty where nobody has looked."""
    signal_id: int | None = Field(default=None, foreign_key="line_space.id")
    """The space that works a bypass valve, or the plug that drives a solenoid."""
    removed_at: datetime | None = None

    @property
    def sides(self) -> tuple[int, ...]:
        """The spaces that it lies between."""
        return tuple(one for one in (self.first_id, self.second_id, self.third_id) if one is not None)


class LineFact(VersionedRow, table=True):
    """What the whole map rests on besides: one row a build."""

    __tablename__ = "line_fact"

    build_id: int = Field(foreign_key="build.id", unique=True)
    over_boost_cut: str = Field(default="", max_length=20)
    """Empty where nobody has said."""


class LineAct(Row, table=True):
    """What was done to a line or a point at the car, once."""

    __tablename__ = "line_act"

    build_id: int = Field(foreign_key="build.id", index=True)
    line_id: int | None = Field(default=None, foreign_key="ledger_line.id")
    point_id: int | None = Field(default=None, foreign_key="line_point.id")
    """Of the two, what it was done to."""
    word: str = Field(max_length=30)
    detail: str = Field(default="", max_length=400)
    at: datetime
    by: str = Field(default="", max_length=80)


Entry = LineSpace | LinePoint | LedgerLine | LineDevice
"""What is entered by a form of its own."""
