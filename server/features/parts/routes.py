"""Addresses of parts."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.parts import forms, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render
from server.web.view import Page

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


async def _supplies(request: Request) -> service.Supplies:
    supplies: service.Supplies = request.app.state.supplies
    return supplies


Supplies = Annotated[service.Supplies, Depends(_supplies)]


@router.get("/builds/{build_id}/parts")
def show_parts(
    request: Request, build_id: int, session: ReadSession, now: Now, supplies: Supplies
) -> Response:
    return render(request, service.parts_page(session, build_id, now, supplies))


@router.post("/builds/{build_id}/parts")
def add_part(
    request: Request, build_id: int, session: WriteSession, now: Now, supplies: Supplies
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_part(session, build_id, forms.new_part(typed))
        return urls.parts(build_id)

    return act(
        request, session, do, lambda refused: service.parts_page(session, build_id, now, supplies, refused)
    )


@router.get("/builds/{build_id}/parts/{part_id}")
def show_part(
    request: Request, build_id: int, part_id: int, session: ReadSession, now: Now, supplies: Supplies
) -> Response:
    return render(request, service.part_page(session, build_id, part_id, now, supplies))


@router.post("/builds/{build_id}/parts/{part_id}")
def edit_part(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, supplies: Supplies
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_part(session, build_id, part_id, forms.part_edit(typed), typed)
        return urls.part(build_id, part_id)

    return act(
        request,
        session,
        do,
        lambda refused: service.part_page(session, build_id, part_id, now, supplies, refused),
    )


@router.post("/builds/{build_id}/parts/{part_id}/shelf")
def count_shelf(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, supplies: Supplies
) -> Response:
    """One more or one less from the list; a whole count from the part's own page."""
    typed = request.state.posted.fields
    from_list = "change" in typed

    def do() -> str:
        form = forms.shelf_form(typed)
        service.count_shelf(session, build_id, part_id, form, supplies, now.date())
        return urls.parts(build_id) if from_list else urls.part(build_id, part_id)

    def page(refused: Refused | None) -> Page:
        if from_list:
            return service.parts_page(session, build_id, now, supplies, refused)
        return service.part_page(session, build_id, part_id, now, supplies, refused)

    return act(request, session, do, page)
