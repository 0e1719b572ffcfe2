"""Fixtures of the HTTP tests."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher
from fastapi import FastAPI

from server import db
from server.app import create_app
from server.features.builders import service as builders
from server.features.builders.service import set_passphrase
from server.features.builds import service as builds
from server.migrate import make_data_folder
from server.settings import Settings, settings_for
from tests.asking import Browser
from tests.conftest import TEN_IN_THE_MORNING
from tests.http.door import PASSPHRASE, Watch
from tests.http.intake_build import IntakeBuild, make_intake


@pytest.fixture(scope="module", autouse=True)
def no_long_waits() -> Iterator[None]:
    """Hashing a passphrase takes a quarter of a second on purpose, and each write waits for the disk.

    Tests in `store` look at both as they are.
    """
    as_served = db._set_pragmas

    def not_waiting_for_the_disk(connection: Any, record: Any) -> None:
        as_served(connection, record)
        connection.execute("PRAGMA synchronous = OFF")

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(db, "_set_pragmas", not_waiting_for_the_disk)
        patched.setattr(builders, "_hasher", PasswordHasher(time_cost=1, memory_cost=64, parallelism=1))
        yield


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Iterator[Browser]:
    """One bench for all of them: a sum changes nothing, so no test can disturb another."""
    mine = settings_for(data=tmp_path_factory.mktemp("sums") / "data", environment={})
    make_data_folder(mine)
    shutil.copy(migrated_file, mine.data / migrated_file.name)
    app = create_app(mine)
    with Browser(app) as asking:
        yield asking
    app.state.engine.dispose()


@pytest.fixture(scope="session")
def typed_intake(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> tuple[Path, IntakeBuild]:
    """A database file with the intake in it, typed once, and what it is called there."""
    mine = settings_for(data=tmp_path_factory.mktemp("intake") / "data", environment={})
    make_data_folder(mine)
    file = mine.data / migrated_file.name
    shutil.copy(migrated_file, file)
    app = create_app(mine, lambda: TEN_IN_THE_MORNING)
    with Browser(app) as asking:
        made = make_intake(asking)
    app.state.engine.dispose()
    return file, made


@pytest.fixture
def intake(settings: Settings, typed_intake: tuple[Path, IntakeBuild], browser: Browser) -> IntakeBuild:
    """An intake of this test's own, behind `browser`: nothing was asked of the application so far."""
    file, made = typed_intake
    shutil.copy(file, settings.data / file.name)
    builds._of_builds.clear()  # what another test had worked out from the same rows
    return replace(made, browser=browser)


@pytest.fixture
def watch(clock: Callable[[], datetime]) -> Watch:
    return Watch(clock())


@pytest.fixture
def open_app(settings: Settings, watch: Watch) -> Iterator[FastAPI]:
    """A server that the whole network can reach."""
    set_passphrase(settings.data, PASSPHRASE)
    app = create_app(replace(settings, host="0.0.0.0"), watch)
    yield app
    app.state.engine.dispose()


@pytest.fixture
def phone(open_app: FastAPI) -> Iterator[Browser]:
    with Browser(open_app) as asking:
        yield asking


@pytest.fixture
def named_app(settings: Settings, watch: Watch) -> Iterator[FastAPI]:
    """The same, known by a name of its own."""
    set_passphrase(settings.data, PASSPHRASE)
    app = create_app(replace(settings, host="0.0.0.0", extra_hosts=("garage.test",)), watch)
    yield app
    app.state.engine.dispose()
