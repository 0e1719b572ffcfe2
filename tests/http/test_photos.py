"""Photos of readings, ports, tasks and notes: kept with what they show, seen by the right people only."""

import errno
import io
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from PIL import Image
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from server.db import write_session
from server.features.log.tables import LogEntry
from server.features.photos import service, store
from server.features.photos.tables import Photo
from server.features.ports.tables import Reading
from server.settings import Settings
from tests.asking import Browser, number_in
from tests.pictures import written_at


def jpeg(width: int = 1200, height: int = 900) -> bytes:
    written = io.BytesIO()
    Image.new("RGB", (width, height), (120, 90, 60)).save(written, "JPEG")
    return written.getvalue()


def picture(content: bytes = b"", name: str = "IMG_0001.jpg") -> dict[str, Any]:
    return {"photo": (name, content or jpeg(), "image/jpeg")}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def port(browser: Browser, build: int) -> str:
    made = browser.post(f"/builds/{build}/ports", {"name": "Compressor inlet"})
    address: str = made.headers["location"]
    return address


def bore(browser: Browser, port: str, files: dict[str, Any] | None = None, **more: str) -> httpx.Response:
    form = {"dimension": "bore", "reading": "57 mm"} | more
    return browser.post(f"{port}/readings", form, files=files)


def photo_rows(engine: Engine) -> list[Photo]:
    with Session(engine) as session:
        return list(session.exec(select(Photo).order_by(Photo.id)))  # type: ignore[arg-type]


def test_a_photo_comes_with_its_reading_and_stands_beside_it(
    browser: Browser, engine: Engine, port: str
) -> None:
    page = browser.follow(bore(browser, port, picture())).text
    [row] = photo_rows(engine)
    assert (row.subject_kind, row.width, row.height) == ("reading", 1200, 900)
    [reading] = browser.get_json(port)["readings"]
    [shown] = reading["photos"]["first"]
    assert (shown["width"], shown["height"]) == (480, 360)
    assert shown["alt"] == "Photo of this reading, 10:00"
    assert f'src="{shown["source"]}" alt="{shown["alt"]}" width="480" height="360"' in page


def test_a_reading_without_a_photo_is_a_reading(browser: Browser, engine: Engine, port: str) -> None:
    assert bore(browser, port).status_code == 303
    assert bore(browser, port, {"photo": ("", b"", "application/octet-stream")}).status_code == 303
    assert photo_rows(engine) == []


def test_a_photo_can_be_added_later_to_a_reading_or_to_the_port(
    browser: Browser, engine: Engine, port: str
) -> None:
    bore(browser, port)
    for shows, caption in (("1", "caliper on the lip"), ("", "seen from below <left>")):
        form = {"shows": shows, "caption": caption}
        assert browser.post(f"{port}/photos", form, files=picture()).status_code == 303
    assert [(row.subject_kind, row.caption) for row in photo_rows(engine)] == [
        ("reading", "caliper on the lip"),
        ("port", "seen from below <left>"),
    ]
    assert "seen from below &lt;left&gt;" in browser.get(port).text


def test_a_note_and_a_task_take_photos_at_once_and_later(
    browser: Browser, engine: Engine, build: int
) -> None:
    log = f"/builds/{build}/log"
    browser.post(log, {"text": "Stud 3 snapped"}, files=picture())
    assert browser.post(f"{log}/1/photos", {}, files=picture()).status_code == 303
    task = browser.post(f"/builds/{build}/tasks", {"title": "Drill it", "likely": "1 h"}).headers["location"]
    assert browser.post(f"{task}/photos", {"caption": "the stump"}, files=picture()).status_code == 303
    assert [row.subject_kind for row in photo_rows(engine)] == ["log", "log", "task"]
    assert len(browser.get_json(log)["days"][0]["lines"][0]["photos"]["first"]) == 2
    assert len(browser.get_json(f"{log}/1")["photos"]["first"]) == 2
    assert browser.get_json(task)["photos"]["first"][0]["alt"] == "the stump"


