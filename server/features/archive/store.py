"""Rows of a build, whatever their table: read out of a database, and put into one under new ids.

Which tables there are and what belongs to what is asked of the tables themselves, so that none is forgotten.
"""

import re
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Connection,
    Date,
    DateTime,
    Float,
    Integer,
    MetaData,
    Select,
    String,
    Table,
    select,
)
from sqlmodel import Session, SQLModel

from server.features.archive.forms import Row, refusal
from server.features.archive.page import ColumnSheet, TableSheet
from server.features.builds.store import new_revision
from server.features.forecasts.store import renumbered

LEFT_OUT = {
    "share_token": "a link that was given out opens one server only, and is a secret",
    "builder": "who has builds on one server is nobody on another",
    "passkey": "it opens the door of one server",
    "passkey_challenge": "what browsers at one server have to sign",
    "sign_in": "who signed in at one server means nothing at another",
    "operation_key": "what was answered to forms of one server",
}
"""Tables that no archive has, and why."""

VERSION = "alembic_version"
SHOWN_ON = {
    "log": "log_entry",
    "task": "task",
    "reading": "reading",
    "port": "port",
    "line before": "ledger_line",
    "line after": "ledger_line",
    "design": "design",
    "piece": "piece",
}
"""What `photo.subject_kind` says, and the table that `subject_id` is of."""

NAMED = re.compile(r"([a-z]+)\.([0-9]+)")
NAMED_IN = {
    "line": "ledger_line",
    "point": "line_point",
    "design": "subsystem",
    "fuel": "subsystem",
}
"""First words of the keys that the first start knows things by ("line.3"), and the tables of the numbers."""

NAMING_OTHERWISE = {"photo", "forecast_note", "start_entry", "start_look", "start_signature"}
"""Tables whose rows name others without a foreign key: they come last, when all others have their ids."""

Ids = dict[str, dict[int, int]]
"""New ids by table and old id."""


def kept_tables(known: MetaData) -> list[Table]:
    """The tables of an archive, those that others name first."""
    found = [table for table in known.sorted_tables if table.name not in LEFT_OUT and table.name != VERSION]
    return sorted(found, key=lambda table: table.name in NAMING_OTHERWISE)


def models() -> dict[str, type[SQLModel]]:
    """The class of each table's rows."""
    classes = (mapper.class_ for mapper in SQLModel._sa_registry.mappers)
    return {str(one.__tablename__): one for one in classes}


def owner(table: Table) -> Column[Any] | None:
    """The column by which a row belongs to its build, at times through another row; none for the build."""
    links = [one for one in table.columns if one.foreign_keys and not one.nullable]
    return next((one for one in links if one.name == "build_id"), links[0] if links else None)


def _parent(link: Column[Any]) -> Table:
    (key,) = link.foreign_keys
    return key.column.table


def _ids_in(table: Table, build_id: int) -> Select[Any]:
    link = owner(table)
    if link is None:
        return select(table.c.id).where(table.c.id == build_id)
    return select(table.c.id).where(link.in_(_ids_in(_parent(link), build_id)))


def rows_of(connection: Connection, known: MetaData, build_id: int) -> dict[str, list[Row]]:
    """Every row of a build, by table, in the order of ids, as Python values."""
    found = {}
    for table in kept_tables(known):
        asked = select(table).where(table.c.id.in_(_ids_in(table, build_id))).order_by(table.c.id)
        alone = {column.name: None for column in table.columns if _names_what_is_left_out(column)}
        found[table.name] = [{**row, **alone} for row in connection.execute(asked).mappings()]
    return found


def _names_what_is_left_out(column: Column[Any]) -> bool:
    return any(key.column.table.name in LEFT_OUT for key in column.foreign_keys)


def as_json(row: Row) -> Row:
    """A row as JSON has it; moments in UTC."""
    return {name: _written(value) for name, value in row.items()}


def _written(value: Any) -> Any:
    if isinstance(value, datetime):
        return (value.astimezone(UTC) if value.tzinfo else value.replace(tzinfo=UTC)).isoformat()
    return value.isoformat() if isinstance(value, date) else value


def fill(connection: Connection, known: MetaData, rows: Mapping[str, list[Row]]) -> None:
    """Put the rows of an archive, ids and all, into an empty database of its version. Raises BadInput.

    The database itself says, once all is in, whether a row names another that is not there.
    """
    tables = {table.name: table for table in kept_tables(known)}
    if tables.keys() != rows.keys():
        odd = sorted(tables.keys() ^ rows.keys())
        raise refusal(f"The archive's tables are not those of its version: {', '.join(odd)[:200]}.")
    if len(rows["build"]) != 1:
        raise refusal(f"The archive has {len(rows['build'])} builds; it must have one.")
    connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    for name, table in tables.items():
        if rows[name]:
            connection.execute(table.insert(), [_read(table, row) for row in rows[name]])


def _read(table: Table, row: Row) -> Row:
    columns = {column.name: column for column in table.columns}
    if columns.keys() != row.keys():
        odd = sorted(columns.keys() ^ row.keys())
        raise refusal(f"A row of {table.name} has other columns than its version: {', '.join(odd)[:200]}.")
    try:
        return {name: _value(columns[name], value) for name, value in row.items()}
    except (TypeError, ValueError) as error:
        raise refusal(f"A row of {table.name} holds {error}.") from error


