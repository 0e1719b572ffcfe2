"""A build written out as one file and brought in elsewhere; files that are refused, and why."""

import io
import json
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, MetaData
from sqlmodel import Session

from server.__main__ import main
from server.db import make_engine, write_session
from server.errors import BadInput, NotFound
from server.features.archive import store
from server.features.archive.service import export_build, exported, import_build
from server.features.builds.service import builds_page
from server.features.photos.forms import recode, taken_over
from server.features.photos.page import SHEETS
from server.features.photos.service import store_photo
from server.migrate import tables, upgrade_engine, versions
from server.settings import Settings
from tests.factories import a_build
from tests.pictures import picture, reopened, saved

SAYING_NUMBERS = ("subject_id", "item", "evidence", "stood", "moved", "said")
"""Columns that name rows in another way than by a foreign key."""


def written(engine: Engine, settings: Settings, build_id: int, now: datetime) -> bytes:
    to = io.BytesIO()
    with Session(engine) as session:
        export_build(session, settings.photos, build_id, to, now)
    return to.getvalue()


def brought_in(engine: Engine, settings: Settings, content: bytes) -> int:
    with write_session(engine) as session:
        return import_build(session, settings.photos, io.BytesIO(content))


def told(content: bytes) -> Any:
    return json.loads(zipfile.ZipFile(io.BytesIO(content)).read("build.json"))


def up_to_ids(content: bytes) -> dict[str, list[dict[str, Any]]]:
    """Its rows with each number of a row replaced by the row's place in its table."""
    rows: dict[str, list[dict[str, Any]]] = told(content)["tables"]
    places = {name: {row["id"]: at for at, row in enumerate(found, 1)} for name, found in rows.items()}
    known = tables().tables
    for name, found in rows.items():
        for row in found:
            for column in known[name].columns:
                if column.foreign_keys and row[column.name] is not None:
                    (key,) = column.foreign_keys
                    row[column.name] = places[key.column.table.name][row[column.name]]
            again = store._renumbered(known[name], {**row, **dict.fromkeys(_links(name))}, places)
            row |= {one: again[one] for one in SAYING_NUMBERS if one in row}
            row["id"] = 0
            for mine in ("revision", "stamps") if name == "build" else ("name",) if name == "photo" else ():
                row.pop(mine)
    return rows


def _links(name: str) -> list[str]:
    return [column.name for column in tables().tables[name].columns if column.foreign_keys]


@pytest.fixture
def archive(engine: Engine, settings: Settings, now: datetime) -> bytes:
    """A build with one photo."""
    with write_session(engine) as session:
        build = a_build(session, now)
        store_photo(session, settings.photos, build.id, "log", 1, saved(picture()), now, "builder")
    return written(engine, settings, build.id, now)