def test_the_picture_is_served_so_that_nothing_in_it_can_act(browser: Browser, port: str, build: int) -> None:
    browser.post(f"{port}/photos", {}, files=picture(name='"><script>.html'))
    answer = browser.get(f"/builds/{build}/photos/1")
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["content-disposition"] == 'inline; filename="photo-1.jpg"'
    assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox"
    assert answer.headers["cache-control"] == "private, max-age=31536000, immutable"
    assert Image.open(io.BytesIO(answer.content)).size == (1200, 900)
    again = browser.get(f"/builds/{build}/photos/1", headers={"if-none-match": answer.headers["etag"]})
    assert again.status_code == 304


def test_the_small_picture_is_made_on_arrival_and_again_for_older_rows(
    browser: Browser, settings: Settings, port: str, build: int
) -> None:
    browser.post(f"{port}/photos", {}, files=picture())
    [small] = settings.photos.glob("*.s.jpg")
    address = f"/builds/{build}/photos/1?small=1"
    first = browser.get(address)
    assert Image.open(io.BytesIO(first.content)).size == (480, 360)
    assert first.headers["etag"] != browser.get(f"/builds/{build}/photos/1").headers["etag"]
    small.unlink()
    assert browser.get(address).content == first.content
    assert small.is_file()


def test_a_photo_of_another_build_is_not_there(browser: Browser, port: str) -> None:
    browser.post(f"{port}/photos", {}, files=picture())
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    for address in (f"/builds/{other}/photos/1", f"/builds/{other}/photos/1/sheet"):
        assert browser.get(address).status_code == 404
    assert browser.post(f"/builds/{other}/photos/1/withdrawal", {}).status_code == 404


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"<script>alert(1)</script>", "is not a JPEG, PNG or WebP picture"),
        (jpeg()[:500], "is broken or incomplete"),
        (b"x" * (12 * 1024 * 1024 + 1), "is larger than 12 MB"),
    ],
)
def test_a_file_that_can_not_be_used_is_refused_beside_its_field_and_the_rest_is_kept(
    browser: Browser, engine: Engine, settings: Settings, port: str, content: bytes, message: str
) -> None:
    answer = bore(browser, port, picture(content), reading="57,3 mm", reading_note="at the lip")
    assert answer.status_code == 422
    assert message in answer.text
    assert "Choose the picture again; the rest is kept." in answer.text
    assert 'value="57,3 mm"' in answer.text
    assert 'value="at the lip"' in answer.text
    assert 'aria-invalid="true" aria-describedby="take-photo-problem"' in answer.text
    with Session(engine) as session:
        assert session.exec(select(Reading)).all() == []
    assert photo_rows(engine) == []
    assert list(settings.photos.iterdir()) == []


def test_a_photo_form_without_a_picture_says_what_is_missing(browser: Browser, port: str) -> None:
    answer = browser.post(f"{port}/photos", {"caption": "the lip"})
    assert answer.status_code == 422
    assert "No picture was chosen." in answer.text
    assert 'value="the lip"' in answer.text
    assert browser.post(f"{port}/photos", {"shows": "77"}, files=picture()).status_code == 422


