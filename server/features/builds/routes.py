"""Addresses of builds."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.builds import forms, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.handout import still
from server.web.render import render
from server.web.whose import Asking

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/")
def home(session: ReadSession, now: Now, whose: Asking) -> Response:
    """One build: straight to its garage. None or several: the list."""
    builds = service.builds_page(session, now, whose).builds
    where = builds[0].href if len(builds) == 1 else urls.builds()
    return RedirectResponse(where, status_code=303)


@router.get("/builds")
def show_builds(request: Request, session: ReadSession, now: Now, whose: Asking) -> Response:
    return render(request, service.builds_page(session, now, whose))


@router.post("/builds")
def add_build(request: Request, session: WriteSession, now: Now, whose: Asking) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.start(service.create_build(session, forms.build_form(typed), now, whose)),
        lambda refused: service.builds_page(session, now, whose, refused),
    )


@router.get("/builds/{build_id}/revision")
def show_revision(build_id: int, session: ReadSession) -> Response:
    """What an open page asks to learn whether it is out of date."""
    return still(service.revision_of(service.build_face(session, build_id)))


@router.get("/builds/{build_id}")
def show_build(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.build_page(session, build_id, now))


@router.post("/builds/{build_id}")
def edit_build(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_build(session, build_id, forms.build_edit(typed), typed)
        return urls.build(build_id)

    return act(request, session, do, lambda refused: service.build_page(session, build_id, now, refused))
