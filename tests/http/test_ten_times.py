"""Ten times the demo's data: as many queries, pages as light, long lists searched. Counts only, no times."""

import asyncio
import re
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from fastapi import FastAPI

from server.app import create_app
from server.db import make_engine
from server.settings import settings_for
from tests.asking import Browser
from tests.bench.measure import ask, counting, first_visit, outdate
from tests.bench.multiply import multiply
from tests.budgets import MOST_HTML, most_html, most_of_first_visit
from tests.conftest import TEN_IN_THE_MORNING
from tests.page_forms import page_forms
from tests.walk import Stop, walk

TIMES = 10


@pytest.fixture(scope="module")
def big_folder(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Path:
    """A data folder with ten times the demo in it."""
    mine = settings_for(data=tmp_path_factory.mktemp("ten-times") / "data", environment={})
    shutil.copytree(demo_folder, mine.data)
    engine = make_engine(mine.database_url)
    multiply(engine, TIMES)
    for picture in [*mine.photos.iterdir()]:
        for copy in range(2, TIMES + 1):
            picture.with_name(f"{copy}-{picture.name}").hardlink_to(picture)
    engine.dispose()
    return mine.data


@pytest.fixture(scope="module")
def big_app(big_folder: Path) -> Iterator[FastAPI]:
    """None of these tests changes anything in it."""
    application = create_app(settings_for(data=big_folder, environment={}), lambda: TEN_IN_THE_MORNING)
    yield application
    application.state.engine.dispose()


@pytest.fixture(scope="module")
def big(big_app: FastAPI) -> Iterator[Browser]:
    with Browser(big_app) as asking:
        yield asking


@pytest.fixture(scope="module")
def every_page(big: Browser) -> list[Stop]:
    """Whatever of the build can be reached by links, no more than two of a kind."""
    return list(walk(big, "/builds/1", alike_at_most=2))


def kind_of(stop: Stop) -> str:
    """One stage of the gate is like any other, and all rest on as much."""
    return re.sub(r"(?<=/first-start/).+", "STAGE", stop.shape)


def queries(app: FastAPI, addresses: Sequence[str]) -> list[tuple[int, int]]:
    """How often each page asks the database, and when it is asked for again: in turn, all written to before.

    Each finds what those before it left, so that nothing is worked out twice: whatever asks more often the
    more rows there are shows at the first page that needs it.
    """

    async def asked(address: str) -> int:
        with counting(app.state.engine) as sent:
            await ask(app, address)
        return len(sent)

    async def in_turn() -> list[tuple[int, int]]:
        return [(await asked(address), await asked(address)) for address in addresses]

    outdate(app.state.engine)
    return asyncio.run(in_turn())


def test_there_is_ten_times_as_much_of_everything(demo: Browser, big: Browser) -> None:
    def totals(browser: Browser) -> list[int]:
        parts, ports = (browser.get_json(f"/builds/1/{page}") for page in ("parts", "ports"))
        tasks = browser.get_json("/builds/1/work")["tally_done"]["total"]
        return [parts["sheets_of"]["total"], ports["total"], tasks]

    assert totals(big) == [TIMES * count for count in totals(demo)]


def test_no_page_asks_the_database_more_often(
    demo: Browser, demo_app: FastAPI, big_app: FastAPI, every_page: list[Stop]
) -> None:
    """After a walk: what is foreseen is noted by the first who asks. One page of each kind that both have."""
    kinds: dict[str, str] = {}
    for stop in every_page:
        is_page = stop.answer.headers["content-type"].startswith("text/html")
        if is_page and kind_of(stop) not in kinds and demo.get(stop.address).status_code == 200:
            kinds[kind_of(stop)] = stop.address
    addresses = list(kinds.values())
    assert len(addresses) > 50
    one, ten = queries(demo_app, addresses), queries(big_app, addresses)
    more = {address: pair for address, *pair in zip(addresses, one, ten, strict=True) if pair[0] != pair[1]}
    assert more == {}


def test_every_page_still_fits_the_first_packets_of_a_connection(every_page: list[Stop]) -> None:
    """But for files to keep."""
    heavy = {}
    for stop in every_page:
        headers = stop.answer.headers
        if "content-disposition" in headers:
            continue
        if headers["content-type"].startswith("text/html"):
            sent = int(headers["content-length"])
            if sent > most_html(stop.shape):
                heavy[stop.address] = sent
            most = most_of_first_visit(stop.shape, stop.answer.text)
            assert first_visit(stop.answer.content) <= most, stop.address
    assert heavy == {}


def test_every_link_leads_somewhere(every_page: list[Stop]) -> None:
    lost = {stop.address: stop.answer.status_code for stop in every_page if stop.answer.status_code >= 400}
    assert lost == {}


def test_a_task_offers_what_is_near_and_finds_the_rest_by_name(big: Browser) -> None:
    """590 tasks are too many for one list; without scripts they are found by a word of their name."""
    task = "/builds/1/tasks/36"
    near = big.get_json(task)["choices"]["tasks"]
    assert len(near["options"]) == 100
    assert near["total"] > 500
    offered = {one["value"] for one in near["options"]}
    far = next(
        one
        for page in range(2, TIMES)
        for one in big.get_json(f"{task}?find={page}")["choices"]["tasks"]["options"]
        if one["value"] not in offered
    )
    shown = big.get(task, params={"find": far["text"]}).text
    form = next(one for one in page_forms(shown) if one.address == f"{task}/afters")
    assert far["value"] in form.offered["after_task_id"]


def test_words_that_nothing_has_leave_the_list_as_it_was(big: Browser) -> None:
    found = big.get_json("/builds/1/tasks/36?find=no+such+thing")["choices"]["parts"]
    assert found["missed"]
    assert len(found["options"]) == 100


def test_what_was_chosen_in_a_refused_form_stays_in_its_list(big: Browser) -> None:
    task = "/builds/1/tasks/36"
    near = {one["value"] for one in big.get_json(task)["choices"]["parts"]["options"]}
    every = (big.get_json(f"{task}?find={page}")["choices"]["parts"]["options"] for page in range(2, TIMES))
    far = next(one for options in every for one in options if one["value"] not in near)
    refused = big.post(f"{task}/needs", {"part_id": far["value"], "quantity": "none"})
    assert refused.status_code == 422
    form = next(one for one in page_forms(refused.text) if one.address == f"{task}/needs")
    assert form.value("part_id") == far["value"]


def test_a_piece_is_linked_to_a_part_that_is_found_by_name(big: Browser) -> None:
    """Its editor stays as light as any page."""
    piece = big.get_json("/builds/1/designs/3")["pieces"][0]["id"]
    address = f"/builds/1/designs/3?piece={piece}"
    answer = big.get(address, headers={"accept-encoding": "gzip"})
    assert int(answer.headers["content-length"]) <= MOST_HTML
    offered = big.get_json(address)["choices"]["parts"]
    everything = big.get_json(address)["parts_total"]
    assert len(offered) < everything / 2
    found = big.get_json(f"{address}&find=9")["choices"]["parts"]
    assert [one for one in found if one not in offered]
