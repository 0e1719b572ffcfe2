"""Who may import whom. The layers themselves are stated in pyproject.toml."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from server.settings import PROJECT
from tests.contracts.sources import (
    FEATURES,
    begins_with,
    imports,
    imports_for_types_only,
    python_files,
    short,
)

VOCABULARY = {"__init__", "tables", "forms", "store", "service", "page", "routes"}
FEATURE_FILES = python_files(FEATURES)
WEB = ("fastapi", "starlette")
DATABASE = ("sqlmodel", "sqlalchemy", "pysqlite3", "server.db")


def feature_files(*names: str) -> list[Path]:
    return [path for path in FEATURE_FILES if path.stem in names]


def name_of(path: Path) -> str:
    return short(path).removeprefix("server/features/")


def test_layers_and_ladder_hold() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    asked = [str(linter), "--no-cache"]
    done = subprocess.run(asked, cwd=PROJECT, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


@pytest.mark.parametrize("path", FEATURE_FILES, ids=name_of)
def test_a_feature_is_made_of_the_agreed_files(path: Path) -> None:
    if path.parent == FEATURES:
        assert path.stem == "__init__"
        return
    assert path.parent.parent == FEATURES, f"{short(path)}: a feature has no folders of its own"
    assert path.stem in VOCABULARY, f"{short(path)}: a feature has only {sorted(VOCABULARY)}"


@pytest.mark.parametrize("path", [p for p in FEATURE_FILES if p.stem != "routes"], ids=name_of)
def test_only_routes_know_the_web_framework(path: Path) -> None:
    known = [module for module in imports(path) if begins_with(module, *WEB)]
    assert not known, f"{short(path)} imports {known}"


@pytest.mark.parametrize("path", feature_files("forms", "page", "routes"), ids=name_of)
def test_only_tables_store_and_service_know_the_database(path: Path) -> None:
    passed_on = {"server.db.ReadSession", "server.db.WriteSession", "server.db.write_session"}
    allowed = passed_on if path.stem == "routes" else set()
    known = [m for m in imports(path) if begins_with(m, *DATABASE) and m not in allowed]
    assert not known, f"{short(path)} imports {known}"


@pytest.mark.parametrize("path", feature_files("routes"), ids=name_of)
def test_a_route_passes_its_session_on_and_never_asks_it(path: Path) -> None:
    called = [
        word
        for word in ("session.exec", "session.get", "session.add", "session.flush", "session.commit")
        if word in path.read_text(encoding="utf-8")
    ]
    assert not called, f"{short(path)} calls {called}"


ROWS_KEPT_IN = {"designing": "designs", "neighbouring": "neighbours", "placing": "places"}
"""Features whose rows a feature of their own keeps."""


@pytest.mark.parametrize("path", feature_files("page"), ids=name_of)
def test_a_page_sees_core_web_and_other_pages_only(path: Path) -> None:
    """Values of features further down the ladder may be shown; their rows, queries and intentions may not.

    The loaded rows of its own feature a page may be handed, and name their type; those of the feature that
    keeps them, where that is one of its own.
    """
    allowed = re.compile(r"server\.(core|web|errors|features\.\w+\.page)\b")
    keeper = ROWS_KEPT_IN.get(path.parent.name, path.parent.name)
    own = re.compile(rf"server\.features\.{keeper}\.(tables|store)\b")
    named = {module for module in imports_for_types_only(path) if own.match(module)}
    project = [
        m for m in imports(path) if begins_with(m, "server") and not allowed.match(m) and m not in named
    ]
    assert not project, f"{short(path)} imports {project}"


@pytest.mark.parametrize("path", python_files(FEATURES.parent / "web"), ids=short)
def test_the_web_shell_knows_no_feature(path: Path) -> None:
    known = [m for m in imports(path) if begins_with(m, "server.features", "server.db", "server.once")]
    assert not known, f"{short(path)} imports {known}"
