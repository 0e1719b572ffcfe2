"""Fixtures of the HTTP tests."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from fastapi import FastAPI

from server.app import create_app
from server.features.builders import service as builders
from server.features.builders.service import set_passphrase
from server.migrate import make_data_folder
from server.settings import Settings, settings_for
from tests.asking import Browser
from tests.http.door import PASSPHRASE, Watch


@pytest.fixture(scope="package", autouse=True)
def cheap_passphrases() -> Iterator[None]:
    """Hashing one takes a quarter of a second on purpose; tests in `store` look at how it is done."""
    with pytest.MonkeyPatch.context() as patched:
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
