"""Trims: each time that a piece was offered up, and what was taken off it then."""

from datetime import datetime

from sqlalchemy import JSON, Column, ForeignKey, Integer
from sqlmodel import Field

from server.db import VersionedRow


class Trim(VersionedRow, table=True):
    """One offering up. A withdrawn one keeps its row, so that it can be put back."""

    __tablename__ = "trim"

    piece_id: int = Field(
        sa_column=Column(Integer, ForeignKey("piece.id", ondelete="CASCADE"), nullable=False, index=True)
    )
    at: datetime
    by: str = Field(default="", max_length=80)
    excess: float
    """What it was too long by, as read; under 0 where there was a gap [m]."""
    doubt: float
    """Standard uncertainty of that reading [m]."""
    read_with: str = Field(max_length=30)
    taken_off: float | None = None
    """Taken off afterwards [m]; none where nothing was, or not yet."""
    taken_by: str = Field(default="", max_length=80)
    note: str = Field(default="", max_length=200)
    typed: dict[str, str] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    withdrawn_at: datetime | None = None
