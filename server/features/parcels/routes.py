"""Addresses of parcels, of what goes back, and of what will not come.

Each act is answered with the sheet that it was pressed on: the list of orders, or the order's own.
"""

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.builds.service import build_face
from server.features.orders.forms import withdrawn
from server.features.orders.page import OrderPage, OrdersPage, RefusedForm
from server.features.orders.routes import TellNews
from server.features.orders.service import TellNews as Tell
from server.features.orders.service import order_face, order_of_line, order_page, orders_page
from server.features.parcels import forms, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Made, Now

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


def _act_on_order(
    request: Request,
    session: WriteSession,
    build_id: int,
    order_id: int,
    now: datetime,
    tell: Tell,
    do: Callable[[], str],
    part: str = "",
    number: int | None = None,
) -> Response:
    """Carry out one act and show the sheet it was pressed on; `do` returns what that begins with.

    `part` and `number` say which form of the sheet it was.
    """
    on_list = request.state.posted.fields.get("back") == "orders"
    told = ""

    def go() -> str:
        nonlocal told
        told = do()
        sheet = urls.orders(build_id) if on_list else urls.order(build_id, order_id)
        return urls.telling(sheet, told)

    def page(refused: Refused | None) -> OrdersPage | OrderPage:
        news = tell(session, build_face(session, build_id), told, now)
        shown = RefusedForm(refused, number, part)
        if on_list:
            return orders_page(session, build_id, now, news, shown)
        return order_page(session, build_id, order_id, now, news, shown)

    return act(request, session, go, page)


@router.post("/builds/{build_id}/orders/{order_id}/parcels")
def note_parcel(
    request: Request,
    build_id: int,
    order_id: int,
    session: WriteSession,
    now: Now,
    made: Made,
    tell: TellNews,
) -> Response:
    """With `all` set: all that was still owed is here, and right."""
    typed = request.state.posted.fields

    def do() -> str:
        first = service.note_parcel(session, build_id, order_id, typed, made)
        return "" if first is None else f"parcel-{first}"

    return _act_on_order(request, session, build_id, order_id, now, tell, do, "parcel", order_id)


@router.post("/builds/{build_id}/orders/{order_id}/parcels/{delivery_id}/withdrawal")
def withdraw_parcel(
    request: Request,
    build_id: int,
    order_id: int,
    delivery_id: int,
    session: WriteSession,
    now: Now,
    tell: TellNews,
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        order_face(session, build_id, order_id)
        service.withdraw_parcel(session, build_id, delivery_id, withdrawn(typed), now)
        return f"parcel-{delivery_id}"

    return _act_on_order(request, session, build_id, order_id, now, tell, do, "act")


@router.post("/builds/{build_id}/order-lines/{line_id}/returns")
def send_back(
    request: Request, build_id: int, line_id: int, session: WriteSession, now: Now, tell: TellNews
) -> Response:
    typed = request.state.posted.fields
    order_id = order_of_line(session, build_id, line_id)

    def do() -> str:
        form = forms.sending_back(typed, now.date())
        return f"back-{service.send_back(session, build_id, line_id, form, typed, now)}"

    return _act_on_order(request, session, build_id, order_id, now, tell, do, "back", line_id)


@router.get("/builds/{build_id}/returns/{sent_id}")
def to_order_of_return(build_id: int, sent_id: int, session: ReadSession) -> Response:
    """Where a refused form about what went back leaves the address bar: loading it again shows the order."""
    order_id = service.order_of_return(session, build_id, sent_id)
    return RedirectResponse(urls.order(build_id, order_id), status_code=303)


@router.post("/builds/{build_id}/returns/{sent_id}/withdrawal")
def withdraw_return(
    request: Request, build_id: int, sent_id: int, session: WriteSession, now: Now, tell: TellNews
) -> Response:
    typed = request.state.posted.fields
    order_id = service.order_of_return(session, build_id, sent_id)

    def do() -> str:
        service.withdraw_return(session, build_id, sent_id, withdrawn(typed), now)
        return f"back-{sent_id}"

    return _act_on_order(request, session, build_id, order_id, now, tell, do, "act")


@router.post("/builds/{build_id}/returns/{sent_id}/refund")
def note_refund(
    request: Request, build_id: int, sent_id: int, session: WriteSession, now: Now, tell: TellNews
) -> Response:
    typed = request.state.posted.fields
    order_id = service.order_of_return(session, build_id, sent_id)

    def do() -> str:
        service.note_refund(session, build_id, sent_id, forms.refund(typed, now.date()))
        return f"refund-{sent_id}"

    return _act_on_order(request, session, build_id, order_id, now, tell, do, "refund", sent_id)


@router.post("/builds/{build_id}/returns/{sent_id}/refund/removal")
def no_refund(
    request: Request, build_id: int, sent_id: int, session: WriteSession, now: Now, tell: TellNews
) -> Response:
    order_id = service.order_of_return(session, build_id, sent_id)

    def do() -> str:
        service.no_refund(session, build_id, sent_id)
        return f"refund-{sent_id}"

    return _act_on_order(request, session, build_id, order_id, now, tell, do, "act")


@router.post("/builds/{build_id}/order-lines/{line_id}/calling-off")
def call_off(
    request: Request, build_id: int, line_id: int, session: WriteSession, now: Now, tell: TellNews
) -> Response:
    """`quantity` pieces will not come; with `withdrawn` set, all that was called off will come after all."""
    typed = request.state.posted.fields
    order_id = order_of_line(session, build_id, line_id)

    def do() -> str:
        if "withdrawn" in typed:
            service.expect_again(session, build_id, line_id)
        else:
            service.call_off(session, build_id, line_id, typed)
        return f"off-{line_id}"

    return _act_on_order(request, session, build_id, order_id, now, tell, do, "off", line_id)
