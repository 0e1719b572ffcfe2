"""Reads an archive of a build that somebody sent: nothing in it is trusted, and why it is refused is said.

Only files named as this program names them are looked at, each no larger than it may be; none is unpacked
onto the disk under a name of its own.
"""

import json
import re
import zipfile
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, BinaryIO

from server.core.air.fuels import FUELS
from server.core.buying.exchange import DECIMALS, worth
from server.core.buying.stock import Condition, Wanted
from server.core.checks import near
from server.core.checks.figures import FIGURES
from server.core.first_start.holds import NO_STAGE
from server.core.first_start.whole import CODES
from server.core.lines.ledger import Closing, Device, LineKind, Medium
from server.core.lines.states import Kind as SpaceKind
from server.core.measure import conditions
from server.core.measure.conditions import MockUpOutcome, SeenFrom, Stance
from server.core.measure.instruments import instruments_for
from server.core.measure.opening import DIMENSIONS
from server.core.tube.bill import Stage
from server.core.tube.run import (
    Clamp,
    EndForm,
    Fixing,
    Frame,
    JointKind,
    Offered,
    Origin,
    PieceKind,
    Protection,
    Screw,
    Stood,
    Stretch,
    Warmth,
    What,
)
from server.core.tube.said import LINERS
from server.core.tube.sizes import MATERIALS
from server.core.tube.space import siting
from server.core.tube.space.poses import Level, Tilt
from server.core.tube.space.solids import Shape
from server.core.units import Kind, System
from server.core.work.cautions import LICENSED
from server.core.work.holds import HoldKind
from server.core.work.tasks import TaskState
from server.errors import BadInput, FieldError
from server.features.builds import forms as builds
from server.features.leak_tests.forms import BLANKED, LISTENED
from server.features.ledger.page import Act, CutWord, Way
from server.features.parts import forms as parts
from server.features.photos.forms import ORIGINALS, original_ending
from server.features.photos.page import SHEETS
from server.features.ports import page as ports
from server.features.stints import forms as stints
from server.features.tasks import forms as tasks
from server.features.trimming.page import READ_WITH
from server.features.work.forms import CAUTION_CODES, PLACES

ROWS = "build.json"
README = "README.txt"
SCHEMA = "schema.md"
PHOTO = re.compile(r"photos/[1-9][0-9]{0,17}(\.jpg|\.original\.(jpg|png))")
FORMAT = "witness-mark build"
LARGEST_ROWS = 32 * 1024 * 1024
LARGEST_PHOTO = 12 * 1024 * 1024
LARGEST_ALL = 1_200_000_000
MOST_FILES = 1_000
MOST_ROWS = 200_000
MOST_LISTS = 5 * MOST_ROWS
"""Lists and objects in JSON, which as Python has them take twenty times the room of their two brackets."""
ACCEPTS = "a file that a build's own sheet handed out, or that the command for it wrote"
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

    def photo(self, name: str) -> bytes | None:
        """The picture that goes by a name; None where it was lost before. Raises BadInput."""
        if name not in self.file.namelist() and name not in self.lost:
            raise refusal(f"The archive lacks {name}.")
        return content(self.file, name, LARGEST_PHOTO) if name in self.file.namelist() else None


def photo_name(number: int) -> str:
    """Where in an archive the picture of a row of `photo` stands."""
    return f"photos/{number}.jpg"


def original_name(number: int, kind: str) -> str:
    """The same of its original."""
    return f"photos/{number}.original.{original_ending(kind)}"


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


