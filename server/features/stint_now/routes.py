"""The address of what to do in the time there is."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.stint_now import service
from server.once import OnceRoute
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/stint")
def show_stint(request: Request, build_id: int, session: ReadSession, now: Now, told: str = "") -> Response:
    page, status = service.stint_page(session, build_id, request.query_params, now, told)
    return render(request, page, status)
