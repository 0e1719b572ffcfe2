"""Every page of the demo, and of a server with nothing in it: whole, as fragments and as JSON.

The demo is walked once, and what each page costs is measured on the way: bytes on a garage's weak signal,
and queries.
"""

import asyncio
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from jinja2 import Template

from server.app import create_app
from server.settings import settings_for
from server.web.assets import static
from server.web.render import environment
from tests.access_pages import AT_THE_DRAWING, AT_WORK
from tests.asking import Browser
from tests.bench.measure import BARE, add_bare_page, ask_twice, first_visit, largest_of
from tests.budgets import HTMX, MOST_QUERIES, most_html, most_of_first_visit
from tests.conftest import TEN_IN_THE_MORNING
from tests.contracts.sources import TEMPLATES
from tests.contracts.test_pages import LEAVES
from tests.walk import Markup, Stop, walk

SHARED = {"base.html", "macros.html"}
KEY = re.compile(r'name="operation_key" value="[^"]*"')
OPEN_BY_ITSELF = re.compile(r"^\s*<(\w+)[^>]*\bid=\"([^\"]+)\"")
NO_PAGE = ("application/", "image/", "text/csv", "text/calendar")


@contextmanager
def noting_templates() -> Iterator[set[str]]:
    """The names of the templates that are asked for meanwhile."""
    names: set[str] = set()
    templates = environment()
    before = templates.get_template

    def note(name: str, *rest: Any) -> Template:
        names.add(name)
        return before(name, *rest)

    templates.get_template = note  # type: ignore[assignment, method-assign]
    yield names
    templates.get_template = before  # type: ignore[method-assign]


def pages_among(stops: list[Stop]) -> list[Stop]:
    """The pages among the stops of a walk; that every stop answers well is a contract of its own."""
    found = [stop for stop in stops if stop.answer.status_code == 200]
    shown = [stop for stop in found if "content-disposition" not in stop.answer.headers]  # a file to keep
    return [stop for stop in shown if not stop.answer.headers["content-type"].startswith(NO_PAGE)]


@dataclass(frozen=True, slots=True)
class Walked:
    """A walk over the demo: its stops, the templates it asked for, and the commits that it led to."""

    stops: list[Stop]
    templates: frozenset[str]
    commits: int


