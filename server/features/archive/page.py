"""What an archive says of itself to people: how to use it, and what stands in each table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class ColumnSheet:
    """One column: what it holds in JSON, and the table whose rows it names, if any."""

    name: str
    kind: str
    may_be_empty: bool
    names: str = ""


@dataclass(frozen=True, slots=True)
class TableSheet:
    """One table and what a row of it is."""

    name: str
    about: str
    columns: tuple[ColumnSheet, ...]


def readme(name: str, schema: str, now: datetime, rows: int, photos: int, lost: Sequence[str]) -> str:
    """The text that lies beside the rows; `lost`: photos that have a row and no file."""
    text = f"""A build of Witness Mark: {name}
Written out on {now:%d %B %Y, %H:%M}, tables of version {schema}.

build.json   all {rows} rows of the build, table by table, as plain JSON
photos/      {photos} pictures: `3.jpg` (JPEG) is of the row 3 in the table `photo`, `3.original.jpg` or
             `3.original.png` the same at its full size, where `original_kind` says that it was kept
schema.md    what stands in each table, and which columns name rows of another

Bring it in elsewhere on the page “All builds”, or with
  python -m server import THIS-FILE
A newer version of the program reads it too. Rows get new ids there.

Sizes are in SI units. `typed` holds what was typed. Money is in whole minor units (cents).
Moments are in UTC.
Links that were given to helpers, and who signed in, are not in here.
"""
    return text + (f"\nNo file was found for these photos: {', '.join(lost)}.\n" if lost else "")


def schema_text(schema: str, tables: Iterable[TableSheet]) -> str:
    """Markdown: one part a table."""
    parts = [f"# Tables of version {schema}\n"]
    for table in tables:
        parts.append(
            f"\n## {table.name}\n\n{table.about}\n\n| column | holds | names a row of |\n|---|---|---|\n"
        )
        parts += [
            f"| {one.name} | {one.kind}{', or null' if one.may_be_empty else ''} | {one.names} |\n"
            for one in table.columns
        ]
    return "".join(parts)