ANY = ("",)
"""Where nothing was said."""
INSTRUMENTS = frozenset(one.code for kind in Kind for one in instruments_for(kind))
FIXED: Mapping[str, Iterable[str]] = {
    "build.system": System,
    "build.currency": builds.CURRENCIES,
    "build.meter_place": builds.METER_PLACES,
    "build.car_state": builds.CAR_STATES,
    "build.stage": builds.STAGES,
    "subsystem.kind": builds.SUBSYSTEM_KINDS,
    "engine_sheet.fuel": FUELS,
    "keep_out.what": What,
    "keep_out.shape": Shape,
    "keep_out.frame": Frame,
    "leak_test.way": (BLANKED, LISTENED),
    "line_fact.over_boost_cut": (*ANY, *CutWord),
    "line_space.kind": SpaceKind,
    "line_device.kind": Device,
    "line_device.way": (*ANY, *Way),
    "line_point.medium": Medium,
    "line_point.closing": Closing,
    "ledger_line.medium": Medium,
    "ledger_line.kind": LineKind,
    "ledger_line.taken_out": (*ANY, Closing.CAPPED, Closing.REMOVED),
    "line_act.word": Act,
    "part.kind": parts.KINDS,
    "part.origin": parts.ORIGINS,
    "part.tried": parts.TRIED,
    "delivery.condition": Condition,
    "sent_back.condition": Condition,
    "sent_back.wants": Wanted,
    "port.role": ports.ROLES,
    "port.shape": ports.SHAPES,
    "port.medium": ports.MEDIA,
    "port.stretch": Stretch,
    "port.end_form": ports.END_FORMS,
    "port.frame": Frame,
    "pose_reading.about": ("place", "facing"),
    "pose_reading.way": siting.Way,
    "pose_reading.instrument": INSTRUMENTS,
    "reading.dimension": DIMENSIONS,
    "reading.instrument": (*ANY, *INSTRUMENTS),
    "reading.stance": (*ANY, *Stance.__members__),
    "reading.engine_state": (*ANY, *conditions.Warmth.__members__),
    "reading.seen_from": (*ANY, *SeenFrom.__members__),
    "reading.mock_up": (*ANY, *MockUpOutcome.__members__),
    "piece.kind": PieceKind,
    "piece.material": MATERIALS,
    "piece.inlet_end": EndForm,
    "piece.outlet_end": EndForm,
    "piece.origin": Origin,
    "piece.offered": Offered,
    "piece.liner": LINERS,
    "bung.fixing": Fixing,
    "joint.kind": JointKind,
    "joint.clamp": (*ANY, *Clamp),
    "joint.screw": (*ANY, *Screw),
    "neighbour.what": What,
    "neighbour.frame": Frame,
    "neighbour.material": (*ANY, *near.MATERIALS),
    "neighbour.protection": Protection,
    "neighbour.stood": Stood,
    "neighbour.warmth": Warmth,
    "trim.read_with": READ_WITH,
    "stint.kind": stints.KINDS,
    "task.state": TaskState,
    "task.place": PLACES,
    "task.car_state": tasks.CAR_STATES,
    "task.caution": CAUTION_CODES,
    "task.licensed": (*ANY, *LICENSED),
    "task.start_stage": (*ANY, *CODES, NO_STAGE),
    "setback.caution": CAUTION_CODES,
    "wait.kind": ("reading", "decision", "checks", *Stage),
    "wait.dimension": (*ANY, *DIMENSIONS),
    "hold.kind": HoldKind,
    "order_line.currency": (*ANY, *DECIMALS),
    "photo.subject_kind": SHEETS,
    "photo.original_kind": ORIGINALS,
    "start_entry.stage": CODES,
    "start_signature.stage": CODES,
}
"""Columns that hold a word of a list, and the list: pages rest on finding no other there."""


def check_words(rows: Mapping[str, Sequence[Row]]) -> None:
    """`rows` of this version. Raises BadInput where one says a word that its list does not have."""
    for place, words in FIXED.items():
        table, column = place.split(".")
        known = set(map(str, words))
        odd = next((row[column] for row in rows[table] if row[column] not in known), None)
        if odd is not None:
            raise refusal(f"A row of {table} says {str(odd)[:40]!r} in {column}: no word of its list.")
    for row in rows["garage_time"]:
        if row["zone"] and not stints.zone_named(row["zone"]):
            raise refusal(f"The time zone {row['zone'][:40]!r} is not known here.")
    for row in rows["order_line"]:
        if bool(row["currency"]) != (worth(row["rate"]) is not None):
            raise refusal(f"A line of an order says {row['rate'][:40]!r} as a rate for {row['currency']!r}.")
    for row in rows["figure_sheet"]:
        _check_figures(row["said"])
    for row in rows["pose_reading"]:
        _check_pose(row["said"])


def _check_figures(said: Mapping[str, Any]) -> None:
    choices = {one.key: {value for value, _ in one.choices} for some in FIGURES.values() for one in some}
    odd = [key for key, value in said.items() if value not in choices.get(key, ())]
    if odd:
        raise refusal(f"A figure says a word that is not of its list: {odd[0][:40]!r}.")


def _check_pose(said: Mapping[str, Any]) -> None:
    """A tape's hook may also be the number of a port."""
    lists = {"level": Level, "tilt": Tilt, "side": (*ANY, *siting.SIDES)}
    hooks = {f"hook{tape}" for tape in siting.TAPES}
    for key, value in said.items():
        known = value in set(map(str, lists.get(key, ())))
        hooked = key in hooks and (value in {siting.DATUM, siting.TYPED} or str(value).isdecimal())
        if not (known or hooked):
            raise refusal(f"A place says {str(value)[:40]!r} for {key[:40]!r}, which is no word of its list.")
