"""Further builders who keep their builds on one server."""

from datetime import datetime

from sqlmodel import Field

from server.db import Row


class Builder(Row, table=True):
    """Somebody with builds of their own beside those of who owns the server, who has no row here."""

    __tablename__ = "builder"

    name: str = Field(max_length=80)
    name_key: str = Field(max_length=240, unique=True)
    """The name without its case and its ways of writing an accent."""
    passphrase: str = Field(max_length=200)
    """Its argon2id hash."""
    created_at: datetime
