"""Fixtures of the HTTP tests."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from server.app import create_app
from server.migrate import make_data_folder
from server.settings import settings_for
from tests.asking import Browser


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
