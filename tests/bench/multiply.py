"""Ten times the data: every row of the demo copied within its build, with all that ties the rows together."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Engine, Table, func, insert, select, update
from sqlmodel import SQLModel

from server.features.builds.service import free_letters
from server.features.builds.store import new_revision

ONCE = frozenset(
    {"build", "datum", "engine_sheet", "engine_point", "garage_time", "stint"}
    | {"line_fact", "share_token", "sign_in", "operation_key"}
)
"""A build, its engine and its over-boost cut, the hours of its garage and who may come in: one of each,
however much work it is."""

NAMED = {
    "subsystem": "name",
    "port": "name",
    "part": "name",
    "supplier": "name",
    "design": "name",
    "helper": "name",
    "task": "title",
    "supply_order": "supplier",
    "line_space": "name",
    "line_point": "name",
    "ledger_line": "name",
}
"""The column by which people tell the rows of a table apart."""


def multiply(engine: Engine, times: int) -> None:
    """Leave `times` as much of everything in a database that holds one build.

    The copies of a row have numbers of their own, higher by a fixed step; so has all that they refer to.
    """
    tables = [table for table in SQLModel.metadata.sorted_tables if table.name not in ONCE]
    with engine.begin() as connection:
        step = max(connection.scalar(select(func.max(table.c.id))) or 0 for table in tables)
        letters = _letters(connection)
        for table in tables:
            rows = list(connection.execute(select(table).order_by(table.c.id)).mappings())
            for copy in range(1, times):
                made = [_copied(table, row, copy, step, letters) for row in rows]
                if made:
                    connection.execute(insert(table), made)
        build = SQLModel.metadata.tables["build"]
        connection.execute(update(build).values(revision=new_revision(), stamps={}))


def _letters(connection: Connection) -> list[str]:
    """The letters that drawings have left for the copied subsystems."""
    taken = connection.scalars(select(SQLModel.metadata.tables["subsystem"].c.letter)).all()
    return free_letters(taken)


def _copied(
    table: Table, row: Mapping[Any, Any], copy: int, step: int, letters: list[str]
) -> dict[str, object]:
    """The row once more: another number, other names, tied to the copies of what it was tied to."""
    values: dict[str, object] = dict(row)
    values["id"] = row["id"] + copy * step
    for column in table.columns:
        tied = {key.column.table.name for key in column.foreign_keys}
        if tied - ONCE and row[column.name] is not None:
            values[column.name] = row[column.name] + copy * step
    if table.name in NAMED:
        name = NAMED[table.name]
        values[name] = f"{row[name]} {copy + 1}"
    if table.name == "subsystem":
        values["letter"] = letters.pop(0)
    if table.name == "photo":
        values["name"] = f"{copy + 1}-{row['name']}"
        values["subject_id"] = row["subject_id"] + copy * step
    return values
