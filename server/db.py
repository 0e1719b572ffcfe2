"""The database: engine, pragmas, and the two kinds of session a request may ask for.

A read session begins a deferred transaction. A write session begins with `BEGIN IMMEDIATE`, so that
a writer waits at the start or not at all and never fails half-way on a stale snapshot.
"""

from collections.abc import AsyncIterator, Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from operator import itemgetter
from typing import Annotated, Any

import pysqlite3
from fastapi import Depends, Request
from sqlalchemy import Engine, Executable, create_engine, event
from sqlalchemy.engine import Connection
from sqlmodel import Field, Session, SQLModel

from server.tables_used import watch

SAFE_SQLITE = (3, 51, 3)
"""First SQLite version without the write-ahead-log reset fault (https://sqlite.org/wal.html#walresetbug)."""

SQLModel.metadata.naming_convention = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Row(SQLModel):
    """A table row with a number of its own."""

    id: int | None = Field(default=None, primary_key=True)

    @property
    def key(self) -> int:
        """The row's number, once it has been stored."""
        if self.id is None:
            raise LookupError(f"{type(self).__name__} has not been stored yet")
        return self.id

    def told(self) -> tuple[object, ...]:
        """All that the row says, to compare with what it said another time.

        Lists and mappings in a row are never changed in place: SQLAlchemy would not notice it.
        """
        try:
            return _all_of(type(self))(self.__dict__)  # much faster than attribute by attribute
        except KeyError:  # not all of it is loaded
            return tuple(getattr(self, name) for name in type(self).model_fields)


@cache
def _all_of(row: type[Row]) -> Callable[[dict[str, object]], tuple[object, ...]]:
    """Reads every field of a row of this table at one go."""
    return itemgetter(*row.model_fields)


class VersionedRow(Row):
    """A row that two people may edit: each edit names the version it was made on."""

    version: int = Field(default=1)


def make_engine(url: str) -> Engine:
    """An engine for a SQLite file or for PostgreSQL, with the pragmas of this project set on connect."""
    if not url.startswith("sqlite"):
        engine = create_engine(url, pool_pre_ping=True)
        watch(engine)
        return engine
    engine = create_engine(
        url, module=pysqlite3, connect_args={"check_same_thread": False, "timeout": 5.0}, pool_size=10
    )
    event.listen(engine, "connect", _set_pragmas)
    event.listen(engine, "begin", _begin)
    watch(engine)
    return engine


def _set_pragmas(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions are begun by `_begin`, not by the driver
    cursor = connection.cursor()
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        "busy_timeout=5000",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def writing(engine: Engine) -> Engine:
    """The same engine and pool, whose transactions take the write lock at once."""
    return engine.execution_options(writes=True)


@contextmanager
def write_session(engine: Engine) -> Iterator[Session]:
    """A session whose work is committed at the end, or rolled back whole on an error."""
    with Session(writing(engine), expire_on_commit=False) as session:
        yield session
        session.commit()


def plain_rows(session: Session, statement: Executable, **values: object) -> Sequence[Any]:
    """Columns of rows that are only read, as they come from the connection.

    A session would make a mapped object of each. `statement` is put together once, where it is written, with
    a `bindparam` for each of `values`: putting it together takes longer than running it.
    """
    session.flush()
    return session.connection().execute(statement, values).all()


async def read_session(request: Request) -> AsyncIterator[Session]:
    """Dependency: a session for reading. Nothing is opened until the first query."""
    session = Session(request.app.state.engine)
    request.state.session = session
    try:
        yield session
    finally:
        session.close()


async def current_write_session(request: Request) -> Session:
    """Dependency: the write session that the operation-key wrapper opened for this request."""
    session: Session = request.state.write_session
    return session


ReadSession = Annotated[Session, Depends(read_session)]
WriteSession = Annotated[Session, Depends(current_write_session)]
