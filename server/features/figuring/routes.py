"""Addresses of the sheets of what is fitted."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.figuring import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SHEET = "/builds/{build_id}/subsystems/{subsystem_id}/figures"


@router.get("/builds/{build_id}/figures/{key}")
def to_sheet(build_id: int, key: str, session: ReadSession) -> Response:
    """Where a check leads to that misses a figure."""
    return RedirectResponse(service.sheet_with(session, build_id, key), status_code=303)


@router.get(SHEET)
def show_figures(
    request: Request, build_id: int, subsystem_id: int, session: ReadSession, now: Now
) -> Response:
    return render(request, service.figures_page(session, build_id, subsystem_id, now))


@router.post(SHEET)
def save_figures(
    request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.save_figures(session, build_id, subsystem_id, typed, now, actor)
        return urls.figures(build_id, subsystem_id)

    return act(
        request,
        session,
        do,
        lambda refused: service.figures_page(session, build_id, subsystem_id, now, refused),
    )


@router.post(SHEET + "/concessions")
def concede(
    request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.concede(session, build_id, subsystem_id, typed, now, actor)
        return urls.figures(build_id, subsystem_id) + "#checks"

    return act(
        request,
        session,
        do,
        lambda refused: service.figures_page(
            session, build_id, subsystem_id, now, refused, typed.get("rule", "")
        ),
    )
