"""Who comes with a helper's link: found out before anything else is done for them.

The token stands in the address, under `/s/`. Without a link that stands nothing below it is there, and with
one nothing else is: an address of a link names no build. What is done goes by the name on the link.
"""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime, timedelta
from threading import Lock

from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.db import write_session
from server.features.sharing.page import Link
from server.features.sharing.service import LINK_ATTEMPTS, NOTE_EVERY, check_token, note_use
from server.web.errors import error_response

BELOW = "/s/"
CLOSED = "This link is not known here, was withdrawn, or has run out. Ask who gave it for a new one."


class Guests:
    """Wraps the application; notes in `request.state` the link and, as the actor, the name on it."""

    def __init__(self, app: ASGIApp, engine: Engine, clock: Callable[[], datetime]) -> None:
        self.app = app
        self.engine = engine
        self.clock = clock
        self.lock = Lock()
        self.attempts = LINK_ATTEMPTS

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or not scope["path"].startswith(BELOW):
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        token = scope["path"].removeprefix(BELOW).split("/")[0]
        link, wait = await run_in_threadpool(self._link, token, request.client.host if request.client else "")
        if link is None:
            answer = error_response(request, 429 if wait else 404, CLOSED)
            if wait:
                answer.headers["Retry-After"] = str(int(wait.total_seconds()) + 1)
            await answer(scope, receive, send)
            return

        async def send_unlisted(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message)["X-Robots-Tag"] = "noindex"
            await send(message)

        request.state.link, request.state.actor = link, link.name
        await self.app(scope, receive, send_unlisted)

    def _link(self, token: str, address: str) -> tuple[Link | None, timedelta]:
        """The link that a token opens; else how long this address must wait for its next try."""
        now = self.clock()
        with self.lock:
            wait = self.attempts.wait("", address, now)
        if wait:
            return None, wait
        with Session(self.engine) as session:
            link = check_token(session, token, now)
        if link is None:
            with self.lock:
                self.attempts = self.attempts.failed("", address, now)
            return None, timedelta(0)
        if link.last_used_at is None or now - link.last_used_at >= NOTE_EVERY:
            # Where the disk is full or the database busy, pages can be read all the same.
            with suppress(OperationalError), write_session(self.engine) as session:
                note_use(session, link, now)
        return link, timedelta(0)
