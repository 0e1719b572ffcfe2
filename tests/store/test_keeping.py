"""Copies of the data folder, putting them back, and looking the folder over."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlmodel import Session

from server import doctor, keeping
from server.db import make_engine, write_session
from server.features.builders.service import set_passphrase
from server.features.builds.service import builds_page
from server.features.photos.tables import Photo
from server.keeping import Unusable
from server.migrate import upgrade
from server.settings import Settings, settings_for
from tests.conftest import TEN_IN_THE_MORNING
from tests.factories import a_build


def put_in_a_build(settings: Settings, now: datetime, name: str = "The saloon") -> None:
    engine = make_engine(settings.database_url)
    with write_session(engine) as session:
        build = a_build(session, now, name=name)
        session.add(
            Photo(
                build_id=build.id,
                name=f"{name}.jpg",
                subject_kind="log",
                subject_id=1,
                width=4,
                height=3,
                size=7,
                digest="0" * 64,
                added_at=now,
            )
        )
    engine.dispose()
    (settings.photos / f"{name}.jpg").write_bytes(b"picture")


def build_names(settings: Settings, now: datetime) -> list[str]:
    engine = make_engine(settings.database_url)
    with Session(engine) as session:
        names = [build.name for build in builds_page(session, now).builds]
    engine.dispose()
    return names


@pytest.fixture
def garage(settings: Settings, now: datetime) -> Settings:
    """A data folder with one build and one photo in it."""
    put_in_a_build(settings, now)
    return settings


@pytest.fixture
def copy(garage: Settings, tmp_path: Path, now: datetime) -> Path:
    return keeping.backup(garage, tmp_path / "stick", now)


def elsewhere(tmp_path: Path) -> Settings:
    return settings_for(data=tmp_path / "new" / "data", environment={})


def test_a_copy_put_back_in_an_empty_place_is_the_same_build_with_its_photos(
    copy: Path, tmp_path: Path, now: datetime
) -> None:
    there = elsewhere(tmp_path)
    assert keeping.restore(there, copy, now) is None
    upgrade(there)
    assert build_names(there, now) == ["The saloon"]
    assert (there.photos / "The saloon.jpg").read_bytes() == b"picture"
    assert there.data.stat().st_mode & 0o077 == 0


def test_a_copy_is_a_dated_folder_whose_list_other_tools_can_check(copy: Path) -> None:
    assert copy.name == "witness-mark-2026-11-25-100000"
    listed = (copy / "SHA256SUMS").read_text().splitlines()
    assert [line.split("  ")[1] for line in listed] == ["photos/The saloon.jpg", "witness-mark.sqlite"]
    assert all(len(line.split("  ")[0]) == 64 for line in listed)
    assert sorted(path.name for path in copy.parent.iterdir()) == [copy.name]


def test_a_copy_made_while_others_write_is_whole(garage: Settings, tmp_path: Path, now: datetime) -> None:
    with somebody_writing(garage, now):
        for turn in range(5):
            copy = keeping.backup(garage, tmp_path / "stick", now + timedelta(seconds=turn))
            keeping.check_copy(copy)


@contextmanager
def somebody_writing(settings: Settings, now: datetime) -> Iterator[None]:
    enough, begun = Event(), Event()

    def write() -> None:
        engine = make_engine(settings.database_url)
        while not enough.is_set():
            with write_session(engine) as session:
                a_build(session, now)
            begun.set()
        engine.dispose()

    writer = Thread(target=write)
    writer.start()
    assert begun.wait(5)
    yield
    enough.set()
    writer.join()


def test_the_passphrase_is_not_carried_about_in_copies(
    garage: Settings, tmp_path: Path, now: datetime
) -> None:
    set_passphrase(garage.data, "tin kettle on a wet bench")
    copy = keeping.backup(garage, tmp_path, now)
    assert not (copy / "passphrase").exists()


def test_a_folder_with_a_build_is_never_written_over(copy: Path, garage: Settings, now: datetime) -> None:
    put_in_a_build(garage, now, name="Later work")
    with pytest.raises(Unusable, match="nothing was changed"):
        keeping.restore(garage, copy, now)
    assert sorted(build_names(garage, now)) == ["Later work", "The saloon"]


def test_moved_aside_what_stood_there_is_kept_under_another_name(
    copy: Path, garage: Settings, now: datetime
) -> None:
    put_in_a_build(garage, now, name="Later work")
    moved = keeping.restore(garage, copy, now, aside=True)
    assert build_names(garage, now) == ["The saloon"]
    assert moved is not None
    assert sorted(build_names(settings_for(data=moved, environment={}), now)) == ["Later work", "The saloon"]


def test_a_copy_with_one_changed_byte_is_refused_by_name(copy: Path, tmp_path: Path, now: datetime) -> None:
    (copy / "photos" / "The saloon.jpg").write_bytes(b"pictura")
    with pytest.raises(Unusable, match=r"The saloon\.jpg changed since"):
        keeping.restore(elsewhere(tmp_path), copy, now)
    assert not (tmp_path / "new").exists()


def test_a_copy_that_lacks_a_file_or_has_one_more_is_refused(copy: Path) -> None:
    (copy / "photos" / "stray.jpg").write_bytes(b"")
    with pytest.raises(Unusable, match=r"stray\.jpg is not in"):
        keeping.check_copy(copy)
    (copy / "photos" / "stray.jpg").unlink()
    (copy / "photos" / "The saloon.jpg").unlink()
    with pytest.raises(Unusable, match=r"lacks photos/The saloon\.jpg"):
        keeping.check_copy(copy)


def test_a_copy_of_a_damaged_database_is_not_passed_off_as_good(
    garage: Settings, tmp_path: Path, now: datetime
) -> None:
    file = keeping.database_file(garage)
    content = bytearray(file.read_bytes())
    content[4096 * 3 : 4096 * 5] = b"\xff" * 4096 * 2
    file.write_bytes(content)
    with pytest.raises(Unusable, match="damaged"):
        keeping.backup(garage, tmp_path / "stick", now)
    assert not list((tmp_path / "stick").glob("witness-mark-*[0-9]"))
    assert not all(finding.good for finding in doctor.look_over(garage, TEN_IN_THE_MORNING))


def test_a_copy_inside_the_data_folder_is_refused(garage: Settings, now: datetime) -> None:
    with pytest.raises(Unusable, match="lost with it"):
        keeping.backup(garage, garage.data / "copies", now)


def test_data_in_postgresql_is_left_to_its_own_tools(garage: Settings, tmp_path: Path, now: datetime) -> None:
    elsewhere = replace(garage, database_url="postgresql+psycopg://somewhere/garage")
    with pytest.raises(Unusable, match="pg_dump"):
        keeping.backup(elsewhere, tmp_path, now)


def mended(settings: Settings) -> list[str]:
    return [finding.text for finding in doctor.look_over(settings, TEN_IN_THE_MORNING) if not finding.good]


def test_a_sound_data_folder_needs_no_mending(garage: Settings) -> None:
    assert mended(garage) == []
    told = " ".join(finding.text for finding in doctor.look_over(garage, TEN_IN_THE_MORNING))
    for word in (
        "SQLite",
        "Safe writing is on",
        "Integrity",
        "Links",
        "Tables",
        "Photos: 1",
        "Room",
        "passphrase",
    ):
        assert word in told


def test_a_photo_that_is_gone_is_named(garage: Settings) -> None:
    (garage.photos / "The saloon.jpg").unlink()
    assert any("Missing: The saloon.jpg" in text for text in mended(garage))


def test_tables_of_an_older_version_are_told(tmp_path: Path) -> None:
    there = elsewhere(tmp_path)
    upgrade(there, "base")
    assert any("`serve` brings them up to date" in text for text in mended(there))


def test_a_folder_that_others_can_read_is_told_with_its_cure(garage: Settings) -> None:
    garage.data.chmod(0o755)
    assert any(f"chmod 700 {garage.data}" in text for text in mended(garage))


def test_no_folder_at_all_is_told(tmp_path: Path) -> None:
    (text,) = mended(elsewhere(tmp_path))
    assert "no data folder" in text
    assert not (tmp_path / "new").exists()
