"""Addresses of splices of two salvaged pipes."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.splicing import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SPLICES = "/builds/{build_id}/subsystems/{subsystem_id}/splices"


@router.get(SPLICES)
def show_splices(
    request: Request, build_id: int, subsystem_id: int, session: ReadSession, now: Now
) -> Response:
    page, sound = service.splices_page(session, build_id, subsystem_id, now, dict(request.query_params))
    return render(request, page, status=200 if sound else 422)


@router.post(SPLICES)
def take_splice(
    request: Request, build_id: int, subsystem_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.design(build_id, service.take(session, build_id, subsystem_id, typed)),
        lambda refused: service.refused_page(session, build_id, subsystem_id, now, refused),
    )
