"""The address of the plan."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.planning import service
from server.once import OnceRoute
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/plan")
def show_plan(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.shown_and_noted(request.app.state.engine, session, build_id, now))
