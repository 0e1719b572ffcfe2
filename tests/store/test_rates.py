"""Rates of order lines: an older file has none, and an archive carries them."""

import io
import json
import zipfile
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from sqlalchemy import Engine, MetaData
from sqlmodel import Session

from server.core.buying.exchange import Rate
from server.db import make_engine, write_session, writing
from server.errors import BadInput
from server.features.archive.service import export_build, import_build
from server.features.orders.service import NewLine, order_faces, place_order
from server.features.parts.service import part_named
from server.migrate import upgrade, upgrade_engine
from server.settings import Settings
from tests.factories import a_build
from tests.store.test_migrations import fill

DAY, NOW = date(2026, 11, 20), datetime(2026, 11, 25, 9, tzinfo=UTC)


def test_orders_of_an_older_file_stay_in_the_builds_own_currency(empty_settings: Settings) -> None:
    upgrade(empty_settings, "2026_11_26_same_parts")
    engine = make_engine(empty_settings.database_url)
    with writing(engine).begin() as connection:
        fill(connection)
        tables = MetaData()
        tables.reflect(connection)
        line = {"quantity": 4, "price_minor": 320, "pack": 2, "cancelled": 0}
        connection.execute(tables.tables["order_line"].update().values(line))
        connection.execute(tables.tables["delivery"].delete())
        connection.execute(tables.tables["sent_back"].delete())
    upgrade_engine(engine)
    with Session(engine) as session:
        table = MetaData()
        table.reflect(engine)
        session.execute(table.tables["supply_order"].update().values(removed_at=None))
        (order,) = order_faces(session, 1)
    engine.dispose()
    assert order.lines[0].rate is None
    assert order.lines[0].total_minor == 640


def test_an_archive_carries_rates_as_decimal_numbers_and_refuses_broken_ones(
    any_engine: Engine, settings: Settings
) -> None:
    rate = Rate("JPY", Decimal("0.0061"), "card bill")
    with write_session(any_engine) as session:
        build = a_build(session, NOW).id
        line = NewLine(part_named(session, build, "stud"), 2, 1250, 1, rate)
        place_order(session, build, "Far away", DAY, None, 0, [line])
    written = io.BytesIO()
    with Session(any_engine) as session:
        export_build(session, settings.photos, build, written, NOW)
    with zipfile.ZipFile(written) as file:
        rows = json.loads(file.read("build.json"))
    (told,) = rows["tables"]["order_line"]
    assert (told["price_minor"], told["currency"], told["rate"]) == (1250, "JPY", "0.0061")
    with write_session(any_engine) as session:
        again = import_build(session, settings.photos, written)
        (order,) = order_faces(session, again)
        assert (order.lines[0].rate, order.total_minor) == (rate, 1525)
    for broken in ({"rate": "nothing"}, {"rate": "-1"}, {"currency": ""}, {"currency": "QQQ"}):
        rows["tables"]["order_line"] = [{**told, **broken}]
        spoilt = io.BytesIO()
        with zipfile.ZipFile(spoilt, "w") as file:
            file.writestr("build.json", json.dumps(rows))
        with write_session(any_engine) as session, pytest.raises(BadInput):
            import_build(session, settings.photos, spoilt)
