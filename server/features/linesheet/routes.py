"""Addresses of one line of the ledger."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.connecting import service as connecting
from server.features.linesheet import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Made, Now
from server.web.render import render
from server.web.with_photo import Sent

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
LINE = "/builds/{build_id}/lines/{line_id}"


@router.get(LINE)
def show_line(request: Request, build_id: int, line_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.line_page(session, build_id, line_id, now))


@router.post(LINE + "/out")
def take_out(
    request: Request, build_id: int, line_id: int, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> None:
        connecting.take_out(session, build_id, line_id, typed, now, actor)

    return act_on_line(request, session, now, (build_id, line_id), do)


@router.post(LINE + "/in")
def put_in(
    request: Request, build_id: int, line_id: int, session: WriteSession, now: Now, actor: Actor
) -> Response:
    def do() -> None:
        connecting.put_in(session, build_id, line_id, now, actor)

    return act_on_line(request, session, now, (build_id, line_id), do)


@router.post(LINE + "/joined")
def join_again(
    request: Request,
    build_id: int,
    line_id: int,
    session: WriteSession,
    now: Now,
    made: Made,
    actor: Actor,
) -> Response:
    def do() -> None:
        connecting.join_again(session, build_id, line_id, made, actor)

    return act_on_line(request, session, now, (build_id, line_id), do)


@router.post(LINE + "/photos")
def add_photo(
    request: Request,
    build_id: int,
    line_id: int,
    session: WriteSession,
    now: Now,
    sent: Sent,
) -> Response:
    def do() -> None:
        service.add_photo(session, (build_id, line_id), sent)

    return act_on_line(request, session, now, (build_id, line_id), do)


def act_on_line(
    request: Request, session: WriteSession, now: Now, ids: tuple[int, int], do: Callable[[], None]
) -> Response:
    """Carry out one intention about a line, then show it. ids: of build and line."""

    def done() -> str:
        do()
        return urls.ledger.may_go(*ids)

    return act(request, session, done, lambda refused: service.line_page(session, *ids, now, refused))
