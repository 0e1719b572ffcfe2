"""What stands near a run."""

from datetime import datetime

from sqlalchemy import JSON, Column, ForeignKey, Integer
from sqlmodel import Field

from server.db import VersionedRow


class Neighbour(VersionedRow, table=True):
    """One thing beside a piece of a design. One that was set aside keeps its row."""

    __tablename__ = "neighbour"

    design_id: int = Field(foreign_key="design.id", index=True)
    piece_id: int | None = Field(
        default=None, sa_column=Column(Integer, ForeignKey("piece.id", ondelete="SET NULL"), nullable=True)
    )
    """The piece that it stands beside; none where that piece is gone for good."""
    what: str = Field(max_length=40)
    name: str = Field(default="", max_length=80)
    frame: str = Field(default="", max_length=40)
    """What it moves with; empty where not said."""
    material: str = Field(default="", max_length=60)
    """What of it heat harms first; empty where not said."""
    protection: str = Field(default="", max_length=30)
    """Between it and the pipe: nothing, a bright shield, a foil-faced sleeve."""
    stood: str = Field(default="", max_length=30)
    """How the car stood as the gap was measured: on stands, at ride height."""
    warmth: str = Field(default="", max_length=20)
    """How the engine was then: cold, hot."""
    gap: float | None = None
    gap_doubt: float = 0.0
    """Standard uncertainty of the gap [m]."""
    moves: float | None = None
    """How far it moves towards the run, at most [m]."""
    width: float | None = None
    """Across, as the pipe sees it [m]."""
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    removed_at: datetime | None = None
