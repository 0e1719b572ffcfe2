"""Who may come in: the builder's sign-ins and the links given to helpers. Only digests are kept."""

from datetime import datetime

from sqlmodel import Field

from server.db import Row


class ShareToken(Row, table=True):
    """A link for one person, for one build or one visit of it. The token is shown once and never stored."""

    __tablename__ = "share_token"

    build_id: int = Field(foreign_key="build.id", index=True)
    visit_id: int | None = Field(default=None, foreign_key="visit.id")
    """The visit that it is for; none for the whole build."""
    form_digest: str | None = Field(default=None, max_length=64, unique=True)
    """Of the key of the form that made it, so that the form sent twice makes one link."""
    name: str = Field(max_length=80)
    digest: str = Field(max_length=64, unique=True)
    scope: str = Field(max_length=20)
    """look, work"""
    created_at: datetime
    expires_at: datetime
    withdrawn_at: datetime | None = None
    last_used_at: datetime | None = None


class SignIn(Row, table=True):
    """A browser that gave a passphrase."""

    __tablename__ = "sign_in"

    builder_id: int | None = Field(default=None, foreign_key="builder.id", index=True)
    """As whom; none for who owns the server."""
    device: str = Field(default="", max_length=80)
    """What it is called, to be told from others in a list."""
    digest: str = Field(max_length=64, unique=True)
    created_at: datetime
    last_seen_at: datetime
    ended_at: datetime | None = None
