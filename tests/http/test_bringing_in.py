"""A build brought in from a file by the page of all builds: with scripting off, as a browser sends it."""

import io
import json
import re
import zipfile
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import pytest

from server.settings import Settings
from tests.asking import Browser, fresh_key
from tests.page_forms import page_forms
from tests.pictures import picture, saved


@pytest.fixture
def archive(browser: Browser) -> bytes:
    """A build with a photo, as its sheet hands it out."""
    browser.post("/builds", {"name": "Orrin", "car": "saloon"})
    sent = {"photo": ("stud.jpg", saved(picture(60, 45)), "image/jpeg")}
    assert browser.post("/builds/1/log", {"text": "Stud 3 snapped"}, files=sent).status_code == 303
    return browser.get("/builds/1/export").content


def bring_in(browser: Browser, content: bytes, key: str = "") -> Any:
    sent = {"archive": ("build.zip", content, "application/zip")}
    return browser.post("/archives", {"operation_key": key or fresh_key()}, files=sent)


def names(browser: Browser) -> list[str]:
    return [one["name"] for one in browser.get_json("/builds")["builds"]]


def with_build(archive: bytes, **values: str) -> bytes:
    """The same archive with other words in the row of its build."""
    old, to = zipfile.ZipFile(io.BytesIO(archive)), io.BytesIO()
    rows = json.loads(old.read("build.json"))
    rows["schema"] = values.pop("schema", rows["schema"])
    rows["tables"]["build"][0].update(values)
    with zipfile.ZipFile(to, "w") as new:
        for name in old.namelist():
            new.writestr(name, json.dumps(rows) if name == "build.json" else old.read(name))
    return to.getvalue()


def unpacking_to(size: int) -> bytes:
    to = io.BytesIO()
    with zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("build.json", bytes(size))
    return to.getvalue()


def climbing_out() -> bytes:
    to = io.BytesIO()
    with zipfile.ZipFile(to, "w") as file:
        file.writestr("../../.profile", "echo")
    return to.getvalue()


def photos_of(settings: Settings) -> list[Path]:
    return sorted(settings.photos.iterdir())


def test_the_page_of_all_builds_has_a_form_that_a_browser_sends_as_it_is(
    browser: Browser, archive: bytes
) -> None:
    (form,) = [one for one in page_forms(browser.get("/builds").text) if one.address == "/archives"]
    assert "archive" in form.names()
    answer = bring_in(browser, archive, form.value("operation_key"))
    assert answer.headers["location"] == "/builds/2/garage"
    assert names(browser) == ["Orrin", "Orrin"]
    shown = browser.get("/builds/2/log")
    assert "Stud 3 snapped" in shown.text
    (photo,) = set(re.findall(r'src="(/builds/2/photos/[^"]*)"', shown.text))
    assert browser.get(photo).headers["content-type"] == "image/jpeg"


def test_a_double_tap_brings_it_in_once(browser: Browser, archive: bytes) -> None:
    key = fresh_key()
    first, second = (bring_in(browser, archive, key) for _ in range(2))
    assert (first.status_code, second.headers["location"]) == (303, "/builds/2/garage")
    assert names(browser) == ["Orrin", "Orrin"]
    other = bring_in(browser, with_build(archive, name="Another"), key)
    assert other.status_code == 422, "the same form with another file is another form"


REFUSED: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "no zip": (lambda _: b"<html>", "is no zip archive"),
    "cut off": (lambda archive: archive[:-30], "is no zip archive"),
    "newer": (lambda archive: with_build(archive, schema="2031_01_01_later"), "Bring the program up to date"),
    "a word": (lambda archive: with_build(archive, stage="flying"), "says 'flying' in stage"),
    "too long": (lambda archive: with_build(archive, name="x" * 81), "says what can't be"),
    "a bomb": (lambda _: unpacking_to(33 * 1024 * 1024), "larger than 32 MB"),
    "a name that climbs out": (lambda _: climbing_out(), "a file that no build has"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_build_is_refused_beside_its_field_and_leaves_nothing(
    browser: Browser, settings: Settings, archive: bytes, case: str
) -> None:
    spoil, why = REFUSED[case]
    before = photos_of(settings)
    answer = bring_in(browser, spoil(archive))
    assert answer.status_code == 422
    assert why in answer.text.replace("&#39;", "'")
    assert 'id="f-archive-problem"' in answer.text
    assert names(browser) == ["Orrin"]
    assert photos_of(settings) == before


def test_a_form_without_a_file_says_so(browser: Browser) -> None:
    empty = browser.post("/archives", {}, files={"archive": ("", b"", "application/octet-stream")})
    assert empty.status_code == 422
    assert "No file was chosen." in empty.text
    assert browser.post("/archives", {}).status_code == 422


def test_more_than_any_build_is_refused_before_it_is_read(browser: Browser) -> None:
    """Stated beforehand here; what comes without its length is counted as it comes, as for photos."""

    async def nothing() -> AsyncIterator[bytes]:
        yield b"--x--"

    headers = {"content-type": "multipart/form-data; boundary=x", "content-length": "1250000001"}
    answer = browser.runner.run(browser.client.post("/archives", content=nothing(), headers=headers))
    assert answer.status_code == 413
    headers["content-length"] = "60000000"
    assert (
        browser.runner.run(browser.client.post("/builds", content=nothing(), headers=headers)).status_code
        == 413
    )
