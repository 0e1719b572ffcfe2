"""The log: what happened, when."""

from datetime import datetime

from sqlmodel import Field

from server.db import Row


class LogEntry(Row, table=True):
    """One entry. `kind` is note for what people write, act for what they did."""

    __tablename__ = "log_entry"

    build_id: int = Field(foreign_key="build.id", index=True)
    at: datetime
    kind: str = Field(max_length=20)
    actor: str = Field(default="builder", max_length=80)
    text: str = Field(max_length=2000)
    href: str = Field(default="", max_length=200)
    withdrawn_at: datetime | None = None
