"""Addresses of two photos side by side, and of the photos of a design."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.beside import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.handout import hand_out
from server.web.render import render
from server.web.with_photo import Sent

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
PHOTOS = "/builds/{build_id}/designs/{design_id}/photos"
Number = Annotated[int, Query(ge=0, le=2**62)]


@router.get("/builds/{build_id}/side-by-side")
def show_two(
    request: Request, build_id: int, session: ReadSession, now: Now, first: Number = 0, second: Number = 0
) -> Response:
    return render(request, service.two_page(session, build_id, first, second, now))


@router.get("/builds/{build_id}/side-by-side.pdf")
def hand_out_two(
    request: Request, build_id: int, session: ReadSession, now: Now, first: Number, second: Number
) -> Response:
    folder = request.app.state.settings.photos
    return hand_out(service.two_pdf(session, folder, build_id, first, second, now), "application/pdf")


@router.get("/builds/{build_id}/pieces/{piece_id}")
def to_photos_of_piece(build_id: int, piece_id: int, session: ReadSession) -> Response:
    design_id = service.to_design_of_piece(session, build_id, piece_id)
    return RedirectResponse(urls.beside.design_photos(build_id, design_id), status_code=303)


@router.get(PHOTOS)
def show_design_photos(
    request: Request, build_id: int, design_id: int, session: ReadSession, now: Now
) -> Response:
    return render(request, service.design_photos_page(session, build_id, design_id, now))


@router.post(PHOTOS)
def add_photo(
    request: Request,
    build_id: int,
    design_id: int,
    session: WriteSession,
    now: Now,
    sent: Sent,
) -> Response:
    def do() -> str:
        service.add_photo(session, (build_id, design_id), sent)
        return urls.beside.design_photos(build_id, design_id)

    return act(
        request,
        session,
        do,
        lambda refused: service.design_photos_page(session, build_id, design_id, now, refused),
    )
