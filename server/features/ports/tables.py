"""Ports and what was measured on them."""

from datetime import datetime

from sqlmodel import Field

from server.db import Row, VersionedRow


class Port(VersionedRow, table=True):
    """An opening or spigot that something joins to.

    A *run end* is where a run starts or ends. A *side port* is a line that must find a place on the run
    of its subsystem, on the stretch that `stretch` names.
    """

    __tablename__ = "port"

    build_id: int = Field(foreign_key="build.id", index=True)
    subsystem_id: int | None = Field(default=None, foreign_key="subsystem.id", index=True)
    name: str = Field(max_length=80)
    role: str = Field(default="run end", max_length=20)
    shape: str = Field(default="spigot", max_length=20)
    medium: str = Field(default="air", max_length=40)
    stretch: str = Field(default="anywhere", max_length=40)
    end_form: str = Field(default="plain", max_length=20)
    """How the port ends: plain, bead, barb, flange, V-band, thread."""
    frame: str = Field(default="", max_length=30)
    """What it moves with: engine, body, suspension and steering."""
    facing: str = Field(default="", max_length=80)
    material: str = Field(default="", max_length=40)
    note: str = Field(default="", max_length=500)
    from_set: str = Field(default="", max_length=40)
    """Which port of the starting set it is; empty for the builder's own."""
    removed_at: datetime | None = None
    """Set aside; it can be put back."""


class Reading(Row, table=True):
    """One measurement of one dimension. Rows are only ever added; a wrong one is withdrawn."""

    __tablename__ = "reading"

    port_id: int = Field(foreign_key="port.id", index=True)
    dimension: str = Field(max_length=20)
    """bore, outside diameter, wall, length, gap, mock-up ..."""
    typed: str = Field(max_length=80)
    value: float | None = None
    """SI; none for a mock-up that gave words only."""
    doubt: float | None = None
    """Standard uncertainty, SI."""
    instrument: str = Field(max_length=40)
    taken_at: datetime
    taken_by: str = Field(default="builder", max_length=80)
    stance: str = Field(default="", max_length=40)
    """Gap readings: on stands or at ride height."""
    engine_state: str = Field(default="", max_length=40)
    seen_from: str = Field(default="", max_length=80)
    mock_up: str = Field(default="", max_length=20)
    """Mock-up readings: fits, touches at, short by."""
    note: str = Field(default="", max_length=300)
    withdrawn_at: datetime | None = None
