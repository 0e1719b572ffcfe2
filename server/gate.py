"""The door, where other machines can reach the server: who has not given a passphrase gets no further, and
who has gets to no other builder's build.

On loopback it is not there at all. Static files, the worker that keeps pages, the home authority's
certificate and the sign-in page are open to everyone; what stands below a helper's link is open to who has
that link.
"""

import re
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime

from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from server.db import write_session
from server.features.builds.service import is_of
from server.features.sharing.page import cookie_name
from server.features.sharing.service import NOTE_EVERY, Signed, note_seen, who
from server.guests import BELOW
from server.web import urls
from server.web.errors import error_response
from server.web.render import wants_page

OPEN = ("/static/", BELOW, urls.authority())
AT_THE_DOOR = {urls.sign_in(), urls.passkeys.sign_in(), urls.passkeys.challenge()}
NUMBER = re.compile(r"[0-9]{1,9}")
"""What is read as a build's number; other ways to write one ("+1", "1.0", "١") lead nowhere."""


def build_in(path: str) -> str | None:
    """What stands in a path where a build's number does; None where a word does, or nothing."""
    first, _, rest = path.removeprefix("/").partition("/")
    said = rest.partition("/")[0]
    return said if first == "builds" and not said.replace("-", "").isalpha() and said else None


class Gate:
    """Wraps the application; notes in `request.state` who is signed in, and whose builds they may see."""

    def __init__(self, app: ASGIApp, engine: Engine, clock: Callable[[], datetime]) -> None:
        self.app = app
        self.engine = engine
        self.clock = clock

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"] == "/sw.js" or scope["path"].startswith(OPEN):
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        token = request.cookies.get(cookie_name(request.url.scheme == "https"), "")
        signed = await run_in_threadpool(self._who, token) if token else None
        request.state.signed = signed
        if signed is None and scope["path"] not in AT_THE_DOOR:
            await refusal(request)(scope, receive, send)
            return
        if signed is not None:
            request.state.whose = signed.whose
            if not await run_in_threadpool(self._may_see, signed, scope["path"]):
                await error_response(request, 404, "There is no such build.")(scope, receive, send)
                return
        await self.app(scope, receive, send)

    def _may_see(self, signed: Signed, path: str) -> bool:
        """Whether an address names no build, or one of who asks."""
        number = build_in(path)
        if number is None:
            return True
        if not NUMBER.fullmatch(number):
            return False
        with Session(self.engine) as session:
            return is_of(session, int(number), signed.whose)

    def _who(self, token: str) -> Signed | None:
        now = self.clock()
        with Session(self.engine) as session:
            signed = who(session, token, now)
        if signed is not None and now - signed.last_seen_at >= NOTE_EVERY:
            # Where the disk is full or the database busy, pages can be read all the same.
            with suppress(OperationalError), write_session(self.engine) as session:
                note_seen(session, signed, now)
        return signed


def refusal(request: Request) -> Response:
    """A page that was asked for comes after the sign-in; a form stays in the browser, to be sent again."""
    if wants_page(request) and request.method in {"GET", "HEAD"}:
        back = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        answer: Response = RedirectResponse(urls.sign_in(back), 303)
        answer.headers["Cache-Control"] = "no-store"
        return answer
    answer = error_response(request, 401, "This browser is not signed in, so nothing was changed.")
    if request.headers.get("hx-request") == "true" and request.method == "GET":
        answer.headers["HX-Redirect"] = urls.sign_in()
    return answer
