"""Addresses of the comparison of designs."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.compare import service
from server.features.designing import service as designing
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
COMPARE = "/builds/{build_id}/subsystems/{subsystem_id}/compare"


@router.get(COMPARE)
def show_compare(
    request: Request, build_id: int, subsystem_id: int, session: ReadSession, now: Now, told: str = ""
) -> Response:
    return render(request, service.compare_page(session, build_id, subsystem_id, now, told=told))


@router.post(COMPARE + "/{design_id}")
def choose(
    request: Request, build_id: int, subsystem_id: int, design_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.check_belongs(session, build_id, subsystem_id, design_id)
        told = designing.choose(session, build_id, design_id, typed, now)
        return urls.telling(urls.compare(build_id, subsystem_id), told)

    return act(
        request,
        session,
        do,
        lambda refused: service.compare_page(session, build_id, subsystem_id, now, refused, design_id),
    )
