"""Limits that were changed for a build; those that were not have no row."""

from datetime import datetime

from sqlmodel import Field, UniqueConstraint

from server.db import VersionedRow


class LimitChange(VersionedRow, table=True):
    """One limit of the checks, as this build has it. A change taken back keeps its row, without a value."""

    __tablename__ = "limit_change"
    __table_args__ = (UniqueConstraint("build_id", "limit_key"),)

    build_id: int = Field(foreign_key="build.id", index=True)
    limit_key: str = Field(max_length=40)
    value: float | None = None
    """[SI unit of the limit's kind]; none: the usual one counts again."""
    typed: str = Field(default="", max_length=60)
    reason: str = Field(default="", max_length=300)
    by: str = Field(default="", max_length=80)
    at: datetime
