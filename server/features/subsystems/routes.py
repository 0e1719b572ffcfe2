"""Addresses of subsystems."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.designs import service as designs
from server.features.subsystems import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SUBSYSTEMS = "/builds/{build_id}/subsystems"


@router.get(SUBSYSTEMS)
def show_subsystems(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.subsystems_page(session, build_id, now))


@router.post(SUBSYSTEMS)
def add_subsystem(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.subsystem(build_id, service.add_subsystem(session, build_id, typed)),
        lambda refused: service.subsystems_page(session, build_id, now, refused),
    )


@router.get(SUBSYSTEMS + "/{subsystem_id}")
def show_subsystem(
    request: Request, build_id: int, subsystem_id: int, session: ReadSession, now: Now
) -> Response:
    return render(request, service.subsystem_page(session, build_id, subsystem_id, now))


@router.post(SUBSYSTEMS + "/{subsystem_id}/designs")
def add_design(
    request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.design(build_id, designs.add_design(session, build_id, subsystem_id, typed)),
        lambda refused: service.subsystem_page(session, build_id, subsystem_id, now, refused),
    )
