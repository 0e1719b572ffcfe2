"""Addresses of parts."""

from collections.abc import Callable
from datetime import datetime
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.parts import forms, service
from server.features.parts.page import FIRST_SHOWN, PartPage, RefusedForm
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render
from server.web.view import Page

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


async def _above(request: Request) -> service.Above:
    return service.Above(request.app.state.supplies, request.app.state.titles)


Above = Annotated[service.Above, Depends(_above)]


def act_on_part(
    request: Request,
    session: WriteSession,
    build_id: int,
    part_id: int,
    now: datetime,
    above: service.Above,
    do: Callable[[], str],
    form: str,
    number: int = 0,
) -> Response:
    """Carry out one act on the part's sheet; `form` and `number` name the form that it was sent from."""

    def page(refused: Refused | None) -> PartPage:
        shown = RefusedForm(refused, form, number) if refused else FIRST_SHOWN
        return service.part_page(session, build_id, part_id, now, above, "", shown)

    return act(request, session, do, page)


@router.get("/builds/{build_id}/parts")
def show_parts(
    request: Request, build_id: int, session: ReadSession, now: Now, above: Above, told: str = ""
) -> Response:
    """`name`, `kind` and `from` say which are shown; `told` what was just done."""
    ask = forms.ask(request.query_params)
    return render(request, service.parts_page(session, build_id, now, above, ask, told))


@router.post("/builds/{build_id}/parts")
def add_part(request: Request, build_id: int, session: WriteSession, now: Now, above: Above) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_part(session, build_id, forms.new_part(typed), typed)
        return urls.parts(build_id)

    return act(
        request,
        session,
        do,
        lambda refused: service.parts_page(session, build_id, now, above, refused=refused),
    )


@router.get("/builds/{build_id}/parts/{part_id}")
def show_part(
    request: Request,
    build_id: int,
    part_id: int,
    session: ReadSession,
    now: Now,
    above: Above,
    told: str = "",
) -> Response:
    return render(request, service.part_page(session, build_id, part_id, now, above, told))


@router.post("/builds/{build_id}/parts/{part_id}")
def edit_part(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_part(session, build_id, part_id, forms.part_edit(typed), typed)
        return urls.part(build_id, part_id)

    return act_on_part(request, session, build_id, part_id, now, above, do, "part")


@router.post("/builds/{build_id}/parts/{part_id}/tried")
def set_tried(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    """How a borrowed part went on."""
    typed = request.state.posted.fields

    def do() -> str:
        service.set_tried(session, build_id, part_id, forms.tried_form(typed))
        return urls.telling(urls.part(build_id, part_id), f"tried-{part_id}")

    return act_on_part(request, session, build_id, part_id, now, above, do, "act")


@router.post("/builds/{build_id}/parts/{part_id}/removal")
def set_aside(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    """Set aside, or put back."""
    typed = request.state.posted.fields

    def do() -> str:
        aside = forms.set_aside(typed)
        service.set_aside(session, build_id, part_id, aside, above, now)
        return urls.telling(
            urls.parts(build_id) if aside else urls.part(build_id, part_id), f"part-{part_id}"
        )

    return act_on_part(request, session, build_id, part_id, now, above, do, "act")


@router.post("/builds/{build_id}/parts/{part_id}/shelf")
def count_shelf(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    """One more or one less from the list; a whole count from the part's own page."""
    typed = request.state.posted.fields
    ask = forms.ask(typed)

    def do() -> str:
        form = forms.shelf_form(typed)
        service.count_shelf(session, build_id, part_id, form, above.supplies, now.date())
        return urls.part_list(urls.parts(build_id), ask.name, ask.kind, ask.start)

    def count() -> str:
        do()
        return urls.part(build_id, part_id)

    if "change" not in typed:
        return act_on_part(request, session, build_id, part_id, now, above, count, "count")

    def page(refused: Refused | None) -> Page:
        return service.parts_page(session, build_id, now, above, ask, refused=refused)

    return act(request, session, do, page)
