"""Addresses of a piece that is cut long and trimmed."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.trimming import service
from server.features.trimming.page import address
from server.once import OnceRoute, act
from server.web.clock import Actor, Made, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
PIECE = "/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/trims"
ONE = PIECE + "/{trim_id}"


@router.get(PIECE)
def show_trims(
    request: Request, build_id: int, design_id: int, piece_id: int, session: ReadSession, now: Now
) -> Response:
    return render(request, service.trim_page(session, build_id, design_id, piece_id, now))


def act_on_piece(
    request: Request, session: WriteSession, now: Now, ids: tuple[int, int, int], do: Callable[[], object]
) -> Response:
    """Carry out one intention, then show the piece; where it is refused, the form again."""

    def done() -> str:
        do()
        return address(*ids)

    return act(request, session, done, lambda refused: service.trim_page(session, *ids, now, refused))


@router.post(PIECE)
def offer_up(
    request: Request,
    build_id: int,
    design_id: int,
    piece_id: int,
    session: WriteSession,
    now: Now,
    made: Made,
    by: Actor,
) -> Response:
    typed, ids = request.state.posted.fields, (build_id, design_id, piece_id)
    return act_on_piece(request, session, now, ids, lambda: service.offer_up(session, ids, typed, made, by))


@router.post(PIECE + "/rest")
def keep_rest(
    request: Request, build_id: int, design_id: int, piece_id: int, session: WriteSession, now: Now
) -> Response:
    typed, ids = request.state.posted.fields, (build_id, design_id, piece_id)
    return act_on_piece(request, session, now, ids, lambda: service.keep_rest(session, ids, typed, now))


@router.post(ONE)
def take_off(
    request: Request,
    build_id: int,
    design_id: int,
    piece_id: int,
    trim_id: int,
    session: WriteSession,
    now: Now,
    by: Actor,
) -> Response:
    typed, ids = request.state.posted.fields, (build_id, design_id, piece_id)
    return act_on_piece(
        request, session, now, ids, lambda: service.take_off(session, ids, trim_id, typed, by)
    )


@router.post(ONE + "/withdrawal")
def withdraw(
    request: Request,
    build_id: int,
    design_id: int,
    piece_id: int,
    trim_id: int,
    session: WriteSession,
    now: Now,
) -> Response:
    ids = (build_id, design_id, piece_id)
    return act_on_piece(request, session, now, ids, lambda: service.withdraw(session, ids, trim_id, now))


@router.post(ONE + "/return")
def put_back(
    request: Request,
    build_id: int,
    design_id: int,
    piece_id: int,
    trim_id: int,
    session: WriteSession,
    now: Now,
) -> Response:
    ids = (build_id, design_id, piece_id)
    return act_on_piece(request, session, now, ids, lambda: service.withdraw(session, ids, trim_id, None))
