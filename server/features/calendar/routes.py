"""The address that a calendar program asks."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.calendar import service
from server.web.clock import Now
from server.web.handout import feed

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/calendar.ics")
def show_calendar(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    origin = str(request.base_url).rstrip("/")
    return feed(request, service.calendar(session, build_id, now, origin), "text/calendar; charset=utf-8")
