"""Runs: pieces, side ports on them, joints between them.

All sizes are SI. `doubt` of a piece is the standard uncertainty of its diameters, `length_doubt` that of
its lengths. `typed` keeps each field's text as it was entered.
"""

from datetime import datetime

from sqlalchemy import JSON, Column
from sqlmodel import Field, UniqueConstraint

from server.db import Row, VersionedRow


class Piece(VersionedRow, table=True):
    """One piece of a run. A removed piece keeps its row, so that the removal can be undone."""

    __tablename__ = "piece"

    design_id: int = Field(foreign_key="design.id", index=True)
    position: int
    kind: str = Field(max_length=30)
    name: str = Field(default="", max_length=80)
    part_id: int | None = Field(default=None, foreign_key="part.id")
    material: str = Field(max_length=40)
    outside_diameter: float | None = None
    wall: float | None = None
    bore: float | None = None
    outside_diameter_out: float | None = None
    """Where the outlet differs from the inlet (reducers)."""
    bore_out: float | None = None
    length: float | None = None
    """Straight length, or of a bend the leg before the arc."""
    length_out: float | None = None
    """Of a bend: the leg after the arc."""
    bend_angle: float | None = None
    bend_radius: float | None = None
    roll: float = 0.0
    """Roll of the bend's plane from the previous bend's, right-handed looking along the flow [rad]."""
    turns: list[list[float]] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))
    """Of each turn after its first bend: roll from the plane of the turn before [rad], angle [rad], radius, 0
    for a mitre, and the straight after it [m]."""
    inlet_end: str = Field(default="plain", max_length=20)
    outlet_end: str = Field(default="plain", max_length=20)
    doubt: float = 0.0001
    length_doubt: float = 0.001
    rated_pressure: float | None = None
    """Hoses: working pressure, gauge, at `rated_temperature` [Pa]."""
    rated_temperature: float | None = None
    ratings: list[list[float]] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))
    """Hoses: the maker's table, temperature [K] and working pressure, gauge [Pa]; empty where none is."""
    wrap: float | None = None
    """Hot pieces: thickness of the wrap round it [m]."""
    reinforced: bool = False
    """Hoses: wire or helix that stands suction."""
    origin: str = Field(default="new", max_length=20)
    """new, in the garage, salvaged, borrowed, mock-up"""
    cut_from_id: int | None = Field(default=None, foreign_key="piece.id")
    """The piece that this one was cut off, where a bought pipe was shortened."""
    whole_length: float | None = None
    """Length of the pipe as it was bought, before it was cut [m]."""
    travel: float | None = None
    """Flex: by how much it may be pushed together or drawn out [m]."""
    liner: str = Field(default="", max_length=20)
    """Flex: none, downstream, upstream; empty where not said."""
    supported: bool = False
    """Flex: what comes after it is held by a hanger or bracket."""
    offered: str = Field(default="", max_length=20)
    """Offered up at the car: fits, touches, short; empty where it was not."""
    offered_note: str = Field(default="", max_length=200)
    removed_at: datetime | None = None
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))


class Bung(Row, table=True):
    """A side port added to a piece, for the port it serves."""

    __tablename__ = "bung"

    piece_id: int = Field(foreign_key="piece.id", index=True)
    port_id: int | None = Field(default=None, foreign_key="port.id")
    name: str = Field(max_length=80)
    fixing: str = Field(max_length=20)
    """welded, moulded, bulkhead nipple"""
    at: float
    """Along the centre line from the piece's inlet face [m]."""
    bore: float
    clock: float = 0.0
    """From 12 o'clock, looking along the flow [rad]."""


class Joint(VersionedRow, table=True):
    """What holds two neighbours: the joint after a piece, or (no piece) the one at the start port."""

    __tablename__ = "joint"
    __table_args__ = (UniqueConstraint("design_id", "piece_id"),)

    design_id: int = Field(foreign_key="design.id", index=True)
    piece_id: int | None = Field(default=None, foreign_key="piece.id")
    kind: str = Field(default="hose and clamp", max_length=30)
    clamp: str = Field(default="", max_length=30)
    """T-bolt, lined worm drive, bare worm drive, constant tension"""
    clamp_least: float | None = None
    clamp_most: float | None = None
    overlap: float | None = None
    """How far the spigot stands inside the hose [m]."""
    holds: float | None = None
    """The end force that bead and clamp hold [N], as typed by the builder."""
    holds_origin: str = Field(default="", max_length=120)
    bracket: bool = False
    """A bracket takes the thrust."""
    old_diameter: float | None = None
    """Of the joint that stood here before: outside diameter of its tube [m]."""
    old_pressure: float | None = None
    """The highest pressure that it held, gauge [Pa]."""
    filler: str = Field(default="", max_length=40)
    """Welds: the filler metal; empty where not said."""
    screw: str = Field(default="", max_length=20)
    """Of its clamp: a tool reaches it, against a hose, no tool reaches it; empty where not said."""
    screw_at: str = Field(default="", max_length=60)
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
