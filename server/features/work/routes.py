"""Addresses of the sheet of all work."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.work import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/work")
def show_work(request: Request, build_id: int, session: ReadSession, now: Now, told: str = "") -> Response:
    return render(request, service.work_page(session, build_id, now, told))


@router.post("/builds/{build_id}/tasks")
def add_task(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.task(build_id, service.add_task(session, build_id, typed)),
        lambda refused: service.work_page(session, build_id, now, refused=refused),
    )
