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


@pytest.mark.parametrize("path", [p for p in text_files() if p.suffix != ".toml"], ids=short)
def test_no_file_is_longer_than_can_be_taken_in(path: Path) -> None:
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST or short(path) in LONG_FOR_A_REASON, (
        f"{short(path)} has {lines} lines: split it by subject"
    )


@pytest.mark.parametrize("path", text_files(), ids=short)
def test_nothing_is_left_undone(path: Path) -> None:
    if path != HERE:
        found = LEFT_UNDONE.findall(path.read_text(encoding="utf-8"))
        assert not found, f"{short(path)} says {found}"


@pytest.mark.parametrize("path", sorted(TEMPLATES.rglob("*.html")), ids=short)
def test_pages_speak_the_words_of_the_trade(path: Path) -> None:
    found = NOT_TRADE_WORDS.findall(path.read_text(encoding="utf-8"))
    assert not found, f"{short(path)} says {found}"


@pytest.mark.parametrize("path", CODE, ids=short)
def test_a_file_says_in_its_first_line_what_it_is_for(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not text.strip() or text.startswith('"""') or path.stem == "__init__", (
        f"{short(path)} has no docstring"
    )
    assert text.strip() or path.stem == "__init__", f"{short(path)} is empty"


@pytest.mark.parametrize("path", CODE, ids=short)
def test_no_file_is_a_drawer_for_odds_and_ends(path: Path) -> None:
    assert path.stem not in {"utils", "util", "helpers", "common", "misc"}, f"{short(path)} needs a real name"


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
