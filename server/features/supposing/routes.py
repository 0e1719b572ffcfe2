"""Addresses of what is supposed, and of what late orders do to the dates."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.supposing import service
from server.once import OnceRoute
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/suppose")
def show_suppose(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    page, status = service.suppose_page(session, build_id, request.query_params, now)
    return render(request, page, status)


@router.get("/builds/{build_id}/late")
def show_late(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.late_page(session, build_id, now))
