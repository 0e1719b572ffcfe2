"""Addresses of ports and their readings."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.errors import Refused
from server.features.photos.service import attach
from server.features.ports import forms, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render
from server.web.view import Page
from server.web.with_photo import Sent

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/ports")
def show_ports(request: Request, build_id: int, session: ReadSession, now: Now, told: str = "") -> Response:
    start = forms.start_of(request.query_params)
    return render(request, service.ports_page(session, build_id, now, told=told, start=start))


@router.post("/builds/{build_id}/ports")
def add_port(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return act(
        request,
        session,
        lambda: urls.port(build_id, service.add_port(session, build_id, typed)),
        lambda refused: service.ports_page(session, build_id, now, refused),
    )


@router.get("/builds/{build_id}/ports/{port_id}")
def show_port(
    request: Request,
    build_id: int,
    port_id: int,
    session: ReadSession,
    now: Now,
    measure: str = "",
    told: str = "",
) -> Response:
    return render(request, service.port_page(session, build_id, port_id, now, measure, told=told))


@router.post("/builds/{build_id}/ports/{port_id}")
def edit_port(request: Request, build_id: int, port_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_port(session, build_id, port_id, typed)
        return urls.telling(urls.port(build_id, port_id), "port")

    return act(
        request,
        session,
        do,
        lambda refused: service.port_page(session, build_id, port_id, now, editing=refused),
    )


@router.get("/builds/{build_id}/ports/{port_id}/readings")
def to_port(build_id: int, port_id: int) -> Response:
    """Where a refused reading leaves the address bar: loading it again shows the port."""
    return RedirectResponse(urls.port(build_id, port_id), status_code=303)


@router.post("/builds/{build_id}/ports/{port_id}/readings")
def add_reading(
    request: Request, build_id: int, port_id: int, session: WriteSession, now: Now, sent: Sent
) -> Response:

    def do() -> str:
        reading_id = service.add_reading(session, build_id, port_id, sent.typed, sent.made, sent.actor)
        attach(session, build_id, ("reading", reading_id), sent)
        return urls.telling(urls.port(build_id, port_id), f"reading-{reading_id}")

    return act(
        request,
        session,
        do,
        lambda refused: service.port_page(session, build_id, port_id, now, taking=refused),
    )


@router.get("/builds/{build_id}/readings/{reading_id}")
def to_port_of_reading(build_id: int, reading_id: int, session: ReadSession) -> Response:
    port_id = service.port_of_reading(session, build_id, reading_id)
    return RedirectResponse(urls.port(build_id, port_id), status_code=303)


@router.post("/builds/{build_id}/ports/{port_id}/readings/{reading_id}/withdrawal")
def withdraw_reading(
    request: Request, build_id: int, port_id: int, reading_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.withdraw_reading(session, build_id, port_id, reading_id, typed, now)
        return urls.telling(urls.port(build_id, port_id), f"reading-{reading_id}")

    return act(
        request,
        session,
        do,
        lambda refused: service.port_page(session, build_id, port_id, now, taking=refused),
    )


@router.get("/builds/{build_id}/ports/{port_id}/photos")
@router.get("/builds/{build_id}/ports/{port_id}/removal")
def back_to_port(build_id: int, port_id: int) -> Response:
    """Where a refused photo leaves the address bar: loading it again shows the port."""
    return RedirectResponse(urls.port(build_id, port_id), status_code=303)


@router.post("/builds/{build_id}/ports/{port_id}/photos")
def add_photo(
    request: Request, build_id: int, port_id: int, session: WriteSession, now: Now, sent: Sent
) -> Response:

    def do() -> str:
        service.add_photo(session, build_id, port_id, sent)
        return urls.telling(urls.port(build_id, port_id), "photo")

    return act(
        request,
        session,
        do,
        lambda refused: service.port_page(session, build_id, port_id, now, picturing=refused),
    )


@router.post("/builds/{build_id}/ports/{port_id}/removal")
def set_port_aside(
    request: Request, build_id: int, port_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    resting = request.app.state.resting_on_port

    def do() -> str:
        service.set_removed(session, build_id, port_id, forms.removal(typed), resting, now)
        return urls.telling(urls.ports(build_id), f"port-{port_id}")

    def page(refused: Refused | None) -> Page:
        if refused is None:
            return service.ports_page(session, build_id, now, told=f"port-{port_id}")
        return service.port_page(session, build_id, port_id, now, placing=refused)

    return act(request, session, do, page)
