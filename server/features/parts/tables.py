"""Parts: what can be bought, made or salvaged, and how many of it lie on the shelf."""

from sqlmodel import Field

from server.db import VersionedRow


class Part(VersionedRow, table=True):
    """A part. Money is whole minor units of the build's currency."""

    __tablename__ = "part"

    build_id: int = Field(foreign_key="build.id", index=True)
    name: str = Field(max_length=120)
    kind: str = Field(default="", max_length=40)
    origin: str = Field(default="buy", max_length=20)
    """buy, make, salvage, borrowed"""
    tried: str = Field(default="", max_length=20)
    """Borrowed fittings: not tried, fits, does not."""
    price_minor: int | None = None
    on_shelf: int = 0
    note: str = Field(default="", max_length=300)