def test_the_demo_goes_out_and_in_and_out_again_with_the_same_rows(
    demo_settings: Settings, any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    here = make_engine(demo_settings.database_url)
    first = written(here, demo_settings, 1, now)
    here.dispose()
    with write_session(any_engine) as session:
        a_build(session, now)  # so that no number stays what it was
    number = brought_in(any_engine, any_settings, first)
    assert number == 2
    again = written(any_engine, any_settings, number, now)
    assert up_to_ids(again) == up_to_ids(first)
    before, after = (sorted(zipfile.ZipFile(io.BytesIO(one)).namelist()) for one in (first, again))
    assert len(before) == len(after)
    assert sum(map(len, told(first)["tables"].values())) > 500


def test_the_same_build_at_the_same_moment_is_the_same_bytes(
    engine: Engine, settings: Settings, archive: bytes, now: datetime
) -> None:
    """So that a copy that was put back can be compared with what it is a copy of."""
    assert written(engine, settings, 1, now) == archive
    assert [entry.external_attr >> 16 for entry in zipfile.ZipFile(io.BytesIO(archive)).infolist()] == [
        0o644
    ] * 4


def test_an_archive_says_what_is_in_it(archive: bytes) -> None:
    file = zipfile.ZipFile(io.BytesIO(archive))
    assert sorted(file.namelist()) == ["README.txt", "build.json", "photos/1.jpg", "schema.md"]
    assert "python -m server import" in file.read("README.txt").decode()
    assert "## photo" in file.read("schema.md").decode()
    assert not {"share_token", "sign_in", "operation_key"} & told(archive)["tables"].keys()


def changed(archive: bytes, change: Callable[[Any], None], **files: bytes | None) -> bytes:
    """The same archive with other rows, and other files under `__` for a slash."""
    old, to = zipfile.ZipFile(io.BytesIO(archive)), io.BytesIO()
    rows = told(archive)
    change(rows)
    put = {name: old.read(name) for name in old.namelist()} | {"build.json": json.dumps(rows).encode()}
    put |= {name.replace("__", "/"): content for name, content in files.items() if content is not None}
    with zipfile.ZipFile(to, "w") as new:
        for name, content in put.items():
            if files.get(name.replace("/", "__"), b"") is not None:
                new.writestr(name, content)
    return to.getvalue()


def nothing(_rows: Any) -> None:
    """Leave the rows as they are."""


def row_of(table: str, **values: Any) -> Callable[[Any], None]:
    return lambda rows: rows["tables"][table][0].update(values)


BAD: dict[str, tuple[Callable[[Any], None], dict[str, bytes | None], str]] = {
    "newer": (lambda rows: rows.update(schema="2031_01_01_later"), {}, "Bring the program up to date"),
    "no build": (lambda rows: rows.update(format="?"), {}, "does not say that it is a build"),
    "two builds": (lambda rows: rows["tables"]["build"].append({}), {}, "has 2 builds"),
    "table gone": (lambda rows: rows["tables"].pop("task"), {}, "not those of its version: task"),
    "column": (row_of("build", colour="red"), {}, "other columns than its version: colour"),
    "word for number": (row_of("build", version="one"), {}, "in version what can't stand"),
    "too long": (row_of("build", name="x" * 81), {}, "says what can't be"),
    "no such row": (row_of("photo", build_id=7), {}, "don't fit together"),
    "word": (row_of("build", stage="flying"), {}, "says 'flying' in stage"),
    "currency": (row_of("build", currency="???"), {}, "says '???' in currency"),
    "photo of what": (row_of("photo", subject_kind="moon"), {}, "says 'moon' in subject_kind"),
    "climbs out": (nothing, {"..__..__x.jpg": b""}, "a file that no build has"),
    "photo gone": (nothing, {"photos__1.jpg": None}, "lacks photos/1.jpg"),
    "photo other": (nothing, {"photos__1.jpg": saved(picture(30, 30))}, "was changed"),
    "no photo": (nothing, {"photos__1.jpg": b"<svg>"}, "photos/1.jpg: That file is not"),
    "not json": (nothing, {"build.json": b"{"}, "can't be read as JSON"),
    "lists": (nothing, {"build.json": b"[" * 1_000_001}, "more than 1,000,000 lists"),
    "deep": (nothing, {"build.json": b"[" * 200_000}, "can't be read as JSON"),
    "no number": (nothing, {"build.json": b'{"a": NaN}'}, "can't be read as JSON"),
}


@pytest.mark.parametrize("case", BAD)
def test_what_is_refused_and_why(engine: Engine, settings: Settings, archive: bytes, case: str) -> None:
    change, files, why = BAD[case]
    before = sorted(settings.photos.iterdir())
    with pytest.raises(BadInput) as refused:
        brought_in(engine, settings, changed(archive, change, **files))
    assert why in refused.value.errors[0].message
    with Session(engine) as session:
        assert len(builds_page(session, datetime.now()).builds) == 1
    assert sorted(settings.photos.iterdir()) == before


def test_a_build_that_is_not_there_leaves_no_file_open(
    engine: Engine, settings: Settings, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = io.BytesIO()
    monkeypatch.setattr("server.features.archive.service.tempfile.TemporaryFile", lambda: file)
    with Session(engine) as session, pytest.raises(NotFound):
        exported(session, settings.photos, 99, now)
    assert file.closed


def test_a_bomb_is_refused_by_its_size_before_it_is_unpacked(engine: Engine, settings: Settings) -> None:
    to = io.BytesIO()
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as file, file.open("build.json", "w") as rows:
        for _ in range(33):
            rows.write(bytes(1024 * 1024))
    assert len(to.getvalue()) < 100_000
    with pytest.raises(BadInput) as refused:
        brought_in(engine, settings, to.getvalue())
    assert "larger than 32 MB" in refused.value.errors[0].message
    with pytest.raises(BadInput) as refused:
        brought_in(engine, settings, b"no zip")
    assert "no zip archive" in refused.value.errors[0].message


def test_an_archive_whose_list_tells_other_sizes_than_its_files_have_is_refused(
    engine: Engine, settings: Settings, archive: bytes
) -> None:
    """The list at the end of a zip says ten bytes of a file that unpacks to thousands."""
    entry = next(
        one for one in zipfile.ZipFile(io.BytesIO(archive)).infolist() if one.filename == "build.json"
    )
    size = entry.file_size.to_bytes(4, "little")
    end = archive.rindex(size)
    lying = archive[:end] + (10).to_bytes(4, "little") + archive[end + 4 :]
    with pytest.raises(BadInput) as refused:
        brought_in(engine, settings, lying)
    assert "build.json can't be unpacked" in refused.value.errors[0].message


def test_a_photo_of_a_line_shows_the_same_line_elsewhere() -> None:
    """Whatever photos show, its number is a row's of a table that an archive has."""
    assert store.SHOWN_ON.keys() == SHEETS.keys()
    known = {table.name for table in store.kept_tables(tables())}
    assert set(store.SHOWN_ON.values()) <= known


def test_a_tape_hooked_at_another_port_hangs_from_the_same_port_elsewhere() -> None:
    row = {"said": {"hook1": "7", "hook2": "datum", "hook3": "typed", "side": "first"}}
    moved = store._renumbered(tables().tables["pose_reading"], _with_links(row), {"port": {7: 31}})
    assert moved["said"] == {"hook1": "31", "hook2": "datum", "hook3": "typed", "side": "first"}


def _with_links(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, **dict.fromkeys(_links("pose_reading"))}


def test_a_picture_with_anything_beside_its_pixels_is_written_anew() -> None:
    plain = recode(saved(picture())).content
    assert taken_over(plain).content == plain
    with_facts = plain[:2] + b"\xff\xe1\x00\x08secret" + plain[2:]
    in_its_header = plain[:2] + b"\xff\xe0\x00\x16JFIF\x00" + plain[11:20] + b"secret" + plain[20:]
    assert reopened(in_its_header).size == (400, 300)
    for hidden in (plain + b"<script>", with_facts, in_its_header):
        assert b"script" not in taken_over(hidden).content
        assert b"secret" not in taken_over(hidden).content


@pytest.mark.parametrize("version", [versions()[0], versions()[6]])
def test_an_archive_of_an_older_version_is_brought_up_to_date(
    engine: Engine, settings: Settings, archive: bytes, tmp_path: Path, version: str, now: datetime
) -> None:
    """One as an older program wrote it: its tables, with the columns that they had then."""
    old = make_engine(f"sqlite:///{tmp_path / 'old.sqlite'}")
    upgrade_engine(old, version)
    then = MetaData()
    then.reflect(old)
    old.dispose()
    rows = told(archive)

    def as_then(rows: Any) -> None:
        kept = {table.name: {column.name for column in table.columns} for table in store.kept_tables(then)}
        rows["schema"] = version
        rows["tables"] = {
            name: [{key: row[key] for key in row.keys() & columns} for row in rows["tables"].get(name, [])]
            for name, columns in kept.items()
        }

    older = changed(archive, as_then)
    assert told(older)["tables"].keys() < rows["tables"].keys()
    number = brought_in(engine, settings, older)
    again = up_to_ids(written(engine, settings, number, now))
    assert [row["name"] for row in again["build"]] == ["The saloon"]
    assert len(again["photo"]) == 1
    assert again.keys() == rows["tables"].keys()


def test_from_the_command_line(
    settings: Settings, archive: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, data = tmp_path / "saloon.zip", ["--data", str(settings.data)]
    assert main(["export", *data, "1", str(file)]) == 0
    assert told(file.read_bytes()) == told(archive)
    assert main(["export", *data, "1", str(file)]) == 2
    assert main(["export", *data, "9", str(tmp_path / "none.zip")]) == 2
    assert [path.name for path in tmp_path.glob("*.zip*")] == ["saloon.zip"]
    assert main(["import", *data, str(file)]) == 0
    assert "build 2" in capsys.readouterr().out
