"""Addresses of the starting set."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.starting import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/start")
def show_start(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.start_page(session, build_id, request.query_params, now))


@router.post("/builds/{build_id}/start")
def add_ticked(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        added = service.add(session, build_id, typed)
        return urls.started(build_id, added.subsystems, added.ports, added.tasks)

    return act(
        request, session, do, lambda refused: service.start_page(session, build_id, typed, now, refused)
    )
