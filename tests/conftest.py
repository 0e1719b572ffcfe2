"""What every test may ask for: a clock, a migrated database, the application on it, a browser in front."""

import os
import shutil
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from importlib import import_module
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine

from server.app import create_app
from server.db import make_engine
from server.migrate import make_data_folder, upgrade
from server.serving import settle_memory
from server.settings import Settings, settings_for
from tests.asking import Browser
from tests.factories import load_demo
from tests.postgres import Postgres
from tests.samples import draw_examples

TEN_IN_THE_MORNING = datetime(2026, 11, 25, 10, 0, tzinfo=timezone(timedelta(hours=1)))
POSTGRES = "WITNESS_MARK_TEST_POSTGRES"

draw_examples()


def pytest_sessionstart(session: pytest.Session) -> None:
    """Every process imports every test, compiled by who comes first: the second begins at the end."""
    second = getattr(session.config, "workerinput", {}).get("workerid") == "gw1"
    if second and session.config.args_source is pytest.Config.ArgsSource.TESTPATHS:
        for path in sorted(session.config.rootpath.glob("tests/**/test_*.py"), reverse=True):
            import_module(".".join(path.relative_to(session.config.rootpath).with_suffix("").parts))


def pytest_collection_finish() -> None:
    """As a server does once it stands: all modules are loaded now, and stay."""
    settle_memory()


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated, empty SQLite file, made once; tests work on copies of it."""
    settings = settings_for(data=tmp_path_factory.mktemp("migrated"), environment={})
    upgrade(settings)
    return settings.data / "witness-mark.sqlite"


@pytest.fixture
def settings(tmp_path: Path, migrated_file: Path) -> Settings:
    """Settings of a server on loopback, with a data folder of this test's own."""
    mine = settings_for(data=tmp_path / "data", environment={})
    make_data_folder(mine)
    shutil.copy(migrated_file, mine.data / migrated_file.name)
    return mine


@pytest.fixture
def clock() -> Callable[[], datetime]:
    """Wednesday, 25 November 2026, ten in the morning, one hour east of UTC."""
    return lambda: TEN_IN_THE_MORNING


@pytest.fixture
def now(clock: Callable[[], datetime]) -> datetime:
    return clock()


@pytest.fixture
def app(settings: Settings, clock: Callable[[], datetime]) -> Iterator[FastAPI]:
    application = create_app(settings, clock)
    yield application
    application.state.engine.dispose()


@pytest.fixture
def engine(app: FastAPI) -> Engine:
    """The engine behind `app` and `browser`."""
    found: Engine = app.state.engine
    return found


@pytest.fixture
def browser(app: FastAPI) -> Iterator[Browser]:
    with Browser(app) as asking:
        yield asking


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """The PostgreSQL server that the environment names; without one the test is skipped, and says so."""
    address = os.environ.get(POSTGRES)
    if not address:
        pytest.skip(f"no PostgreSQL server: set {POSTGRES} (see DEVELOPERS.md), or run .ci/run")
    server = Postgres(address)
    yield server
    server.close()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def any_server(request: pytest.FixtureRequest) -> Postgres | None:
    """None for SQLite, then the PostgreSQL server."""
    if request.param == "sqlite":
        return None
    server: Postgres = request.getfixturevalue("postgres")
    return server


@pytest.fixture
def empty_settings(any_server: Postgres | None, tmp_path: Path) -> Settings:
    """Settings of an empty database without tables, once on SQLite and once on PostgreSQL."""
    environment = {"DATABASE_URL": any_server.empty_database()} if any_server else {}
    return settings_for(data=tmp_path / "any", environment=environment)


@pytest.fixture
def any_settings(any_server: Postgres | None, tmp_path: Path, migrated_file: Path) -> Settings:
    """Settings of a migrated database, once on SQLite and once on PostgreSQL."""
    environment = {"DATABASE_URL": any_server.migrated_database()} if any_server else {}
    mine = settings_for(data=tmp_path / "any", environment=environment)
    make_data_folder(mine)
    if not any_server:
        shutil.copy(migrated_file, mine.data / migrated_file.name)
    return mine


@pytest.fixture
def any_engine(any_settings: Settings) -> Iterator[Engine]:
    """A migrated database, once on SQLite and once on PostgreSQL."""
    engine = make_engine(any_settings.database_url)
    yield engine
    engine.dispose()


@pytest.fixture
def any_app(any_settings: Settings, clock: Callable[[], datetime]) -> Iterator[FastAPI]:
    """The application on a migrated database, once on SQLite and once on PostgreSQL."""
    application = create_app(any_settings, clock)
    yield application
    application.state.engine.dispose()


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the demo in it, loaded once; tests work on copies of it."""
    settings = settings_for(data=tmp_path_factory.mktemp("demo"), environment={})
    load_demo(settings, lambda: TEN_IN_THE_MORNING)
    return settings.data


@pytest.fixture
def demo_settings(tmp_path: Path, demo_folder: Path) -> Settings:
    mine = settings_for(data=tmp_path / "demo", environment={})
    shutil.copytree(demo_folder, mine.data)
    return mine


@pytest.fixture
def demo_app(demo_settings: Settings, clock: Callable[[], datetime]) -> Iterator[FastAPI]:
    """The application on a copy of the demo."""
    application = create_app(demo_settings, clock)
    yield application
    application.state.engine.dispose()


@pytest.fixture
def demo(demo_app: FastAPI) -> Iterator[Browser]:
    """A browser in front of the demo."""
    with Browser(demo_app) as asking:
        yield asking
