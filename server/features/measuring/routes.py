"""The address of what to measure next: over the whole build, or for one design."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.measuring import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/measure")
def show_measuring(
    request: Request, build_id: int, session: ReadSession, now: Now, design: str = ""
) -> Response:
    return render(request, service.measuring_page(session, build_id, now, design))
