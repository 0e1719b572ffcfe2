"""Addresses of the garage, and of the acts that other sheets carry too: a task's state, what arrived.

Each act is answered with the sheet that it was pressed on.
"""

from collections.abc import Callable
from datetime import datetime

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.garage import forms, service
from server.features.orders import forms as order_forms
from server.features.orders import service as orders
from server.features.work import forms as work_forms
from server.features.work import service as work
from server.once import OnceRoute, act
from server.web.clock import Actor, Made, Now
from server.web.render import render
from server.web.view import Page

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/garage")
def show_garage(request: Request, build_id: int, session: ReadSession, now: Now, told: str = "") -> Response:
    return render(request, service.garage_page(session, build_id, now, told))


@router.get("/builds/{build_id}/at-hand")
def list_at_hand(build_id: int, session: ReadSession, now: Now) -> Response:
    """What a phone keeps before anybody asks for it."""
    found = service.at_hand(session, build_id, now)
    told = {"revision": found.revision, "pages": found.pages}
    return JSONResponse(told, headers={"Cache-Control": "no-store"})


def _act_from_sheet(
    request: Request,
    session: WriteSession,
    build_id: int,
    now: datetime,
    do: Callable[[], str],
    *,
    task_id: int | None = None,
    line_id: int | None = None,
) -> Response:
    """Carry out one act and show again the sheet it was pressed on; `do` returns what that begins with."""
    sheet = forms.pressed_on(request.state.posted.fields)
    asked = forms.asked_on(request.state.posted.fields)
    told = ""

    def go() -> str:
        nonlocal told
        told = do()
        return service.sheet_address(sheet, build_id, task_id, told, asked)

    def page(refused: Refused | None) -> Page:
        return service.sheet_page(
            session, sheet, build_id, now, told, refused, task_id=task_id, line_id=line_id, asked=asked
        )

    return act(request, session, go, page)


@router.post("/builds/{build_id}/tasks/{task_id}/state")
def set_state(
    request: Request,
    build_id: int,
    task_id: int,
    session: WriteSession,
    now: Now,
    made: Made,
    actor: Actor,
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        state, seen_open = work_forms.task_state(typed), work_forms.seen_open(typed)
        done = work.set_state(session, build_id, task_id, state, made, actor, seen_open=seen_open)
        return f"task-{task_id}" if done else f"done-{task_id}"

    return _act_from_sheet(request, session, build_id, now, do, task_id=task_id)


@router.post("/builds/{build_id}/order-lines/{line_id}/deliveries")
def deliver(
    request: Request, build_id: int, line_id: int, session: WriteSession, now: Now, made: Made
) -> Response:
    """An empty form means: all that was still owed is here, and right."""
    typed = request.state.posted.fields

    def do() -> str:
        delivery = orders.deliver(session, build_id, line_id, order_forms.delivery_form(typed), made)
        return "" if delivery is None else f"delivery-{delivery}"

    return _act_from_sheet(request, session, build_id, now, do, line_id=line_id)


@router.post("/builds/{build_id}/deliveries/{delivery_id}/withdrawal")
def withdraw(request: Request, build_id: int, delivery_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        orders.withdraw(session, build_id, delivery_id, order_forms.withdrawn(typed), now)
        return f"delivery-{delivery_id}"

    return _act_from_sheet(request, session, build_id, now, do)
