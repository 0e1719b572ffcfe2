"""Addresses of the log."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.log import forms, service
from server.features.photos.service import attach
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render
from server.web.view import Page
from server.web.with_photo import Sent

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/log")
def show_log(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.log_page(session, build_id, request.query_params, now))


@router.post("/builds/{build_id}/log")
def add_note(request: Request, build_id: int, session: WriteSession, now: Now, sent: Sent) -> Response:

    def do() -> str:
        note_id = service.add_note(session, build_id, sent.typed, sent.made, sent.actor)
        attach(session, build_id, ("log", note_id), sent)
        return urls.log(build_id)

    return act(request, session, do, lambda refused: service.log_page(session, build_id, {}, now, refused))


@router.get("/builds/{build_id}/log/{note_id}")
def show_note(request: Request, build_id: int, note_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.note_page(session, build_id, note_id, now))


@router.get("/builds/{build_id}/log/{note_id}/photos")
def back_to_note(build_id: int, note_id: int) -> Response:
    """Where a refused photo leaves the address bar: loading it again shows the note."""
    return RedirectResponse(urls.note(build_id, note_id), status_code=303)


@router.post("/builds/{build_id}/log/{note_id}/photos")
def add_photo(
    request: Request, build_id: int, note_id: int, session: WriteSession, now: Now, sent: Sent
) -> Response:

    def do() -> str:
        service.add_photo(session, build_id, note_id, sent)
        return urls.note(build_id, note_id)

    return act(
        request, session, do, lambda refused: service.note_page(session, build_id, note_id, now, refused)
    )


@router.post("/builds/{build_id}/log/{note_id}/withdrawal")
def withdraw_note(request: Request, build_id: int, note_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    told = f"note-{note_id}"

    def do() -> str:
        service.set_withdrawn(session, build_id, note_id, forms.withdrawn(typed), now)
        return urls.telling(urls.log(build_id), told)

    def page(refused: Refused | None) -> Page:
        return service.log_page(session, build_id, {} if refused else {"told": told}, now)

    return act(request, session, do, page)
