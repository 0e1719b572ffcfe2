"""Addresses of a design's cut sheet."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.cuts import service
from server.web.clock import Now
from server.web.handout import hand_out
from server.web.render import render

router = APIRouter(include_in_schema=False)
CUTS = "/builds/{build_id}/designs/{design_id}/cuts"


@router.get(CUTS)
def show_cuts(request: Request, build_id: int, design_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.cuts_page(session, build_id, design_id, now))


@router.get(CUTS + ".pdf")
def hand_out_cuts(build_id: int, design_id: int, session: ReadSession, now: Now, paper: str = "") -> Response:
    return hand_out(service.cuts_pdf(session, build_id, design_id, now, paper), "application/pdf")
