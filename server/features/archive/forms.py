"""Reads an archive of a build that somebody sent: nothing in it is trusted, and why it is refused is said.

Only files named as this program names them are looked at, each no larger than it may be; none is unpacked
onto the disk under a name of its own.
"""

import json
import re
import zipfile
import zlib
from dataclasses import dataclass
from typing import Any, BinaryIO

from server.errors import BadInput, FieldError

ROWS = "build.json"
README = "README.txt"
SCHEMA = "schema.md"
PHOTO = re.compile(r"photos/[1-9][0-9]{0,17}\.jpg")
FORMAT = "witness-mark build"
LARGEST_ROWS = 32 * 1024 * 1024
LARGEST_PHOTO = 12 * 1024 * 1024
LARGEST_ALL = 1_200_000_000
MOST_FILES = 1_000
MOST_ROWS = 200_000
MOST_LISTS = 5 * MOST_ROWS
"""Lists and objects in JSON, which as Python has them take twenty times the room of their two brackets."""
ACCEPTS = "an archive that `export` made, or that a build's own sheet handed out"
Row = dict[str, Any]

BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError, ValueError)
"""What reading a hostile zip may raise; an unknown packing and a password are among them."""


def refusal(message: str) -> BadInput:
    """Nothing was brought in; `message` says why."""
    return BadInput((FieldError("archive", message, ACCEPTS),), {})


@dataclass(frozen=True, slots=True)
class Archive:
    """An archive that was opened. schema: the version of its tables; rows: by table, as JSON has them.

    lost: photos that had a row and no file already where it was written.
    """

    file: zipfile.ZipFile
    schema: str
    lost: frozenset[str]
    rows: dict[str, list[Row]]

    def photo(self, number: int) -> bytes | None:
        """The picture of a row of `photo`, None where the archive has none. Raises BadInput."""
        name = photo_name(number)
        return content(self.file, name, LARGEST_PHOTO) if name in self.file.namelist() else None


def photo_name(number: int) -> str:
    """Where in an archive the picture of a row of `photo` stands."""
    return f"photos/{number}.jpg"


def opened(sent: BinaryIO) -> Archive:
    """Raises BadInput where it is no archive of a build, or one that can't be trusted."""
    try:
        file = zipfile.ZipFile(sent)
    except BROKEN as error:
        raise refusal("The file is no zip archive, or it is broken.") from error
    _look_over(file)
    told = _json(content(file, ROWS, LARGEST_ROWS))
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise refusal(f"{ROWS} does not say that it is a build.")
    schema, tables = told.get("schema"), told.get("tables")
    if not isinstance(schema, str) or not isinstance(tables, dict):
        raise refusal(f"{ROWS} has no tables, or does not say which version they are of.")
    rows = {str(name): _rows(str(name), found) for name, found in tables.items()}
    if sum(map(len, rows.values())) > MOST_ROWS:
        raise refusal(f"The archive has more than {MOST_ROWS:,} rows.")
    lost = told.get("lost")
    return Archive(file, schema, frozenset(map(str, lost if isinstance(lost, list) else ())), rows)


def _look_over(file: zipfile.ZipFile) -> None:
    """Every name and size that the zip's own list states, before anything is unpacked."""
    entries = file.infolist()
    names = [entry.filename for entry in entries]
    if len(entries) > MOST_FILES:
        raise refusal(f"The archive has {len(entries)} files; {MOST_FILES} is the most.")
    if len(set(names)) != len(names):
        raise refusal("The archive has two files of one name.")
    strange = [name for name in names if name not in {ROWS, README, SCHEMA} and not PHOTO.fullmatch(name)]
    if strange:
        raise refusal(f"The archive has a file that no build has: {strange[0][:80]!r}.")
    if ROWS not in names:
        raise refusal(f"The archive lacks {ROWS}.")
    if sum(entry.file_size for entry in entries) > LARGEST_ALL:
        raise refusal("Unpacked, the archive would be larger than 1.2 GB.")


def content(file: zipfile.ZipFile, name: str, most: int) -> bytes:
    """One file of an archive. Raises BadInput where it is too large or broken."""
    entry = file.getinfo(name)
    if entry.file_size > most:
        raise refusal(f"{name} is larger than {most // 1024**2} MB.")
    try:
        with file.open(entry) as opened_entry:
            return opened_entry.read(most + 1)
    except BROKEN as error:
        raise refusal(f"{name} can't be unpacked: it is broken, or packed in another way.") from error


def _json(text: bytes) -> Any:
    if text.count(b"[") + text.count(b"{") > MOST_LISTS:
        raise refusal(f"{ROWS} has more than {MOST_LISTS:,} lists and objects.")
    try:
        return json.loads(text.decode("utf-8"), parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise refusal(f"{ROWS} can't be read as JSON.") from error


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number in JSON")


def _rows(table: str, found: Any) -> list[Row]:
    if not isinstance(found, list) or not all(isinstance(row, dict) for row in found):
        raise refusal(f"{ROWS} has no rows in {table[:60]!r}.")
    return found
