"""Addresses of the limits of the checks."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.limits import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/limits")
def show_limits(
    request: Request, build_id: int, session: ReadSession, now: Now, change: str = ""
) -> Response:
    return render(request, service.limits_page(session, build_id, now, change))


@router.get("/builds/{build_id}/limits/{key}")
@router.get("/builds/{build_id}/limits/{key}/usual")
def to_limit(build_id: int, key: str) -> Response:
    """Where a refused change leaves the address bar: loading it again shows the limit in its list."""
    return RedirectResponse(urls.limit_in_list(build_id, service.limit_named(key).key), status_code=303)


@router.post("/builds/{build_id}/limits/{key}")
def change_limit(
    request: Request, build_id: int, key: str, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.change_limit(session, build_id, key, typed, now, actor)
        return urls.limit_in_list(build_id, key)

    return act(
        request, session, do, lambda refused: service.limits_page(session, build_id, now, key, refused)
    )


@router.post("/builds/{build_id}/limits/{key}/usual")
def use_usual(
    request: Request, build_id: int, key: str, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.use_usual(session, build_id, key, typed, now, actor)
        return urls.limit_in_list(build_id, key)

    return act(
        request, session, do, lambda refused: service.limits_page(session, build_id, now, key, refused)
    )
