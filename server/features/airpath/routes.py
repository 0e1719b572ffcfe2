"""Address of the path of the air."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.airpath import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/air-path")
def show_air_path(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.air_path_page(session, build_id, now))