def test_a_full_disk_keeps_nothing_by_halves(
    browser: Browser, engine: Engine, port: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(_path: Path, _content: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(service, "write_file", no_room)
    answer = bore(browser, port, picture())
    assert answer.status_code == 507
    assert "Free some space" in answer.text
    with Session(engine) as session:
        assert session.exec(select(Reading)).all() == []


def test_a_photo_sent_five_times_with_one_key_is_one_photo(
    browser: Browser, engine: Engine, port: str
) -> None:
    for _ in range(5):
        answer = browser.post(f"{port}/photos", {"operation_key": "one-and-the-same-photo"}, files=picture())
        assert answer.status_code == 303
    assert len(photo_rows(engine)) == 1


def test_a_photo_set_aside_is_shown_nowhere_and_can_be_put_back(
    browser: Browser, port: str, build: int
) -> None:
    browser.post(f"{port}/photos", {}, files=picture())
    photo = f"/builds/{build}/photos/1"
    told = browser.follow(browser.post(f"{photo}/withdrawal", {"to": "withdrawn"})).text
    assert "Set aside." in told
    assert "Put it back" in told
    assert browser.get_json(port)["photos"]["first"] == []
    browser.post(f"{photo}/withdrawal", {"to": "standing"})
    assert len(browser.get_json(port)["photos"]["first"]) == 1


def test_the_sheet_of_a_photo_leads_back_to_what_it_shows(browser: Browser, port: str, build: int) -> None:
    bore(browser, port, picture())
    browser.post(f"{port}/photos", {}, files=picture())
    browser.post(f"/builds/{build}/log", {"text": "the first"}, files=picture())
    found = {}
    for number in (1, 2, 3):
        sheet = browser.get_json(f"/builds/{build}/photos/{number}/sheet")
        found[sheet["subject"]] = browser.get(sheet["back"], follow_redirects=True).url.path
    assert found == {"reading": port, "port": port, "log note": f"/builds/{build}/log/1"}


def test_a_reading_of_another_build_leads_nowhere(browser: Browser, port: str) -> None:
    bore(browser, port)
    other = number_in(browser.post("/builds", {"name": "Another"}).headers["location"])
    assert browser.get(f"/builds/{other}/readings/1").status_code == 404
    assert browser.get("/builds/1/readings/1").headers["location"] == port


def test_a_photo_set_aside_makes_room_and_is_cleared_away_after_thirty_days(
    browser: Browser, engine: Engine, settings: Settings, port: str, build: int, now: datetime
) -> None:
    browser.post(f"{port}/photos", {}, files=picture())
    written_at(now, settings.photos)
    with write_session(engine) as session:
        row = session.exec(select(Photo)).one()
        row.withdrawn_at = now - timedelta(days=29)
        session.add(row)
    with write_session(engine) as session:
        assert store.usage(session, build) == (0, 0)
        service.clear_away(session, settings.photos, now)
        assert len(session.exec(select(Photo)).all()) == 1
    later = now + timedelta(days=2)
    with write_session(engine) as session:
        service.clear_away(session, settings.photos, later)
        assert session.exec(select(Photo)).all() == []
        assert len(list(settings.photos.iterdir())) == 2
    with write_session(engine) as session:
        service.clear_away(session, settings.photos, later)
        assert list(settings.photos.iterdir()) == []


def test_six_photos_are_shown_and_the_rest_is_folded(browser: Browser, port: str) -> None:
    small = jpeg(40, 30)
    for _ in range(8):
        browser.post(f"{port}/photos", {}, files=picture(small))
    album = browser.get_json(port)["photos"]
    assert (len(album["first"]), len(album["rest"])) == (6, 2)
    assert "<summary>2 more photos</summary>" in browser.get(port).text


def test_the_log_asks_no_more_for_many_photos_than_for_one(
    browser: Browser, engine: Engine, build: int, now: datetime
) -> None:
    log = f"/builds/{build}/log"

    def asked() -> int:
        seen: list[str] = []

        def note(*about: object) -> None:
            seen.append(str(about[2]))

        event.listen(engine, "before_cursor_execute", note)
        browser.get(log)
        event.remove(engine, "before_cursor_execute", note)
        return len(seen)

    small = picture(jpeg(40, 30))
    browser.post(log, {"text": "the first"}, files=small)
    few = asked()
    with write_session(engine) as session:
        session.add_all(
            LogEntry(build_id=build, at=now, kind="note", text=f"Note {number}") for number in range(20)
        )
    for number in range(2, 8):
        browser.post(f"{log}/{number}/photos", {}, files=small)
    # Fewer where what the writes left alone is kept.
    assert asked() <= few


def test_a_form_refused_for_another_field_asks_for_its_picture_again(browser: Browser, port: str) -> None:
    asks = "Choose the picture again; the rest is kept."
    refused = bore(browser, port, picture(), doubt="-3")
    assert refused.status_code == 422
    assert asks in refused.text
    assert asks not in bore(browser, port, doubt="-3").text
    shown = browser.post(f"{port}/photos", {"shows": "77777", "caption": "the bead"}, files=picture())
    assert shown.status_code == 422
    assert asks in shown.text