@pytest.fixture(scope="module")
def demo_app(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Iterator[FastAPI]:
    """The application on a copy of the demo, for every test of this file: none of them writes."""
    settings = settings_for(data=tmp_path_factory.mktemp("walked") / "data", environment={})
    shutil.copytree(demo_folder, settings.data)
    application = create_app(settings, lambda: TEN_IN_THE_MORNING)
    add_bare_page(application)
    yield application
    application.state.engine.dispose()


@pytest.fixture(scope="module")
def demo(demo_app: FastAPI) -> Iterator[Browser]:
    with Browser(demo_app) as asking:
        yield asking


@pytest.fixture(scope="module")
def walked(demo: Browser, demo_app: FastAPI) -> Walked:
    with demo_app.state.engine.connect() as connection, noting_templates() as names:
        before = connection.exec_driver_sql("PRAGMA data_version").scalar()
        stops = walk(demo)
        commits = connection.exec_driver_sql("PRAGMA data_version").scalar() - before
    return Walked(stops, frozenset(names), commits)


@pytest.fixture(scope="module")
def pages(walked: Walked) -> list[Stop]:
    return pages_among(walked.stops)


def faults(page: str) -> list[str]:
    """What a page does that no page may do."""
    markup = Markup(page)
    ids = markup.having("id")
    labelled = set(markup.having("for"))
    found = []
    if not markup.title.strip():
        found.append("has no title")
    if len(markup.headings) != 1:
        found.append(f"has the headings {markup.headings}")
    found += [f"uses the id {name} twice" for name in sorted({name for name in ids if ids.count(name) > 1})]
    for tag, attributes in markup.tags:
        loud = [name for name in attributes if name.startswith("on") or name == "style"]
        if loud or (tag == "script" and not attributes.get("src")) or (tag == "style"):
            found.append(f"has script or style of its own in <{tag} {loud}>")
        field = tag in {"input", "select", "textarea"} and attributes.get("type") not in {"hidden", "submit"}
        if field and attributes.get("id") not in labelled and "aria-label" not in attributes:
            found.append(f"has the field {attributes.get('name')} without a label")
        points_at = attributes.get("hx-target", "") or ""
        swapped = points_at.removeprefix("#") or attributes.get("data-swaps", "")
        if swapped and swapped not in ids:
            found.append(f"swaps {swapped}, which is not on the page")
    forms = page.count('method="post"')
    if forms != len(KEY.findall(page)):
        found.append(f"has {forms} forms and {len(KEY.findall(page))} operation keys")
    return found


def assert_sound(stops: list[Stop]) -> None:
    assert len(stops) >= 4
    broken = [
        f"{stop.address} answers {stop.answer.status_code}"
        for stop in stops
        if stop.answer.status_code != 200
    ]
    assert broken == []
    told = {stop.address: found for stop in pages_among(stops) if (found := faults(stop.answer.text))}
    assert told == {}


def test_every_link_of_the_demo_leads_to_a_sound_page(walked: Walked) -> None:
    assert_sound(walked.stops)


def test_every_link_leads_to_a_sound_page_where_there_is_nothing_yet(browser: Browser) -> None:
    assert_sound(walk(browser))


def test_reading_changes_nothing(walked: Walked) -> None:
    assert walked.commits == 0


def test_every_template_is_shown_somewhere_on_the_demo(demo: Browser, walked: Walked) -> None:
    with noting_templates() as of_what_is_missing:
        demo.get("/nothing-here")
    # Shown where other machines can reach the server, and to who has a link: see test_sign_in, test_helping.
    # `tests.bench.access` looks at them closely (tests/access_door.py).
    of_the_door = {
        "sharing/sign_in.html",
        "sharing/signed_in.html",
        "passkeys/passkeys.html",
        "helping/sheet.html",
        "helping/run.html",
        "helping/port.html",
        "showing/show.html",
    }
    ours = {path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*.html")}
    text = "".join(path.read_text(encoding="utf-8") for path in TEMPLATES.rglob("*.html"))
    used_inside = {name for name in ours if f'"{name}"' in text}
    assert ours - SHARED - walked.templates - of_what_is_missing - used_inside - of_the_door == set()


def test_a_page_of_every_template_is_looked_at_by_everybody(demo: Browser, walked: Walked) -> None:
    with noting_templates() as looked_at:
        for address in (*AT_WORK, *AT_THE_DRAWING):
            demo.get(address)
    assert walked.templates - looked_at == set(), "put such a page into tests/access_pages.py"


def test_every_page_fits_the_first_packets_of_a_connection(pages: list[Stop]) -> None:
    for stop in pages:
        assert stop.answer.headers["content-encoding"] == "gzip"
        sent = int(stop.answer.headers["content-length"])
        assert sent <= most_html(stop.shape), f"{stop.address} sends {sent} bytes"
        assert first_visit(stop.answer.content) <= most_of_first_visit(stop.shape, stop.answer.text), (
            stop.address
        )


def test_htmx_comes_with_the_pages_that_swap_a_part_of_themselves(walked: Walked) -> None:
    """It weighs as much as all that comes with the others."""
    htmx = static(HTMX)
    for stop in walked.stops:
        if stop.answer.headers["content-type"].startswith("text/html"):
            swaps = "hx-target" in stop.answer.text or "hx-get" in stop.answer.text
            assert (htmx in stop.answer.text) == swaps, stop.address


def test_every_page_is_also_a_script_s_answer(demo: Browser, pages: list[Stop]) -> None:
    for stop in pages:
        answer = demo.get(stop.address, headers={"accept": "application/json"})
        assert answer.status_code == 200, stop.address
        assert answer.json()["title"]["sheet"], stop.address
        assert "Accept" in answer.headers["vary"]


def test_a_fragment_is_the_same_part_of_its_page(demo: Browser, pages: list[Stop]) -> None:
    fragments = {page.template: page.fragments for page in LEAVES}
    compared = 0
    for stop in pages:
        with noting_templates() as asked:
            whole = KEY.sub("", demo.get(stop.address).text)
        for template in asked & fragments.keys():
            for name in fragments[template]:
                if f'id="{name}"' not in whole:
                    continue
                answer = demo.get(stop.address, headers={"hx-request": "true", "hx-target": name})
                part = KEY.sub("", answer.text).strip()
                opened = OPEN_BY_ITSELF.match(part)
                assert opened, f"{stop.address} #{name} begins {part[:80]!r}"
                assert opened[2] == name, f"{stop.address}: asked #{name}, got #{opened[2]}"
                assert part in whole, f"{stop.address} #{name} differs from the same part of the page"
                compared += 1
    assert compared > 0


def test_back_and_boosted_links_get_the_whole_page(demo: Browser, pages: list[Stop]) -> None:
    address = pages[0].address
    for header in ("hx-history-restore-request", "hx-boosted"):
        whole = demo.get(address, headers={"hx-request": "true", "hx-target": "main", header: "true"})
        assert whole.text.startswith("<!doctype html>")


def test_a_page_is_not_sent_again_to_who_has_it(demo: Browser, pages: list[Stop]) -> None:
    for stop in pages:
        tag = stop.answer.headers.get("etag")
        assert tag, stop.address
        assert demo.get(stop.address, headers={"if-none-match": tag}).status_code == 304, stop.address


def test_no_page_asks_the_database_for_each_thing_it_shows(demo_app: FastAPI, walked: Walked) -> None:
    """Last, since it makes every page anew from its rows."""

    async def queries() -> tuple[int, dict[str, int]]:
        bare = (await ask_twice(demo_app, BARE)).warm_queries
        addresses = [stop.address for stop in largest_of(walked.stops)]
        return bare, {address: (await ask_twice(demo_app, address)).cold_queries for address in addresses}

    bare, asked = asyncio.run(queries())
    assert bare == 1
    assert {address: number for address, number in asked.items() if number > MOST_QUERIES} == {}
