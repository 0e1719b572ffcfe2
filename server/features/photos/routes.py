"""Addresses of photos: the picture, its sheet, and setting it aside. What it shows takes new ones."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.photos import forms, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.handout import picture
from server.web.render import render
from server.web.with_photo import Sent

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
PHOTO = "/builds/{build_id}/photos/{photo_id}"


@router.get(PHOTO)
def show_picture(
    request: Request, build_id: int, photo_id: int, session: ReadSession, small: bool = False
) -> Response:
    """The picture itself."""
    folder = request.app.state.settings.photos
    content, digest = service.content(session, folder, build_id, photo_id, small)
    return picture(request, photo_id, content, digest)


@router.get(PHOTO + "/original")
def show_original(request: Request, build_id: int, photo_id: int, session: ReadSession) -> Response:
    """The picture at its full size, where it was kept."""
    folder = request.app.state.settings.photos
    return picture(request, photo_id, *service.original(session, folder, build_id, photo_id), "original")


@router.get(PHOTO + "/sheet")
def show_photo(request: Request, build_id: int, photo_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.photo_page(session, build_id, photo_id, now))


@router.get(PHOTO + "/marks")
def show_marks(request: Request, build_id: int, photo_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.marks_page(session, build_id, photo_id, now))


@router.post(PHOTO + "/marks")
def add_marked(
    request: Request, build_id: int, photo_id: int, session: WriteSession, now: Now, sent: Sent
) -> Response:

    def do() -> str:
        number = service.add_marked(session, build_id, photo_id, sent)
        return urls.photo_sheet(build_id, number)

    return act(
        request, session, do, lambda refused: service.marks_page(session, build_id, photo_id, now, refused)
    )


@router.post(PHOTO + "/withdrawal")
def withdraw_photo(
    request: Request, build_id: int, photo_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.set_withdrawn(session, build_id, photo_id, forms.withdrawn(typed), now)
        return urls.photo_sheet(build_id, photo_id)

    return act(request, session, do, lambda _: service.photo_page(session, build_id, photo_id, now))
