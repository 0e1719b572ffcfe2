"""The address of the money of a build."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.spending import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/shopping/money")
def show_money(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.spending_page(session, build_id, now))
