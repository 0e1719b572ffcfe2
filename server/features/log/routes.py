"""Addresses of the log."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.log import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/log")
def show_log(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.log_page(session, build_id, request.query_params, now))


@router.post("/builds/{build_id}/log")
def add_note(request: Request, build_id: int, session: WriteSession, now: Now, actor: Actor) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_note(session, build_id, typed, now, actor)
        return urls.log(build_id)

    return act(request, session, do, lambda refused: service.log_page(session, build_id, {}, now, refused))
