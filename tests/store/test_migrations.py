"""The migrations build the tables that the program knows, and keep what was stored before."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, Engine, MetaData, Table, inspect, select, types

from server.db import make_engine, writing
from server.migrate import current, head, make_data_folder, tables, upgrade, upgrade_engine, versions
from server.settings import Settings
from tests.samples import sample

MOMENT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def value_for(kind: types.TypeEngine[Any], number: int) -> Any:
    """Some value that a column of this type takes, another for each row."""
    if isinstance(kind, types.Boolean):
        return True
    if isinstance(kind, types.Integer):
        return number
    if isinstance(kind, types.Float):
        return 0.0635
    if isinstance(kind, types.DateTime):
        return MOMENT
    if isinstance(kind, types.Date):
        return date(2026, 11, 25)
    if isinstance(kind, types.JSON):
        return {"bore": "63,5 mm"}
    if isinstance(kind, types.LargeBinary):
        return b"bytes"
    length = getattr(kind, "length", None) or 12
    return f"{number} 63,5 mm · ″ü"[:length]


def fill(connection: Connection, number: int = 1) -> dict[str, dict[str, Any]]:
    """A row of this number in every table of a database, whatever its version; it is linked to its like."""
    reflected = MetaData()
    reflected.reflect(connection)
    stored = {}
    for table in reflected.sorted_tables:
        if table.name != "alembic_version":
            stored[table.name] = {column.name: value_for(column.type, number) for column in table.columns}
            connection.execute(table.insert().values(**stored[table.name]))
    return stored


def still_there(connection: Connection, table: Table, row: dict[str, Any]) -> bool:
    """Whether a table holds a row with these values, in the columns that it still has."""
    mine = (column == row[column.name] for column in table.primary_key)
    found = connection.execute(select(table).where(*mine)).mappings().one_or_none()
    return found is not None and all(
        plain(found[name]) == plain(value) for name, value in row.items() if name in found
    )


def plain(value: Any) -> Any:
    """SQLite keeps moments in UTC without saying so."""
    return value.astimezone(UTC).replace(tzinfo=None) if getattr(value, "tzinfo", None) else value


def test_a_new_database_has_exactly_the_tables_of_the_program(any_engine: Engine) -> None:
    with any_engine.connect() as connection:
        seen = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(seen, tables()) == []


def test_every_constraint_and_index_has_a_name_to_migrate_it_by(any_engine: Engine) -> None:
    looked = inspect(any_engine)
    for table in looked.get_table_names():
        if table == "alembic_version":
            continue
        named = [looked.get_pk_constraint(table)["name"]]
        named += [item["name"] for item in looked.get_foreign_keys(table)]
        named += [item["name"] for item in looked.get_unique_constraints(table)]
        named += [item["name"] for item in looked.get_indexes(table)]
        assert all(named), f"{table}: {named}"


def test_the_file_names_of_the_migrations_are_their_versions_with_date_and_subject() -> None:
    for version in versions():
        year, month, day, *subject = version.split("_")
        assert date(int(year), int(month), int(day)) >= date(2026, 11, 25)
        assert subject


Filled = dict[str, list[dict[str, Any]]]
"""Rows by table."""


def lost_of(engine: Engine, stored: Filled) -> list[str]:
    """The tables that lack a row as it was stored, or are not there, each with the row."""
    kept = MetaData()
    with engine.connect() as connection:
        kept.reflect(connection)
        return [
            f"{name}: {row}"
            for name, rows in stored.items()
            for row in rows
            if name not in kept.tables or not still_there(connection, kept.tables[name], row)
        ]


def test_a_database_brought_up_version_by_version_keeps_the_rows_of_each(empty_settings: Settings) -> None:
    """At each version every table gets one more row, whose number says which version that was."""
    make_data_folder(empty_settings)
    engine = make_engine(empty_settings.database_url)
    stored: Filled = {}
    for number, version in enumerate(versions(), 1):
        upgrade_engine(engine, version)
        with writing(engine).begin() as connection:
            for name, row in fill(connection, number).items():
                stored.setdefault(name, []).append(row)
    assert current(engine) == head()
    assert lost_of(engine, stored) == []
    engine.dispose()
    assert sum(map(len, stored.values())) > 500


@pytest.mark.parametrize("version", sample(versions(), 3))
def test_a_database_of_an_earlier_version_is_brought_up_to_date_in_one_go(
    empty_settings: Settings, version: str
) -> None:
    """All steps are one transaction; `make prove` sets out from each version."""
    upgrade(empty_settings, version)
    engine = make_engine(empty_settings.database_url)
    with writing(engine).begin() as connection:
        stored = {name: [row] for name, row in fill(connection, 1).items()}
    upgrade_engine(engine)
    assert current(engine) == head()
    assert lost_of(engine, stored) == []
    engine.dispose()


def test_of_photos_that_were_there_before_no_original_is_kept(empty_settings: Settings) -> None:
    upgrade(empty_settings, "2026_11_26_same_parts")
    engine = make_engine(empty_settings.database_url)
    with writing(engine).begin() as connection:
        fill(connection)
    upgrade_engine(engine)
    columns = "original_kind", "original_size", "original_digest"
    with engine.connect() as connection:
        photo = connection.execute(select(tables().tables["photo"])).mappings().one()
    engine.dispose()
    assert [photo[name] for name in columns] == ["", 0, ""]


def test_bringing_up_to_date_twice_changes_nothing(empty_settings: Settings) -> None:
    upgrade(empty_settings)
    upgrade(empty_settings)
    engine = make_engine(empty_settings.database_url)
    assert current(engine) == head()
    engine.dispose()


def test_foreign_keys_are_enforced_again_after_a_migration(settings: Settings) -> None:
    engine = make_engine(settings.database_url)
    upgrade_engine(engine)
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    engine.dispose()
