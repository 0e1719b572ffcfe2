"""One operation key, one effect: a double tap or a resend acts once.

Every form carries a key (the field `operation_key`, or the header `Idempotency-Key`). A router with
`route_class=OnceRoute` runs each of its writing requests in one transaction, together with the row
that remembers key, fingerprint and answer; a request with a key seen before gets the same answer
again and changes nothing. An answer of 400 or above leaves no trace, so it can be sent again.
"""

import asyncio
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime, timedelta
from typing import Any

from fastapi import Request, Response
from fastapi.responses import RedirectResponse
from fastapi.routing import APIRoute
from sqlalchemy import Column, LargeBinary, bindparam, delete, insert, update
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlmodel import Field, Session, SQLModel, col
from starlette.concurrency import run_in_threadpool

from server.db import writing
from server.errors import Conflict, KeyReused, MissingKey, Refused
from server.web.posted import Posted, read_posted
from server.web.render import render, wants_page
from server.web.view import Page

KEPT = timedelta(days=60)
"""Longer than any phone sits in a drawer with something waiting to be sent."""

REPLAYED_HEADERS = ("content-type", "content-location", "location", "vary")
ECHO = "Operation-Key"
"""Header of every answer to a key: a phone knows by it that this server answered, not a portal on the way."""


class OperationKey(SQLModel, table=True):
    """What was answered to one key of one actor."""

    __tablename__ = "operation_key"

    actor: str = Field(primary_key=True, max_length=80)
    key: str = Field(primary_key=True, max_length=100)
    fingerprint: str = Field(max_length=64)
    status: int = 0
    headers: str = ""
    body: bytes = Field(default=b"", sa_column=Column(LargeBinary, nullable=False))
    at: datetime


CLAIM = insert(OperationKey)
ANSWERED = (
    update(OperationKey)
    .where(col(OperationKey.actor) == bindparam("of"), col(OperationKey.key) == bindparam("under"))
    .values({name: bindparam(name) for name in ("status", "headers", "body")})
)
FORGET = delete(OperationKey).where(col(OperationKey.at) < bindparam("before"))
"""Every form that is sent runs these three, so they are put together once."""


class OnceRoute(APIRoute):
    """Gives each writing request its write session, and runs it once per operation key."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        handler = super().get_route_handler()
        if not self.methods or self.methods <= {"GET", "HEAD"}:
            return handler

        async def handle_once(request: Request) -> Response:
            posted = await self.read(request)
            if not posted.key:
                raise MissingKey("This form came without its operation key. Load the page again and resend.")
            request.state.posted = posted
            async with _writer_lock(request):
                response = await _answer_once(request, posted, handler)
            if posted.key.isascii() and posted.key.isprintable():
                response.headers[ECHO] = posted.key
            return response

        return handle_once

    async def read(self, request: Request) -> Posted:
        """What was sent, before anything is locked; routes of large files read it in their own way."""
        return await read_posted(request)


def _writer_lock(request: Request) -> asyncio.Lock:
    lock: asyncio.Lock = request.app.state.writer_lock
    return lock


async def _answer_once(
    request: Request, posted: Posted, handler: Callable[[Request], Coroutine[Any, Any, Response]]
) -> Response:
    session = Session(writing(request.app.state.engine), expire_on_commit=False)
    try:
        row = OperationKey(
            actor=request.state.actor,
            key=posted.key,
            fingerprint=posted.fingerprint(request.method, request.url.path),
            at=datetime.now(UTC),
        )
        seen = await run_in_threadpool(_claim, session, row)
        if seen is not None:
            return _replay(seen, row, posted)
        request.state.write_session = request.state.session = session
        response = await handler(request)
        if response.status_code < 400:
            await run_in_threadpool(_finish, session, row, response)
        return response
    finally:
        if session.in_transaction():  # nothing was stored, and undoing it may wait for the database
            await run_in_threadpool(session.close)


def _claim(session: Session, row: OperationKey) -> OperationKey | None:
    """Take the key for this transaction, or return the row of the request that had it before."""
    try:
        session.connection().execute(CLAIM, row.model_dump())
    except IntegrityError:
        session.rollback()
        return session.get(OperationKey, (row.actor, row.key))
    except OperationalError as error:
        if "locked" in str(error) or "timeout" in str(error):
            raise Conflict("Another write is still in progress. Send this again in a moment.") from error
        raise
    return None


def _replay(seen: OperationKey, row: OperationKey, posted: Posted) -> Response:
    """The answer that the key got before. Raises KeyReused where it comes with other contents this time."""
    if seen.fingerprint != row.fingerprint:
        raise KeyReused("This form was sent before with other contents.", posted.fields)
    headers = dict(line.split(": ", 1) for line in seen.headers.splitlines())
    return Response(seen.body, seen.status, headers | {"Idempotency-Replayed": "true"})


def _finish(session: Session, row: OperationKey, response: Response) -> None:
    headers = [f"{name}: {response.headers[name]}" for name in REPLAYED_HEADERS if name in response.headers]
    answer = {"status": response.status_code, "headers": "\n".join(headers), "body": bytes(response.body)}
    session.flush()
    connection = session.connection()
    connection.execute(ANSWERED, {"of": row.actor, "under": row.key, **answer})
    connection.execute(FORGET, {"before": row.at - KEPT})
    session.commit()


def act(
    request: Request, session: Session, do: Callable[[], str], page: Callable[[Refused | None], Page]
) -> Response:
    """Carry out one intention and answer in the shape that was asked for.

    `do` returns the address to go to next. Where it refuses, nothing of it stays and `page` is shown
    again with what was typed and the messages. A plain form is redirected (303), so that the back
    button and a reload never send it again. Derived values kept for the build are dropped before the
    page is made.
    """
    try:
        where = do()
    except Refused as refused:
        session.rollback()
        return render(request, page(refused), status=refused.status)
    after_write: Callable[[Session, dict[str, Any]], None] = request.app.state.after_write
    after_write(session, request.path_params)
    if wants_page(request):
        return RedirectResponse(where, status_code=303)
    answer = render(request, page(None))
    answer.headers["Content-Location"] = where
    return answer
