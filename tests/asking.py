"""Asks the application over ASGI, without a network: a plain browser, or a script, in a few words."""

import asyncio
import re
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from types import TracebackType
from typing import Any, TypeVar

import httpx
from fastapi import FastAPI

ORIGIN = "http://127.0.0.1:8000"

T = TypeVar("T")


class Browser:
    """A synchronous client of the application, sending what a browser would."""

    def __init__(self, app: FastAPI) -> None:
        self.runner = asyncio.Runner()
        transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
        self.client = httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"origin": ORIGIN})

    def __enter__(self) -> "Browser":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.runner.run(self.client.aclose())
        self.runner.close()

    def get(self, address: str, **kwargs: Any) -> httpx.Response:
        return self.runner.run(self.client.get(address, **kwargs))

    def get_json(self, address: str) -> Any:
        answer = self.get(address, headers={"accept": "application/json"})
        assert answer.status_code == 200, answer.text
        return answer.json()

    def post(self, address: str, fields: Mapping[str, str], **kwargs: Any) -> httpx.Response:
        """Post a form with a fresh operation key, unless the fields bring one."""
        data = {"operation_key": fresh_key(), **fields}
        return self.runner.run(self.client.post(address, data=data, **kwargs))

    def post_at_once(self, address: str, fields: Mapping[str, str], times: int) -> list[httpx.Response]:
        """The very same form, sent several times at the same moment."""

        async def all_together() -> list[httpx.Response]:
            asks = [self.client.post(address, data=dict(fields)) for _ in range(times)]
            return list(await asyncio.gather(*asks))

        return self.runner.run(all_together())

    def follow(self, answer: httpx.Response) -> httpx.Response:
        """Go where a stored form sends the browser."""
        assert answer.status_code == 303, f"{answer.status_code}: {answer.text[:2000]}"
        return self.get(answer.headers["location"])


def ask_aside(app: FastAPI, work: Callable[[Browser], T]) -> T:
    """What `work` finds with a browser in a thread of its own: Playwright keeps an event loop in this one."""

    def ask() -> T:
        with Browser(app) as asking:
            return work(asking)

    with ThreadPoolExecutor(1) as aside:
        return aside.submit(ask).result()


_keys = iter(range(10**9))


def fresh_key() -> str:
    """An operation key never used before in this test run."""
    return f"test-key-{next(_keys):012d}"


def number_in(address: str) -> int:
    """The last number of an address."""
    return int(re.findall(r"\d+", address)[-1])
