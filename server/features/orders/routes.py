"""Addresses of orders. A parcel has addresses of its own; a line's arrival is noted from the garage too."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.builds.service import build_face
from server.features.orders import forms, service
from server.features.orders.page import From, OrderPage, OrdersPage, RefusedForm
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


async def tell_news(request: Request) -> service.TellNews:
    tell: service.TellNews = request.app.state.news
    return tell


TellNews = Annotated[service.TellNews, Depends(tell_news)]


@router.get("/builds/{build_id}/orders")
def show_orders(
    request: Request,
    build_id: int,
    session: ReadSession,
    now: Now,
    tell: TellNews,
    told: str = "",
    coming: Annotated[int, Query(ge=0, le=100_000)] = 0,
    settled: Annotated[int, Query(ge=0, le=100_000)] = 0,
) -> Response:
    """`told` names what was just done; `coming` and `settled`: so many orders stand on sheets before this."""
    news = tell(session, build_face(session, build_id), told, now)
    start = From(coming, settled)
    return render(request, service.orders_page(session, build_id, now, news, told=told, start=start))


@router.post("/builds/{build_id}/orders")
def add_order(request: Request, build_id: int, session: WriteSession, now: Now, tell: TellNews) -> Response:
    typed = request.state.posted.fields
    told = ""

    def do() -> str:
        nonlocal told
        own = build_face(session, build_id).currency
        told = f"ordered-{service.add_order(session, build_id, forms.new_order(typed, now.date(), own))}"
        return urls.telling(urls.orders(build_id), told)

    def page(refused: Refused | None) -> OrdersPage:
        news = tell(session, build_face(session, build_id), told, now)
        return service.orders_page(session, build_id, now, news, refused=RefusedForm(refused))

    return act(request, session, do, page)


@router.get("/builds/{build_id}/orders/{order_id}")
def show_order(
    request: Request,
    build_id: int,
    order_id: int,
    session: ReadSession,
    now: Now,
    tell: TellNews,
    told: str = "",
) -> Response:
    news = tell(session, build_face(session, build_id), told, now)
    return render(request, service.order_page(session, build_id, order_id, now, news))


@router.post("/builds/{build_id}/orders/{order_id}")
def edit_order(request: Request, build_id: int, order_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_order(session, build_id, order_id, forms.order_edit(typed, now.date()), typed)
        return urls.order(build_id, order_id)

    def page(refused: Refused | None) -> OrderPage:
        return service.order_page(session, build_id, order_id, now, refused=RefusedForm(refused))

    return act(request, session, do, page)


@router.post("/builds/{build_id}/orders/{order_id}/removal")
def set_aside(request: Request, build_id: int, order_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    told = f"order-{order_id}"

    def do() -> str:
        service.set_aside(session, build_id, order_id, forms.withdrawn(typed), now)
        return urls.telling(urls.orders(build_id), told)

    def page(refused: Refused | None) -> OrdersPage:
        return service.orders_page(
            session, build_id, now, refused=RefusedForm(refused), told="" if refused else told
        )

    return act(request, session, do, page)


@router.post("/builds/{build_id}/orders/{order_id}/lines")
def add_line(request: Request, build_id: int, order_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        own = build_face(session, build_id).currency
        service.add_line(session, build_id, order_id, forms.line_form(typed, own))
        return urls.order(build_id, order_id)

    def page(refused: Refused | None) -> OrderPage:
        shown = RefusedForm(refused, part="new line")
        return service.order_page(session, build_id, order_id, now, refused=shown)

    return act(request, session, do, page)


@router.get("/builds/{build_id}/order-lines/{line_id}")
def to_order_of_line(build_id: int, line_id: int, session: ReadSession) -> Response:
    """Where a refused form about a line leaves the address bar: loading it again shows the order."""
    order_id = service.order_of_line(session, build_id, line_id)
    return RedirectResponse(urls.order(build_id, order_id), status_code=303)


@router.get("/builds/{build_id}/deliveries/{delivery_id}")
def to_order_of_delivery(build_id: int, delivery_id: int, session: ReadSession) -> Response:
    order_id = service.order_of_delivery(session, build_id, delivery_id)
    return RedirectResponse(urls.order(build_id, order_id), status_code=303)


@router.post("/builds/{build_id}/order-lines/{line_id}")
def edit_line(request: Request, build_id: int, line_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    order_id = service.order_of_line(session, build_id, line_id)

    def do() -> str:
        own = build_face(session, build_id).currency
        service.edit_line(session, build_id, line_id, forms.line_edit(typed, own), typed)
        return urls.order(build_id, order_id)

    def page(refused: Refused | None) -> OrderPage:
        shown = RefusedForm(refused, line_id)
        return service.order_page(session, build_id, order_id, now, refused=shown)

    return act(request, session, do, page)
