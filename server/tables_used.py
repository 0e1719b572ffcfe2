"""Which tables are read and written, noted statement by statement.

What is derived from a build's rows stays right for as long as nobody writes to the tables it was read from.
So nobody has to say what a derived value rests on, and nobody can forget to.
"""

import re
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from typing import Any

from sqlalchemy import Engine, event
from sqlmodel import Session, SQLModel

WRITES = re.compile(r'\s*(?:INSERT\s+INTO|UPDATE|DELETE\s+FROM)\s+"?(\w+)', re.IGNORECASE)
WRITTEN = "tables written in this transaction"
NOT_STAMPED = "rows that were written and not stamped yet"
"""Among the tables that were read: the transaction may still be undone, so nothing made of it is kept."""

_read: ContextVar[set[str] | None] = ContextVar("tables read", default=None)


def watch(engine: Engine) -> None:
    """Note what every statement of this engine reads and writes."""
    event.listen(engine, "begin", _begin)
    event.listen(engine, "before_cursor_execute", _note)


def _begin(connection: Any) -> None:
    connection.info[WRITTEN] = set()


def _note(connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
    read = _read.get()
    written: set[str] = connection.info.setdefault(WRITTEN, set())
    if read is not None:
        read |= named_in(statement)
        if written & named_in(statement):
            read.add(NOT_STAMPED)
    if (write := WRITES.match(statement)) is not None:
        written |= {write[1]} | _changed_with(write[1])


@lru_cache(maxsize=2048)
def named_in(statement: str) -> frozenset[str]:
    """The tables whose name stands in a statement: all that it reads, and at times one that it does not."""
    return frozenset(re.findall(r"\w+", statement)) & SQLModel.metadata.tables.keys()


@cache
def _changed_with(table: str) -> frozenset[str]:
    """The tables whose rows the database itself changes when one of this table is deleted."""
    return frozenset(
        other.name
        for other in SQLModel.metadata.tables.values()
        for key in other.foreign_keys
        if key.ondelete and key.column.table.name == table
    )


@contextmanager
def noting_reads() -> Iterator[set[str]]:
    """The tables that are read meanwhile; who notes around it gets them too."""
    mine = set[str]()
    token = _read.set(mine)
    try:
        yield mine
    finally:
        _read.reset(token)
        rests_on(mine)


def rests_on(tables: Collection[str]) -> None:
    """What is being derived rests on these tables, though it took what was kept of them and read nothing."""
    if (read := _read.get()) is not None:
        read.update(tables)


def take_written(session: Session) -> frozenset[str]:
    """The tables written in this transaction since this was asked last."""
    session.flush()
    info = session.connection().info
    written, info[WRITTEN] = frozenset(info[WRITTEN]), set()
    return written
