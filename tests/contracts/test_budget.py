"""What a page may cost: bytes on a garage's weak signal, and queries."""

import asyncio

from fastapi import FastAPI

from tests.asking import Browser
from tests.bench.measure import BARE, add_bare_page, first_visit, measure, pages_of

MOST_HTML = 14_000
MOST_FIRST_VISIT = 60_000
MOST_QUERIES = 28


def test_every_page_fits_the_first_packets_of_a_connection(demo_app: FastAPI, demo: Browser) -> None:
    for stop in pages_of(demo_app):
        answer = demo.get(stop.address, headers={"accept-encoding": "gzip"})
        sent = int(answer.headers["content-length"])
        assert sent <= MOST_HTML, f"{stop.address} sends {sent} bytes"
        assert first_visit(answer.content) <= MOST_FIRST_VISIT, stop.address


def test_no_page_asks_the_database_for_each_thing_it_shows(demo_app: FastAPI) -> None:
    add_bare_page(demo_app)
    addresses = [BARE, *(stop.address for stop in pages_of(demo_app))]
    bare, *pages = asyncio.run(measure(demo_app, addresses, rounds=1))
    assert bare.warm_queries == 1
    many = {page.address: page.cold_queries for page in pages if page.cold_queries > MOST_QUERIES}
    assert many == {}
