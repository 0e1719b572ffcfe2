"""Addresses of the engine sheet."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.engine import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/engine")
def show_engine(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.engine_page(session, build_id, now))


@router.post("/builds/{build_id}/engine")
def save_engine(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.save_sheet(session, build_id, typed)
        return urls.engine(build_id)

    return act(request, session, do, lambda refused: service.engine_page(session, build_id, now, refused))
