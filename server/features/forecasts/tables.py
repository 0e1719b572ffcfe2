"""What was foreseen of a build, day by day.

The one derived thing that is stored: what was foreseen last week can't be worked out from rows of today.
"""

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, Column
from sqlmodel import Field

from server.db import Row


class ForecastNote(Row, table=True):
    """The dates as they stood from one moment on; a new row a day, and whenever one of them moved."""

    __tablename__ = "forecast_note"

    build_id: int = Field(foreign_key="build.id", index=True)
    noted_at: datetime
    finish: date | None = None
    """By the plan."""
    likely: date | None = None
    safe: date | None = None
    """Four chances in five."""
    stood: dict[str, Any] = Field(default_factory=dict, sa_column=Column(JSON, nullable=False))
    """What the dates rested on."""
    moved: list[Any] = Field(default_factory=list, sa_column=Column(JSON, nullable=False))
    """What moved a date since the note before."""
