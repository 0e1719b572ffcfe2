"""The whole log as one file to keep: HTML that asks for nothing, and PDF."""

import io
import re

import pytest
from pypdf import PdfReader

from tests.asking import Browser
from tests.pictures import picture, saved


@pytest.fixture
def build(browser: Browser) -> str:
    where = browser.post("/builds", {"name": "The <saloon>"}).headers["location"]
    address = f"/builds/{where.split('/')[2]}"
    sent = {"photo": ("a.jpg", saved(picture()), "image/jpeg")}
    browser.post(f"{address}/log", {"text": "The flange <b>fits</b>", "caption": "Flange"}, files=sent)
    browser.post(f"{address}/log", {"text": "Left for next time: the clamp"})
    return address


def test_the_html_holds_its_photos_and_asks_for_nothing_else(browser: Browser, build: str) -> None:
    answer = browser.get(f"{build}/log.html")
    assert answer.headers["content-disposition"] == 'attachment; filename="log-the-saloon-2026-11-25.html"'
    assert "The flange &lt;b&gt;fits&lt;/b&gt;" in answer.text
    assert "Left for next time: the clamp" in answer.text
    sources = re.findall(r'(?:src|href)="([^"]{0,40})', answer.text)
    assert sources
    assert all(source.startswith("data:image/jpeg;base64,") for source in sources)
    assert "<script" not in answer.text


def test_the_pdf_tells_the_same_with_the_photo(browser: Browser, build: str) -> None:
    read = PdfReader(io.BytesIO(browser.get(f"{build}/log.pdf").content))
    text = "\n".join(page.extract_text() for page in read.pages)
    assert "The flange <b>fits</b>" in text
    assert "Wed 25 Nov 2026" in text
    assert sum(len(page.images) for page in read.pages) == 1


def test_a_log_without_entries_is_a_file_that_says_so(browser: Browser) -> None:
    browser.post("/builds", {"name": "New"})
    assert "Nothing yet" in browser.get("/builds/1/log.html").text
    assert browser.get("/builds/1/log.pdf").content.startswith(b"%PDF")
