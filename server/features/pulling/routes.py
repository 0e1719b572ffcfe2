"""Addresses of the page on which a hose comes off."""

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.photos.page import LINE_BEFORE
from server.features.photos.service import attach
from server.features.pulling import service
from server.features.pulling.page import PullPage
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render
from server.web.with_photo import Sent, WithPhoto

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
PULL = "/builds/{build_id}/pull"


@router.get(PULL)
def show_pulling(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.pull_page(session, build_id, request.query_params, now))


@router.get("/builds/{build_id}/line-tags")
def show_tags(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.tags_page(session, build_id, now))


@router.post(PULL)
def pull(request: Request, build_id: int, session: WriteSession, now: Now, sent: Sent) -> Response:
    return come_off(request, build_id, session, now, sent, service.pull)


@router.post(PULL + "/new")
def pull_new(request: Request, build_id: int, session: WriteSession, now: Now, sent: Sent) -> Response:
    return come_off(request, build_id, session, now, sent, service.pull_new)


def come_off(
    request: Request,
    build_id: int,
    session: WriteSession,
    now: datetime,
    sent: WithPhoto,
    off: Callable[..., int],
) -> Response:
    """A hose is off, with the photo that came with it; then its number."""
    told = {}

    def do() -> str:
        line_id = off(session, build_id, sent.typed, sent.made, sent.actor)
        attach(session, build_id, (LINE_BEFORE, line_id), sent)
        told["told"] = f"line-{line_id}"
        return urls.telling(urls.ledger.pull(build_id), told["told"])

    def page(refused: Refused | None) -> PullPage:
        return service.pull_page(session, build_id, {} if refused else told, now, refused)

    return act(request, session, do, page)
