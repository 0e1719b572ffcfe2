"""Addresses of the starting set."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.starting import forms, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/start")
def show_start(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.start_page(session, build_id, request.query_params, now))


@router.post("/builds/{build_id}/start")
def add_ticked(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    """With `suit` set nothing is added: the offer is shown again, ticked to suit the answers."""
    typed = request.state.posted.fields

    def do() -> str:
        if "suit" in typed:
            return urls.start_suiting(build_id, forms.answers(typed))
        added = service.add(session, build_id, typed)
        told = (added.left_out, added.put_in)
        return urls.started(build_id, added.subsystems, added.ports, added.tasks, *told)

    return act(
        request, session, do, lambda refused: service.start_page(session, build_id, typed, now, refused)
    )
