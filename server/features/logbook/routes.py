"""Addresses of the log as a file to keep."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.logbook import service
from server.web.clock import Now
from server.web.handout import hand_out

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/log.html")
def hand_out_html(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    folder = request.app.state.settings.photos
    return hand_out(service.log_html(session, folder, build_id, now), "text/html; charset=utf-8")


@router.get("/builds/{build_id}/log.pdf")
def hand_out_pdf(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    folder = request.app.state.settings.photos
    return hand_out(service.log_pdf(session, folder, build_id, now), "application/pdf")
