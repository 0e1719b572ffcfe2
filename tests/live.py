"""The application behind a real socket, for real browsers."""

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread

import uvicorn
from fastapi import FastAPI
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

NOBODY = PlainTextResponse("Nobody stands here.", 404)


class Stand:
    """One address for many applications, one after the other: a phone in front of it can stay."""

    def __init__(self) -> None:
        self.app: FastAPI | None = None

    @contextmanager
    def holding(self, app: FastAPI) -> Iterator[None]:
        """Until then, this one answers."""
        assert self.app is None, "another application stands there"
        self.app = app
        yield
        self.app = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await (self.app or NOBODY)(scope, receive, send)


@contextmanager
def served(app: ASGIApp, port: int = 0) -> Iterator[str]:
    """Serve an application on loopback, on a free port unless one is named; its address."""
    listening = socket.create_server(("127.0.0.1", port))
    config = uvicorn.Config(app, access_log=False, log_level="warning", lifespan="off", ws="none")
    server = uvicorn.Server(config)
    thread = Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive(), "the server did not start"
        time.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()
