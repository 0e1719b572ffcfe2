"""Who may import whom. The layers themselves are stated in pyproject.toml."""

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

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


def test_layers_and_ladder_hold() -> None:
    linter = Path(sys.executable).with_name("lint-imports")
    asked = [str(linter), "--no-cache"]
    done = subprocess.run(asked, cwd=PROJECT, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]


def faults(paths: list[Path], wrong: Callable[[Path], list[str]]) -> dict[str, list[str]]:
    """What is wrong in each file, where something is."""
    assert len(paths) > 5
    return {short(path): found for path in paths if (found := wrong(path))}


def test_a_feature_is_made_of_the_agreed_files() -> None:
    """It has no folders of its own and only these files."""
    for path in FEATURE_FILES:
        if path.parent == FEATURES:
            assert path.stem == "__init__", short(path)
        else:
            assert path.parent.parent == FEATURES, short(path)
            assert path.stem in VOCABULARY, short(path)


def test_only_routes_know_the_web_framework() -> None:
    others = [path for path in FEATURE_FILES if path.stem != "routes"]
    assert faults(others, lambda path: [m for m in imports(path) if begins_with(m, *WEB)]) == {}


def test_only_tables_store_and_service_know_the_database() -> None:
    passed_on = {"server.db.ReadSession", "server.db.WriteSession", "server.db.write_session"}

    def known(path: Path) -> list[str]:
        allowed = passed_on if path.stem == "routes" else set()
        return [m for m in imports(path) if begins_with(m, *DATABASE) and m not in allowed]

    assert faults(feature_files("forms", "page", "routes"), known) == {}


def test_a_route_passes_its_session_on_and_never_asks_it() -> None:
    asking = ("session.exec", "session.get", "session.add", "session.flush", "session.commit")

    def called(path: Path) -> list[str]:
        text = path.read_text(encoding="utf-8")
        return [word for word in asking if word in text]

    assert faults(feature_files("routes"), called) == {}


ROWS_KEPT_IN = {
    "connecting": "ledger",
    "designing": "designs",
    "linemap": "ledger",
    "linesheet": "ledger",
    "neighbouring": "neighbours",
    "placing": "places",
    "pulling": "ledger",
}
"""Features whose rows a feature of their own keeps."""


def test_a_page_sees_core_web_and_other_pages_only() -> None:
    """Values of features further down the ladder may be shown; their rows, queries and intentions may not.

    The loaded rows of its own feature a page may be handed, and name their type; those of the feature that
    keeps them, where that is one of its own.
    """
    allowed = re.compile(r"server\.(core|web|errors|features\.\w+\.page)\b")

    def seen(path: Path) -> list[str]:
        keeper = ROWS_KEPT_IN.get(path.parent.name, path.parent.name)
        own = re.compile(rf"server\.features\.{keeper}\.(tables|store)\b")
        named = {module for module in imports_for_types_only(path) if own.match(module)}
        project = [m for m in imports(path) if begins_with(m, "server")]
        return [m for m in project if not allowed.match(m) and m not in named]

    assert faults(feature_files("page"), seen) == {}


def test_the_web_shell_knows_no_feature() -> None:
    features = ("server.features", "server.db", "server.once")
    shell = python_files(FEATURES.parent / "web")
    assert faults(shell, lambda path: [m for m in imports(path) if begins_with(m, *features)]) == {}
