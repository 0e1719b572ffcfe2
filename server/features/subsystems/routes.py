"""Addresses of subsystems."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.builds import service as builds
from server.features.designing import service as designing
from server.features.subsystems import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SUBSYSTEMS = "/builds/{build_id}/subsystems"


@router.get(SUBSYSTEMS)
def show_subsystems(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    asked = request.query_params
    return render(
        request,
        service.subsystems_page(
            session,
            build_id,
            now,
            first=asked.get("from", ""),
            added=service.started(asked),
            wanted=asked.get("wanted", ""),
        ),
    )


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


@router.post(SUBSYSTEMS + "/{subsystem_id}")
def edit_subsystem(
    request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_subsystem(session, build_id, subsystem_id, typed)
        return urls.subsystem(build_id, subsystem_id)

    return act(
        request,
        session,
        do,
        lambda refused: service.subsystem_page(session, build_id, subsystem_id, now, editing=refused),
    )


@router.post(SUBSYSTEMS + "/{subsystem_id}/removal")
def set_aside(
    request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now
) -> Response:
    return _set_removed(request, build_id, subsystem_id, True, session, now)


@router.post(SUBSYSTEMS + "/{subsystem_id}/return")
def put_back(request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now) -> Response:
    return _set_removed(request, build_id, subsystem_id, False, session, now)


def _set_removed(
    request: Request, build_id: int, subsystem_id: int, removed: bool, session: WriteSession, now: Now
) -> Response:
    def do() -> str:
        builds.set_subsystem_removed(session, build_id, subsystem_id, removed, now)
        return urls.subsystem(build_id, subsystem_id)

    return act(
        request,
        session,
        do,
        lambda refused: service.subsystem_page(session, build_id, subsystem_id, now, refused),
    )


@router.post(SUBSYSTEMS + "/{subsystem_id}/designs")
def add_design(
    request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.design(build_id, designing.add_design(session, build_id, subsystem_id, typed)),
        lambda refused: service.subsystem_page(session, build_id, subsystem_id, now, refused),
    )
