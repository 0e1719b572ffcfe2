"""Addresses of the shelf."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.parts.forms import ask, shelf_form
from server.features.parts.routes import Above
from server.features.parts.service import count_shelf
from server.features.shelf import forms, service
from server.features.shelf.page import RefusedForm, ShelfPage
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/shelf")
def show_shelf(
    request: Request, build_id: int, session: ReadSession, now: Now, above: Above, told: str = ""
) -> Response:
    """`name` and `from` say which parts are shown; `told` what was just done."""
    asked = ask(request.query_params)
    return render(request, service.shelf_page(session, build_id, now, above, asked, told))


@router.post("/builds/{build_id}/shelf/{part_id}")
def count(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    """One piece more or less, or the number that was counted."""
    typed = request.state.posted.fields
    asked = ask(typed)

    def do() -> str:
        count_shelf(session, build_id, part_id, shelf_form(typed), above.supplies, now.date())
        return urls.part_list(urls.shelf(build_id), asked.name, "", asked.start)

    def page(refused: Refused | None) -> ShelfPage:
        shown = RefusedForm(refused, part_id if refused else 0)
        return service.shelf_page(session, build_id, now, above, asked, refused=shown)

    return act(request, session, do, page)


@router.get("/builds/{build_id}/off-cuts")
def to_shelf(build_id: int) -> Response:
    """Where a refused off-cut leaves the address bar: loading it again shows the shelf."""
    return RedirectResponse(urls.shelf(build_id), status_code=303)


@router.post("/builds/{build_id}/off-cuts")
def put_off_cut(request: Request, build_id: int, session: WriteSession, now: Now, above: Above) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        form = forms.off_cut(typed, service.part_names(session, build_id))
        return urls.telling(urls.shelf(build_id), f"cut-{service.put_off_cut(session, form, now)}")

    def page(refused: Refused | None) -> ShelfPage:
        return service.shelf_page(session, build_id, now, above, refused=RefusedForm(refused))

    return act(request, session, do, page)


@router.post("/builds/{build_id}/off-cuts/{off_cut_id}/use")
def use_up(
    request: Request, build_id: int, off_cut_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    """Used up, or there after all."""
    typed = request.state.posted.fields

    def do() -> str:
        service.use_up(session, build_id, off_cut_id, forms.used_up(typed), now)
        return urls.telling(urls.shelf(build_id), f"cut-{off_cut_id}")

    def page(refused: Refused | None) -> ShelfPage:
        return service.shelf_page(session, build_id, now, above, refused=RefusedForm(refused))

    return act(request, session, do, page)
