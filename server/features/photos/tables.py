"""Photos: the row; the picture itself stands in the data folder under `name`."""

from datetime import datetime

from sqlmodel import Field

from server.db import Row


class Photo(Row, table=True):
    """A re-encoded picture. `subject` says what it shows: `reading 12`, `task 3`, `log 7`.

    `original`: what is kept of the picture at its full size; its kind is empty where nothing is.
    """

    __tablename__ = "photo"

    build_id: int = Field(foreign_key="build.id", index=True)
    name: str = Field(max_length=60, unique=True)
    subject_kind: str = Field(max_length=20)
    subject_id: int
    caption: str = Field(default="", max_length=200)
    width: int
    height: int
    size: int
    digest: str = Field(max_length=64)
    original_kind: str = Field(default="", max_length=4)
    original_size: int = 0
    original_digest: str = Field(default="", max_length=64)
    added_at: datetime
    added_by: str = Field(default="builder", max_length=80)
    withdrawn_at: datetime | None = None
