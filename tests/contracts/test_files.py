"""What every file of the project keeps to."""

import re
import tomllib
from pathlib import Path

import pytest

from server.settings import PROJECT
from tests.contracts.sources import OURS, TEMPLATES, python_files, short, text_files
from tests.reference_values import FOLDER, load

LONGEST = 400
LONG_FOR_A_REASON = {
    "migrations/versions/2026_11_25_first_tables.py": "one statement a column, frozen once released",
    "static/app.css": "one style sheet, so that a first visit asks for one file",
}
LEFT_UNDONE = re.compile(r"\b(TODO|FIXME|XXX|HACK|lorem ipsum)\b", re.IGNORECASE)
NOT_TRADE_WORDS = re.compile(
    r"\b(dashboard|kanban|sprint|backlog|milestone|wizard|inventory|widget)s?\b", re.IGNORECASE
)
CODE = [path for folder in OURS for path in python_files(PROJECT / folder)]
HERE = Path(__file__)


def read(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def test_no_file_is_longer_than_can_be_taken_in() -> None:
    """A longer one is split by subject."""
    lines = {short(path): len(read(path).splitlines()) for path in text_files() if path.suffix != ".toml"}
    assert {name: n for name, n in lines.items() if n > LONGEST and name not in LONG_FOR_A_REASON} == {}


def test_nothing_is_left_undone() -> None:
    found = {short(path): LEFT_UNDONE.findall(read(path)) for path in text_files() if path != HERE}
    assert {name: words for name, words in found.items() if words} == {}


def test_pages_speak_the_words_of_the_trade() -> None:
    found = {short(path): NOT_TRADE_WORDS.findall(read(path)) for path in TEMPLATES.rglob("*.html")}
    assert len(found) > 50
    assert {name: words for name, words in found.items() if words} == {}


def test_a_file_says_in_its_first_line_what_it_is_for() -> None:
    assert len(CODE) > 500
    assert [
        short(path) for path in CODE if path.stem != "__init__" and not read(path).startswith('"""')
    ] == []


def test_no_file_is_a_drawer_for_odds_and_ends() -> None:
    drawers = {"utils", "util", "helpers", "common", "misc"}
    assert [short(path) for path in CODE if path.stem in drawers] == []


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=short)
def test_every_published_value_names_its_source_and_how_sure_it_is(path: Path) -> None:
    for check in load(path.stem):
        assert len(check.source) > 3, f"{check.id} names no source"
        assert check.quantity, f"{check.id} does not say what is compared"
        if check.source == "common practice, no source":
            assert check.sureness == check.source, f"{check.id} is surer than its source"


def test_no_id_of_a_published_value_is_used_twice() -> None:
    ids = [check.id for path in sorted(FOLDER.glob("*.toml")) for check in load(path.stem)]
    assert sorted(set(ids)) == sorted(ids)


def test_runtime_dependencies_are_each_justified_in_the_contributors_guide() -> None:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    guide = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    names = [re.split(r"[\[<>=~ ]", item)[0] for item in project["dependencies"]]
    missing = [name for name in names if f"`{name}`" not in guide]
    assert not missing, f"DEVELOPERS.md does not say why {missing} is needed"
