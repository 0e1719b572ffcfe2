"""Measures the server's own time for each page: over ASGI, in this process, without a network.

A bare page, which reads one row and prints it, is measured between the others in the same run; it stands
for what framework, middleware and database cost whatever the page does.
"""

import asyncio
import gzip
import math
import statistics
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from fastapi import FastAPI, Response
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from server.db import ReadSession, write_session
from server.features.builds import service as builds
from server.features.builds.store import touch
from server.features.builds.tables import Build
from server.web.assets import assets
from tests.asking import Browser
from tests.walk import Stop, walk

BARE = "/bare-page-of-the-bench"
ENOUGH = 0.4
LEAST_ROUNDS = 4
"""An address that has taken so long in an application [s], in so many rounds, is measured well enough."""


@dataclass(frozen=True, slots=True)
class Times:
    """Server times of one page [s]."""

    median: float
    p95: float


@dataclass(frozen=True, slots=True)
class Measured:
    """One page: times with derived values kept, and worked out anew; queries; compressed size [bytes]."""

    address: str
    warm: Times
    cold: Times
    warm_queries: int
    cold_queries: int
    size: int


def add_bare_page(app: FastAPI) -> None:
    """A page that reads one row, behind the same middleware as every other."""

    def bare(session: ReadSession) -> Response:
        name = session.exec(select(Build.name)).first()
        return Response(f"<!doctype html><title>Bare</title><p>{name}</p>", media_type="text/html")

    app.add_api_route(BARE, bare)


def pages_of(app: FastAPI) -> list[Stop]:
    """One page of each shape that can be reached by links."""
    with Browser(app) as browser:
        return largest_of(walk(browser))


def largest_of(found: Iterable[Stop]) -> list[Stop]:
    """One page of each shape: the largest, as the one most likely to be slow."""
    good = [stop for stop in found if stop.answer.status_code == 200]
    stops = [stop for stop in good if stop.answer.headers["content-type"].startswith("text/html")]
    largest: dict[str, Stop] = {}
    for stop in stops:
        if stop.shape not in largest or len(stop.answer.content) > len(largest[stop.shape].answer.content):
            largest[stop.shape] = stop
    return list(largest.values())


async def ask(app: FastAPI, address: str) -> tuple[float, bytes]:
    """The seconds from handing over a request to the last byte of its answer, and the answer's body."""
    path, _, query = address.partition("?")
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": query.encode(),
        "headers": [(b"host", b"127.0.0.1:8000"), (b"accept", b"text/html"), (b"accept-encoding", b"gzip")],
        "client": ("127.0.0.1", 50000),
        "server": ("127.0.0.1", 8000),
        "state": {},
    }
    body = bytearray()
    status = 0

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        nonlocal status
        status = message.get("status", status)
        body.extend(message.get("body", b""))

    begun = time.perf_counter()
    await app(scope, receive, send)
    taken = time.perf_counter() - begun
    assert status == 200, f"{address} answers {status}"
    return taken, bytes(body)


@contextmanager
def counting(engine: Engine) -> Iterator[list[str]]:
    """The statements sent to the database meanwhile, the beginnings of transactions left out."""
    sent: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        if not statement.startswith(("BEGIN", "PRAGMA", "SAVEPOINT", "RELEASE")):
            sent.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(engine, "before_cursor_execute", note)


def drop_derived(engine: Engine) -> None:
    """As in a process that has just begun: no value derived from a build's rows counts, and no step."""
    builds._of_steps.clear()
    builds._beginnings.clear()
    outdate(engine)


def outdate(engine: Engine) -> None:
    """As if all of a build had been written to; steps whose inputs are as they were are kept."""
    with Session(engine) as session:
        numbers = [number for number in session.exec(select(Build.id)) if number is not None]
    with write_session(engine) as session:
        for number in numbers:
            touch(session, number)


def times(taken: list[float]) -> Times:
    """Median, and the least time that 95 of a hundred keep within (nearest rank)."""
    ordered = sorted(taken)
    return Times(statistics.median(ordered), ordered[math.ceil(0.95 * len(ordered)) - 1])


@dataclass(frozen=True, slots=True)
class Asked:
    """One address asked once cold and once warm: seconds, queries, compressed size [bytes]."""

    cold: float
    warm: float
    cold_queries: int
    warm_queries: int
    size: int


async def ask_twice(app: FastAPI, address: str) -> Asked:
    """Cold, with derived values dropped, then warm."""
    engine: Engine = app.state.engine
    drop_derived(engine)
    with counting(engine) as cold_sent:
        cold, _ = await ask(app, address)
    with counting(engine) as warm_sent:
        warm, body = await ask(app, address)
    return Asked(cold, warm, len(cold_sent), len(warm_sent), len(body))


async def measure_side_by_side(
    apps: Sequence[FastAPI], addresses: Sequence[str], rounds: int
) -> list[list[Measured]]:
    """Every address `rounds` times in every application, in turn, so that a slow moment hits all alike.

    A slow address is asked less often: no more once it has taken its time, but `LEAST_ROUNDS` at the least.
    """
    asked: list[dict[str, list[Asked]]] = [{address: [] for address in addresses} for _ in apps]
    for turn in range(rounds):
        for address in addresses:
            spent = sum(one.cold + one.warm for found in asked for one in found[address])
            if turn >= LEAST_ROUNDS and spent > ENOUGH * len(apps):
                continue
            for app, found in zip(apps, asked, strict=True):
                found[address].append(await ask_twice(app, address))
    return [[_measured(address, every) for address, every in found.items()] for found in asked]


def _measured(address: str, every: Sequence[Asked]) -> Measured:
    last = every[-1]
    return Measured(
        address,
        times([one.warm for one in every]),
        times([one.cold for one in every]),
        last.warm_queries,
        last.cold_queries,
        last.size,
    )


async def measure(app: FastAPI, addresses: list[str], rounds: int) -> list[Measured]:
    """Every address `rounds` times warm and as often cold, in turn."""
    return (await measure_side_by_side([app], addresses, rounds))[0]


def run(app: FastAPI, rounds: int) -> list[Measured]:
    """The bare page first, then one page of each shape. The application must hold something to show."""
    addresses = [BARE, *(stop.address for stop in pages_of(app))]

    async def all_rounds() -> list[Measured]:
        for address in addresses:
            await ask(app, address)  # templates compiled, units read
        return await measure(app, addresses, rounds)

    return asyncio.run(all_rounds())


def run_side_by_side(apps: Sequence[FastAPI], rounds: int) -> list[list[Measured]]:
    """One page of each shape of the first application, in each of them, which must all have that page."""
    addresses = [stop.address for stop in pages_of(apps[0])]

    async def all_rounds() -> list[list[Measured]]:
        for app in apps:
            for address in addresses:
                await ask(app, address)
        return await measure_side_by_side(apps, addresses, rounds)

    return asyncio.run(all_rounds())


def first_visit(page: bytes) -> int:
    """Compressed bytes of a first visit [bytes]: the page, and every static file that it names."""
    plain = gzip.decompress(page) if page[:2] == b"\x1f\x8b" else page
    named = [asset for asset in assets().values() if asset.address.encode() in plain]
    return len(gzip.compress(plain, 6)) + sum(len(asset.packed) for asset in named)
