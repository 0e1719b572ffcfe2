"""The address of the line map's drawing."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.connecting.page import state_of
from server.features.linemap import service
from server.web.clock import Now
from server.web.handout import hand_out
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/line-map")
def show_line_map(
    request: Request, build_id: int, session: ReadSession, now: Now, state: str = "", sheet: str = ""
) -> Response:
    number = int(sheet) if sheet.isascii() and sheet.isdigit() and len(sheet) < 4 else 1
    return render(request, service.line_map_page(session, build_id, state_of(state), number, now))


@router.get("/builds/{build_id}/line-map.pdf")
def hand_out_line_map(build_id: int, session: ReadSession, now: Now, state: str = "") -> Response:
    return hand_out(service.line_map_pdf(session, build_id, state_of(state), now), "application/pdf")
