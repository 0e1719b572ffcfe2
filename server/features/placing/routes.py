"""Addresses of where ports are."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.placing import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Made, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
PLACE = "/builds/{build_id}/ports/{port_id}/place"


@router.get("/builds/{build_id}/places")
def show_places(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.places_page(session, build_id, now))


@router.post("/builds/{build_id}/places")
def say_datum(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.say_datum(session, build_id, typed)
        return urls.places(build_id)

    return act(request, session, do, lambda refused: service.places_page(session, build_id, now, refused))


@router.get(PLACE)
def show_place(
    request: Request,
    build_id: int,
    port_id: int,
    session: ReadSession,
    now: Now,
    way: str = "",
    told: str = "",
) -> Response:
    return render(request, service.place_page(session, build_id, port_id, now, way, told=told))


@router.post(PLACE)
def add_reading(
    request: Request, build_id: int, port_id: int, session: WriteSession, now: Now, made: Made, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        number = service.add_reading(session, build_id, port_id, typed, made, actor)
        return urls.telling(urls.place(build_id, port_id), f"reading-{number}")

    return act(
        request,
        session,
        do,
        lambda refused: service.place_page(session, build_id, port_id, now, refused=refused),
    )


@router.post(PLACE + "/{reading_id}/withdrawal")
def withdraw_reading(
    request: Request, build_id: int, port_id: int, reading_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.withdraw_reading(session, build_id, port_id, reading_id, typed, now)
        return urls.telling(urls.place(build_id, port_id), f"reading-{reading_id}")

    return act(
        request,
        session,
        do,
        lambda refused: service.place_page(session, build_id, port_id, now, refused=refused),
    )
