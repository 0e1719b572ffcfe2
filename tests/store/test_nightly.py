"""Copies made every night, which of them are kept, one-file copies, and what the doctor says of them."""

import shutil
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event

import pytest
from hypothesis import given
from hypothesis import settings as drawn
from hypothesis import strategies as st

from server import doctor, keeping, nightly
from server.keeping import Unusable
from server.migrate import upgrade
from server.nightly import DAILY, MONTHLY, WEEKLY, copies_in, copy_when_due, due, to_keep
from server.settings import Settings, settings_for
from tests.store.test_keeping import build_names, elsewhere, put_in_a_build

NOON = datetime(2026, 11, 25, 12, 0)
MOMENTS = st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1))


@pytest.fixture
def garage(settings: Settings, now: datetime) -> Settings:
    """A data folder with one build and one photo in it."""
    put_in_a_build(settings, now)
    return settings


def test_three_years_of_nights_leave_a_week_a_month_and_a_year() -> None:
    """Seven days, the ends of four weeks (two of them among the days), the ends of twelve months."""
    nights = [NOON.replace(hour=3) - timedelta(days=back) for back in range(3 * 365)]
    kept = sorted(to_keep(nights), reverse=True)
    assert [at.date().isoformat() for at in kept] == [
        *(f"2026-11-{day}" for day in (25, 24, 23, 22, 21, 20, 19)),
        *("2026-11-15", "2026-11-08"),
        *("2026-10-31", "2026-09-30", "2026-08-31", "2026-07-31", "2026-06-30", "2026-05-31", "2026-04-30"),
        *("2026-03-31", "2026-02-28", "2026-01-31", "2025-12-31"),
    ]


@drawn(max_examples=60)
@given(st.sets(MOMENTS, max_size=60))
def test_whatever_was_made_the_rule_keeps_what_it_says_and_no_more(made: set[datetime]) -> None:
    kept = to_keep(made)
    assert kept <= made
    assert len(kept) <= DAILY + WEEKLY + MONTHLY
    assert to_keep(kept) == kept, "a second look removes nothing"
    if made:
        assert max(made) in kept
    days = sorted({at.date() for at in made}, reverse=True)
    for day in days[:DAILY]:
        assert max(at for at in made if at.date() == day) in kept
    months = sorted({(at.year, at.month) for at in made}, reverse=True)
    for month in months[:MONTHLY]:
        assert max(at for at in made if (at.year, at.month) == month) in kept


@drawn(max_examples=60)
@given(st.lists(st.floats(0.5, 60.0), min_size=1, max_size=80))
def test_pruned_night_after_night_as_much_is_kept_as_by_one_look_at_all(gaps: list[float]) -> None:
    """Copies come one by one; none that the rule will want later is removed before."""
    every: set[datetime] = set()
    at, kept = datetime(2020, 1, 1), every
    for gap in gaps:
        at += timedelta(days=gap)
        every.add(at)
        kept = to_keep(kept | {at})
    assert kept == to_keep(every)


@pytest.mark.parametrize(
    ("newest", "now", "is_due"),
    [
        (None, NOON, True),
        (NOON, NOON + timedelta(hours=14), False),
        (NOON, NOON + timedelta(hours=15), True),
        (NOON.replace(hour=2), NOON.replace(hour=2, minute=50), False),
        (NOON.replace(hour=2), NOON.replace(hour=3), True),
        (NOON.replace(hour=3), NOON.replace(hour=23), False),
        (NOON, NOON + timedelta(days=30), True),
    ],
)
def test_a_copy_is_due_once_three_in_the_night_came(
    newest: datetime | None, now: datetime, is_due: bool
) -> None:
    assert due(newest, now) is is_due


def test_nights_make_copies_that_can_be_put_back_and_share_their_photos(
    garage: Settings, tmp_path: Path, now: datetime
) -> None:
    assert garage.copies == garage.data / "copies"
    made = [copy_when_due(garage, now + timedelta(days=day)) for day in range(12)]
    there = copies_in(garage.data / "copies")
    assert set(there.values()) <= set(made)
    assert len(there) == 8, "seven days, and the end of the week before them"
    assert copy_when_due(garage, now + timedelta(days=11, hours=1)) is None
    photos = [(path / "photos" / "The saloon.jpg").stat() for path in there.values()]
    assert len({one.st_ino for one in photos}) == 1
    assert photos[0].st_ino != (garage.photos / "The saloon.jpg").stat().st_ino, (
        "the data's own file is apart"
    )
    oldest = there[min(there)]
    assert keeping.restore(elsewhere(tmp_path), oldest, now) is None
    assert build_names(elsewhere(tmp_path), now) == ["The saloon"]


def test_other_copies_and_files_in_the_folder_are_left_alone(
    garage: Settings, tmp_path: Path, now: datetime
) -> None:
    mine = replace(garage, copies=tmp_path / "stick")
    by_hand = keeping.backup(garage, tmp_path / "stick", now - timedelta(days=900))
    (tmp_path / "stick" / "nightly-notes").mkdir()
    (tmp_path / "stick" / "nightly-2026-01-01-030000.partial").mkdir()
    for day in range(9):
        copy_when_due(mine, now + timedelta(days=day))
    assert by_hand.is_dir()
    left = {path.name for path in (tmp_path / "stick").iterdir()} - {
        path.name for path in copies_in(tmp_path / "stick").values()
    }
    assert left == {by_hand.name, "nightly-notes"}


