"""Memory is looked through between two answers, never amid one that makes no more than a page does."""

import asyncio
import gc
from collections.abc import Iterator

import pytest
from starlette.types import Message, Receive, Scope, Send

from server.tidying import YOUNG, Tidy


class Loop:
    """Something that only the collector can free: it holds itself."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture
def walks() -> Iterator[list[str]]:
    """What happened in order: each walk of the collector while it comes by itself only very seldom."""
    happened: list[str] = []

    def note(phase: str, info: dict[str, int]) -> None:
        if phase == "stop":
            happened.append(f"walked, {info['collected'] > YOUNG} that many freed")

    before = gc.get_threshold()
    gc.collect()
    gc.set_threshold(1_000_000)
    gc.callbacks.append(note)
    yield happened
    gc.callbacks.remove(note)
    gc.set_threshold(*before)


def asked(walks: list[str], loops: int) -> list[str]:
    """What happened as an answer that leaves so many loops behind was asked for."""

    async def app(_scope: Scope, _receive: Receive, _send: Send) -> None:
        [Loop() for _ in range(loops)]
        walks.append("answered")

    async def never() -> Message:
        raise AssertionError("nothing is read")

    async def sent(_message: Message) -> None:
        raise AssertionError("nothing is sent")

    async def ask() -> None:
        await Tidy(app)({"type": "http"}, never, sent)
        walks.append("done")
        await asyncio.sleep(0)

    asyncio.run(ask())
    return walks


def test_what_a_large_answer_leaves_is_freed_once_it_is_done(walks: list[str]) -> None:
    assert asked(walks, 2 * YOUNG) == ["answered", "done", "walked, True that many freed"]


def test_a_small_answer_leaves_nothing_worth_a_walk(walks: list[str]) -> None:
    assert asked(walks, 10) == ["answered", "done"]
