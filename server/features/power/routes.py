"""Address of the engine's power; what is typed there stands in the address and changes nothing."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.power import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/power")
def show_power(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    shown, status = service.power_page(session, build_id, request.query_params, now)
    return render(request, shown, status)
