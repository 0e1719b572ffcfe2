"""The address of the sheet for the wall."""

from fastapi import APIRouter, Response

from server.db import ReadSession
from server.features.wall_sheet import service
from server.web.clock import Now
from server.web.handout import hand_out

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/first-start.pdf")
def hand_out_sheet(build_id: int, session: ReadSession, now: Now) -> Response:
    return hand_out(service.wall_sheet(session, build_id, now), "application/pdf")
