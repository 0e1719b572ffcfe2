"""Passkeys, and the challenges that they have to sign."""

from datetime import datetime

from sqlalchemy import Column, LargeBinary
from sqlmodel import Field

from server.db import Row


class Passkey(Row, table=True):
    """The public half of a key that a phone keeps behind its own lock."""

    __tablename__ = "passkey"

    builder_id: int | None = Field(default=None, foreign_key="builder.id", index=True)
    """Whose; none for who owns the server."""
    name: str = Field(max_length=80)
    credential: str = Field(max_length=1400, unique=True)
    """Its identifier of at most 1,023 bytes, in base64url."""
    public_key: bytes = Field(sa_column=Column(LargeBinary, nullable=False))
    """A COSE key (RFC 9052)."""
    uses: int
    """The counter of the phone, where it keeps one."""
    created_at: datetime
    last_used_at: datetime | None = None


class PasskeyChallenge(Row, table=True):
    """What was sent to a browser to be signed once, and soon."""

    __tablename__ = "passkey_challenge"

    digest: str = Field(max_length=64, unique=True)
    ends_at: datetime
