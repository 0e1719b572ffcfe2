"""The address of a design's isometric drawing."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.isometric import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/designs/{design_id}/isometric")
def show_isometric(
    request: Request, build_id: int, design_id: int, session: ReadSession, now: Now, side: str = ""
) -> Response:
    return render(request, service.isometric_page(session, build_id, design_id, side, now))
