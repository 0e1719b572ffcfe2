"""Addresses of the shopping list and of the orders that are placed from it."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.order_sheet.page import OrderSheetPage
from server.features.shopping import service
from server.features.shopping.page import At, ShoppingPage
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


def place(text: str) -> int:
    """How far down a long list an address asks; anything else asks for its beginning."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0


@router.get("/builds/{build_id}/shopping")
def show_list(
    request: Request,
    build_id: int,
    session: ReadSession,
    now: Now,
    unoffered: str = "",
    made: str = "",
    waiting: str = "",
    supplier: str = "",
) -> Response:
    at = At(place(unoffered), place(made), place(waiting), supplier)
    return render(request, service.shopping_page(session, build_id, now, at))


@router.post("/builds/{build_id}/shopping/offers")
def note_offer(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    at = At(unoffered=place(typed.get("unoffered", "")))

    def do() -> str:
        return urls.shopping_naming(build_id, service.note_offer(session, build_id, typed, now))

    def page(refused: Refused | None) -> ShoppingPage:
        return service.shopping_page(session, build_id, now, at, refused, typed.get("key", ""))

    return act(request, session, do, page)


@router.post("/builds/{build_id}/shopping/spares")
def keep_spares(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.keep_spares(session, build_id, typed)
        return urls.shopping(build_id)

    def page(refused: Refused | None) -> ShoppingPage:
        return service.shopping_page(session, build_id, now, At(), refused, typed.get("key", ""))

    return act(request, session, do, page)


@router.post("/builds/{build_id}/shopping/same")
def merge(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.merge(session, build_id, typed)
        return f"{urls.shopping(build_id)}#one-part"

    def page(refused: Refused | None) -> ShoppingPage:
        return service.shopping_page(session, build_id, now, At(), refused)

    return act(request, session, do, page)


@router.get("/builds/{build_id}/shopping/suppliers/{supplier_id}")
def show_order_sheet(
    request: Request, build_id: int, supplier_id: int, session: ReadSession, now: Now
) -> Response:
    return render(request, service.order_sheet(session, build_id, supplier_id, now))


@router.post("/builds/{build_id}/shopping/suppliers/{supplier_id}")
def place_order(
    request: Request, build_id: int, supplier_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        order_id = service.order_from_list(session, build_id, supplier_id, typed, now)
        return urls.telling(urls.order(build_id, order_id), f"ordered-{order_id}")

    def page(refused: Refused | None) -> OrderSheetPage:
        return service.order_sheet(session, build_id, supplier_id, now, refused)

    return act(request, session, do, page)
