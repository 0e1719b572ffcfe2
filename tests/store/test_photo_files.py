"""Photos as files and rows that agree, and what is swept away when they do not."""

import os
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from server.db import write_session
from server.errors import BadInput, NotFound
from server.features.photos import service, store
from server.features.photos.forms import recode
from server.features.photos.service import store_photo, sweep_orphans
from server.features.photos.tables import Photo
from server.settings import Settings
from tests.factories import a_build
from tests.pictures import picture, reopened, saved


def keep(
    session: Session,
    folder: Path,
    build_id: int,
    now: datetime,
    content: bytes | None = None,
    caption: str = "",
) -> Photo:
    sent = saved(picture()) if content is None else content
    return store_photo(session, folder, build_id, "reading", 12, sent, now, "builder", caption)


def test_a_photo_is_stored_as_a_file_and_a_row_that_agree(
    any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    with write_session(any_engine) as session:
        build = a_build(session, now)
        kept = keep(session, any_settings.photos, build.id, now, caption="compressor inlet")
    with Session(any_engine) as session:
        [row] = store.photos_of(session, build.id, "reading", 12)
        assert (row.caption, row.added_by, row.added_at) == ("compressor inlet", "builder", now)
        content = service.photo_path(any_settings.photos, row).read_bytes()
        assert (len(content), reopened(content).size) == (row.size, (row.width, row.height))
        assert recode(saved(picture())).digest == row.digest
    small = kept.name.replace(".jpg", ".s.jpg")
    assert sorted(path.name for path in any_settings.photos.iterdir()) == [kept.name, small]


def test_names_say_nothing_and_never_repeat(
    any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    with write_session(any_engine) as session:
        build = a_build(session, now)
        first, second = (keep(session, any_settings.photos, build.id, now) for _ in range(2))
    assert first.name != second.name
    assert service.OURS.fullmatch(first.name)


def test_a_photo_is_found_in_its_own_build_only(
    any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    with write_session(any_engine) as session:
        mine, other = a_build(session, now), a_build(session, now, name="Another")
        photo = keep(session, any_settings.photos, mine.id, now)
        assert store.load_photo(session, mine.id, photo.key) is photo
        with pytest.raises(NotFound):
            store.load_photo(session, other.id, photo.key)


def test_a_refused_picture_leaves_no_file_and_keeps_the_caption(
    any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    with write_session(any_engine) as session:
        build = a_build(session, now)
        with pytest.raises(BadInput) as refused:
            keep(session, any_settings.photos, build.id, now, b"<svg/>", caption="compressor inlet")
    assert refused.value.typed == {"caption": "compressor inlet"}
    assert list(any_settings.photos.iterdir()) == []


def test_a_caption_that_is_too_long_is_refused_and_kept(
    any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    with write_session(any_engine) as session:
        build = a_build(session, now)
        with pytest.raises(BadInput, match="201 characters") as refused:
            keep(session, any_settings.photos, build.id, now, caption="x" * 201)
    assert refused.value.typed["caption"] == "x" * 201


def test_a_build_takes_so_many_photos_and_another_build_still_takes_its_own(
    any_engine: Engine, any_settings: Settings, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(service, "MOST_PHOTOS", 2)
    with write_session(any_engine) as session:
        full, other = a_build(session, now), a_build(session, now, name="Another")
        for _ in range(2):
            keep(session, any_settings.photos, full.id, now)
        with pytest.raises(BadInput, match="has 2 photos"):
            keep(session, any_settings.photos, full.id, now)
        keep(session, any_settings.photos, other.id, now)
        assert store.usage(session, full.id)[0] == 2
    assert len(list(any_settings.photos.iterdir())) == 6  # each with its small picture


def test_a_build_takes_so_many_bytes(
    any_engine: Engine, any_settings: Settings, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = len(recode(saved(picture())).content)
    monkeypatch.setattr(service, "MOST_BYTES", 2 * one)
    with write_session(any_engine) as session:
        build = a_build(session, now)
        for _ in range(2):
            keep(session, any_settings.photos, build.id, now)
        assert store.usage(session, build.id) == (2, 2 * one)
        with pytest.raises(BadInput, match="1 GB"):
            keep(session, any_settings.photos, build.id, now)


def test_a_disk_that_fails_leaves_neither_row_nor_half_a_file(
    any_engine: Engine, any_settings: Settings, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_number: int) -> None:
        raise OSError(28, "No space left on device")

    with write_session(any_engine) as session:
        build = a_build(session, now)
        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space left"):
            keep(session, any_settings.photos, build.id, now)
        assert store.usage(session, build.id) == (0, 0)
    assert list(any_settings.photos.iterdir()) == []


def test_the_sweep_removes_old_orphans_and_nothing_else(
    any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    def left(name: str, age: timedelta) -> None:
        path = any_settings.photos / name
        path.write_bytes(b"left behind")
        moment = (now - age).timestamp()
        os.utime(path, (moment, moment))

    with write_session(any_engine) as session:
        build = a_build(session, now)
        photo = keep(session, any_settings.photos, build.id, now)
    orphan, broken, fresh = "a" * 32 + ".jpg", "b" * 32 + ".part", "c" * 32 + ".jpg"
    left(orphan, timedelta(hours=2))
    left(broken, timedelta(hours=2))
    left(fresh, timedelta(minutes=5))
    left("holiday.jpg", timedelta(days=90))
    left(photo.name, timedelta(days=90))
    small = photo.name.replace(".jpg", ".s.jpg")
    left(small, timedelta(days=90))
    with Session(any_engine) as session:
        assert sweep_orphans(session, any_settings.photos, now) == (orphan, broken)
        assert sweep_orphans(session, any_settings.photos, now) == ()
    assert {path.name for path in any_settings.photos.iterdir()} == {photo.name, small, fresh, "holiday.jpg"}


def test_a_write_that_was_taken_back_leaves_an_orphan_for_the_sweep(
    any_engine: Engine, any_settings: Settings, now: datetime
) -> None:
    with write_session(any_engine) as session:
        build = a_build(session, now)
    with Session(any_engine) as session:
        photo = keep(session, any_settings.photos, build.id, now)
        session.rollback()
    with Session(any_engine) as session:
        later = datetime.now(now.tzinfo) + 2 * service.GRACE
        small = photo.name.replace(".jpg", ".s.jpg")
        assert sweep_orphans(session, any_settings.photos, later) == (photo.name, small)
