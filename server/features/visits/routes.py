"""The address of a visit."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.visits import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/visits/{visit_id}")
def show_visit(request: Request, build_id: int, visit_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.visit_page(session, build_id, visit_id, now))
