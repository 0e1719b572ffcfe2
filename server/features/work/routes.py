"""Addresses of the sheet of all work."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.builds.service import build_face
from server.features.orders.routes import TellNews
from server.features.work import forms, service
from server.features.work.page import GROUPS, Asked
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/work")
def show_work(
    request: Request, build_id: int, session: ReadSession, now: Now, tell: TellNews, told: str = ""
) -> Response:
    """`told` names what was just done; `group` and `from` which part of the work is asked for."""
    group = request.query_params.get("group", "")
    asked = Asked(group if group in GROUPS else "", forms.start_of(request.query_params))
    build = build_face(session, build_id)
    news = tell(session, build, told, now)
    return render(request, service.work_page(session, build, now, news, asked=asked))


@router.get("/builds/{build_id}/tasks")
def to_work(build_id: int) -> Response:
    """Where a refused task leaves the address bar: loading it again shows the sheet of all work."""
    return RedirectResponse(urls.work(build_id), status_code=303)


@router.post("/builds/{build_id}/tasks")
def add_task(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.task(build_id, service.add_task(session, build_id, typed)),
        lambda refused: service.work_page(session, build_face(session, build_id), now, refused=refused),
    )
