"""The project's own files, read as text and as syntax trees."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from server.settings import PROJECT

SERVER = PROJECT / "server"
CORE = SERVER / "core"
FEATURES = SERVER / "features"
TEMPLATES = PROJECT / "templates"
OURS = ("server", "seed_demo", "migrations", "tests", "templates", "static", ".ci")
NOT_OURS = frozenset({"vendor", "__pycache__", "screenshots"})
TEXT = frozenset({".py", ".html", ".css", ".js", ".toml", ".md", ".mako", ".svg", ".txt", ""})


def python_files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*.py") if "__pycache__" not in path.parts)


def text_files() -> list[Path]:
    """Every text file that people of the project write: code, templates, styles, tests, guides."""
    found = [PROJECT / name for name in ("README.md", "DEVELOPERS.md", "pyproject.toml", "Makefile")]
    for folder in OURS:
        found += [
            path
            for path in sorted((PROJECT / folder).rglob("*"))
            if path.is_file() and path.suffix in TEXT and not NOT_OURS & set(path.parts)
        ]
    return [path for path in found if path.is_file()]


def short(path: Path) -> str:
    """A file's name from the project's folder on, for messages and test names."""
    return path.relative_to(PROJECT).as_posix()


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def imports(path: Path) -> Iterator[str]:
    """Every module that a file imports, those for type checkers included."""
    yield from _imports(tree(path), path)


def imports_for_types_only(path: Path) -> Iterator[str]:
    """What a file imports under `if TYPE_CHECKING:`, to name a type and nothing else."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            yield from _imports(node, path)


def _imports(within: ast.AST, path: Path) -> Iterator[str]:
    for node in ast.walk(within):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{short(path)} imports relatively; say the whole name"
            module = node.module or ""
            yield from (f"{module}.{alias.name}" for alias in node.names)


def begins_with(module: str, *packages: str) -> bool:
    """Whether a module is one of the packages, or inside one."""
    return any(module == package or module.startswith(package + ".") for package in packages)