def test_a_copy_that_fails_leaves_nothing_behind_and_the_others_stand(
    garage: Settings, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = copy_when_due(garage, now)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copy2", full)
    (garage.photos / "new.jpg").write_bytes(b"picture")
    with pytest.raises(OSError, match="No space"):
        copy_when_due(garage, now + timedelta(days=1))
    assert list((garage.data / "copies").iterdir()) == [first]


def test_the_nightly_thread_copies_beside_the_server_and_stops(
    garage: Settings, clock: Callable[[], datetime], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = Event()
    monkeypatch.setattr(nightly, "SETTLED", 0.0)

    def note(settings: Settings, now: datetime) -> None:
        copy_when_due(settings, now)
        made.set()

    monkeypatch.setattr(nightly, "copy_when_due", note)
    beside = nightly.Nightly(garage, clock)
    beside.start()
    assert made.wait(10)
    beside.stop()
    assert len(copies_in(garage.data / "copies")) == 1


def test_where_nightly_copies_go_is_said_by_an_option_or_the_environment(tmp_path: Path) -> None:
    def asked(**environment: str) -> Path | None:
        return settings_for(tmp_path, environment=environment).copies

    assert asked() == tmp_path / "copies"
    assert asked(WITNESS_MARK_COPIES=str(tmp_path / "stick")) == tmp_path / "stick"
    assert asked(WITNESS_MARK_COPIES="off") is None
    named = settings_for(tmp_path, environment={"WITNESS_MARK_COPIES": "off"}, copies=str(tmp_path / "other"))
    assert named.copies == tmp_path / "other"


def test_one_file_holds_all_and_is_put_back_like_a_folder(
    garage: Settings, tmp_path: Path, now: datetime
) -> None:
    file = keeping.backup(garage, tmp_path / "stick", now, one_file=True)
    assert file.name == "witness-mark-2026-11-25-100000.zip"
    assert [path.name for path in file.parent.iterdir()] == [file.name]
    assert sorted(zipfile.ZipFile(file).namelist()) == [
        "SHA256SUMS",
        "photos/The saloon.jpg",
        "witness-mark.sqlite",
    ]
    there = elsewhere(tmp_path)
    assert keeping.restore(there, file, now) is None
    upgrade(there)
    assert build_names(there, now) == ["The saloon"]
    assert (there.photos / "The saloon.jpg").read_bytes() == b"picture"
    assert [path.name for path in there.data.parent.iterdir()] == ["data"]


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("../../.profile", b"echo", "no copy made by `backup`: it has '../../.profile'"),
        ("photos/../../x.jpg", b"x", "it has 'photos/../../x.jpg'"),
        ("photos/..", b"x", "it has 'photos/..'"),
        ("photos/stray.jpg", b"x", r"stray\.jpg is not in"),
    ],
)
def test_a_one_file_copy_with_anything_beside_is_refused(
    garage: Settings, tmp_path: Path, now: datetime, name: str, content: bytes, told: str
) -> None:
    file = keeping.backup(garage, tmp_path / "stick", now, one_file=True)
    with zipfile.ZipFile(file, "a") as packed:
        packed.writestr(name, content)
    with pytest.raises(Unusable, match=told):
        keeping.restore(elsewhere(tmp_path), file, now)
    assert not elsewhere(tmp_path).data.exists()


def test_a_one_file_copy_that_was_spoilt_is_refused(garage: Settings, tmp_path: Path, now: datetime) -> None:
    file = keeping.backup(garage, tmp_path / "stick", now, one_file=True)
    whole = file.read_bytes()
    at = whole.index(b"picture")
    for spoilt in (whole[:at] + b"pictura" + whole[at + 7 :], whole[: len(whole) // 2], b"", b"no zip"):
        file.write_bytes(spoilt)
        with pytest.raises(Unusable, match=r"broken|changed since"):
            keeping.restore(elsewhere(tmp_path), file, now)
    assert not elsewhere(tmp_path).data.exists()


def test_nightly_copies_stay_with_the_data_folder_when_one_of_them_is_put_back(
    garage: Settings, now: datetime
) -> None:
    copy = copy_when_due(garage, now)
    assert copy is not None
    put_in_a_build(garage, now, name="Later work")
    moved = keeping.restore(garage, copy, now, aside=True)
    assert moved is not None
    assert build_names(garage, now) == ["The saloon"]
    assert copies_in(garage.data / "copies").keys() == {now.replace(tzinfo=None)}
    assert not (moved / "copies").exists()


def test_the_doctor_says_how_old_the_last_copy_is_and_what_to_do(garage: Settings, now: datetime) -> None:
    def told(settings: Settings, at: datetime) -> tuple[str, bool]:
        found = doctor.look_over(settings, at)
        return " ".join(one.text for one in found), all(one.good for one in found)

    text, good = told(garage, now)
    assert "No copy is in" in text
    assert good
    assert "Nightly copies are off. Copy the data with `backup`" in told(replace(garage, copies=None), now)[0]
    copy = copy_when_due(garage, now)
    assert copy is not None
    text, good = told(garage, now + timedelta(hours=30))
    assert "The last nightly copy is 30 hours old, of 1 in" in text
    assert f"Every file of {copy.name} is as it was" in text
    assert "lie on the data's own disk" in text
    assert "is free of the write-ahead log's reset fault, which was mended in 3.51.3" in text
    assert good
    text, good = told(garage, now + timedelta(days=5))
    assert "is 5 days old" in text
    assert "Let `serve` run" in text
    assert not good
    (copy / "photos" / "The saloon.jpg").write_bytes(b"pictura")
    text, good = told(garage, now)
    assert "The saloon.jpg changed since the copy was made" in text
    assert not good