def _value(column: Column[Any], value: Any) -> Any:
    """A value of JSON as its column takes it. Raises ValueError, TypeError."""
    kind = column.type
    if value is None and column.nullable:
        return None
    if isinstance(kind, JSON) and isinstance(value, dict | list):
        return value
    if isinstance(kind, DateTime) and isinstance(value, str):
        return datetime.fromisoformat(value).astimezone(UTC).replace(tzinfo=None)
    if isinstance(kind, Date) and isinstance(value, str):
        return date.fromisoformat(value)
    if isinstance(kind, Boolean) and isinstance(value, bool):
        return value
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if isinstance(kind, Integer) and number and isinstance(value, int) and abs(value) < 2**63:
        return value
    if isinstance(kind, Float) and number and abs(value) < 1e300:
        return float(value)
    if isinstance(kind, String) and isinstance(value, str) and "\x00" not in value:
        return value
    raise ValueError(f"in {column.name} what can't stand there")


def add_rows(session: Session, rows: Mapping[str, list[Row]]) -> Ids:
    """Put rows of the present version into this database under new ids, flushed.

    Raises ValueError, TypeError, KeyError or AttributeError where one says what its table does not take.
    """
    ids: Ids = {}
    kinds = models()
    for table in kept_tables(SQLModel.metadata):
        ids[table.name] = {}
        for row in rows[table.name]:
            values = kinds[table.name].model_validate(_renumbered(table, row, ids)).model_dump(exclude={"id"})
            # Not by the session, which would put a column's default where nothing is meant to stand.
            (number,) = session.execute(table.insert().returning(table.c.id).values(**values)).one()
            ids[table.name][row["id"]] = number
        for link in (one for one in table.columns if _names_own(one)):
            for row in (one for one in rows[table.name] if one[link.name] is not None):
                mine = table.c.id == ids[table.name][row["id"]]
                named = {link.name: ids[table.name][row[link.name]]}
                session.execute(table.update().where(mine).values(**named))
    return ids


def _names_own(column: Column[Any]) -> bool:
    return any(key.column.table is column.table for key in column.foreign_keys)


def _renumbered(table: Table, row: Row, ids: Ids) -> Row:
    """The row under no id yet, naming the rows that it named by their new ids."""
    new = {**row, "id": None}
    for column in table.columns:
        if column.foreign_keys and row[column.name] is not None:
            parent = _parent(column)
            new[column.name] = None if parent is table else ids[parent.name][row[column.name]]
    match table.name:
        case "build":
            new |= {"revision": new_revision(), "stamps": {}}
        case "photo":
            shown = ids.get(SHOWN_ON.get(row["subject_kind"], ""), {})
            new["subject_id"] = shown.get(row["subject_id"], 0)
        case "log_entry":
            new["href"] = ""
        case "pose_reading":
            new["said"] = {name: _hooked(name, told, ids) for name, told in row["said"].items()}
        case "start_entry" | "start_look":
            new["item"] = _named(row["item"], ids)
        case "start_signature":
            new["evidence"] = dict(_rested_on(key, told, ids) for key, told in row["evidence"].items())
        case "forecast_note":
            new["stood"], new["moved"] = renumbered(row["stood"], row["moved"], ids)
    return new


def _hooked(name: str, told: str, ids: Ids) -> str:
    """What was chosen for a place; a tape may have been hooked at another port, told by its number."""
    if not (name.startswith("hook") and told.isdecimal()):
        return told
    return str(ids["port"].get(int(told), 0))


def _rested_on(key: str, told: list[str], ids: Ids) -> tuple[str, list[str]]:
    """What a signature rests on: of a subsystem's design, its number; else how something was."""
    if key.startswith("design."):
        name, design = told
        told = [name, str(ids["design"].get(int(design), 0))]
    return _named(key, ids), told


def _named(key: str, ids: Ids) -> str:
    """The key of the same thing here; what is not known here gets a key that nothing has."""
    found = NAMED.fullmatch(key)
    if found is None or found[1] not in NAMED_IN:
        return key
    return f"{found[1]}.{ids[NAMED_IN[found[1]]].get(int(found[2]), 0)}"


KINDS = ((JSON, "JSON"), (Boolean, "true or false"), (DateTime, "moment in UTC"), (Date, "day"))


def sheets() -> list[TableSheet]:
    """What stands in each table of an archive."""
    return [
        TableSheet(table.name, models()[table.name].__doc__ or "", tuple(map(_sheet, table.columns)))
        for table in kept_tables(SQLModel.metadata)
    ]


def _sheet(column: Column[Any]) -> ColumnSheet:
    kind = getattr(column.type, "impl", column.type)
    words = next((told for sort, told in KINDS if isinstance(kind, sort)), "")
    if not words:
        words = (
            "whole number" if isinstance(kind, Integer) else "number" if isinstance(kind, Float) else "text"
        )
    names = _parent(column).name if column.foreign_keys else ""
    return ColumnSheet(column.name, words, bool(column.nullable), names)
