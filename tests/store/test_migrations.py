"""The migrations build the tables that the program knows, and keep what was stored before."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Connection, Engine, MetaData, Table, inspect, select, types

from server.db import make_engine, writing
from server.migrate import current, head, tables, upgrade, upgrade_engine, versions
from server.settings import Settings

MOMENT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def value_for(kind: types.TypeEngine[Any]) -> Any:
    """Some value that a column of this type takes."""
    if isinstance(kind, types.Boolean):
        return True
    if isinstance(kind, types.Integer):
        return 1
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
    return "63,5 mm · ″ü"[:length]


def fill(connection: Connection) -> dict[str, dict[str, Any]]:
    """One row in every table of a database, whatever its version; every link points at row 1."""
    reflected = MetaData()
    reflected.reflect(connection)
    stored = {}
    for table in reflected.sorted_tables:
        if table.name != "alembic_version":
            stored[table.name] = {column.name: value_for(column.type) for column in table.columns}
            connection.execute(table.insert().values(**stored[table.name]))
    return stored


def still_there(connection: Connection, table: Table, row: dict[str, Any]) -> bool:
    """Whether a table holds a row with these values, in the columns that it still has."""
    found = connection.execute(select(table)).mappings().one()
    return all(plain(found[name]) == plain(value) for name, value in row.items() if name in found)


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


@pytest.mark.parametrize("version", versions())
def test_a_database_of_any_earlier_version_keeps_its_rows_when_brought_up_to_date(
    empty_settings: Settings, version: str
) -> None:
    upgrade(empty_settings, version)
    engine = make_engine(empty_settings.database_url)
    with writing(engine).begin() as connection:
        stored = fill(connection)
    upgrade_engine(engine)
    assert current(engine) == head()
    kept = MetaData()
    with engine.connect() as connection:
        kept.reflect(connection)
        lost = [
            name
            for name, row in stored.items()
            if name in kept.tables and not still_there(connection, kept.tables[name], row)
        ]
    engine.dispose()
    assert lost == []
    assert set(stored) <= set(kept.tables)


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
