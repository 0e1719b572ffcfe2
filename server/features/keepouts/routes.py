"""Addresses of keep-outs."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.keepouts import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SHEET = "/builds/{build_id}/keep-outs"
ONE = SHEET + "/{keep_out_id}"


@router.get(SHEET)
def show_keep_outs(
    request: Request, build_id: int, session: ReadSession, now: Now, edit: str = "", shape: str = ""
) -> Response:
    wanted = int(edit) if edit.isascii() and edit.isdigit() and len(edit) < 12 else None
    return render(request, service.keep_outs_page(session, build_id, now, wanted, shape))


def act_on_sheet(
    request: Request,
    session: WriteSession,
    now: Now,
    build_id: int,
    do: Callable[[], object],
    edit: int | None = None,
) -> Response:
    """Carry out one intention, then show the list; where it is refused, the form again."""

    def done() -> str:
        do()
        return urls.keep_outs(build_id)

    return act(
        request,
        session,
        done,
        lambda refused: service.keep_outs_page(session, build_id, now, edit, refused=refused),
    )


@router.post(SHEET)
def add_keep_out(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return act_on_sheet(
        request, session, now, build_id, lambda: service.add_keep_out(session, build_id, typed)
    )


@router.post(ONE)
def edit_keep_out(
    request: Request, build_id: int, keep_out_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    return act_on_sheet(
        request,
        session,
        now,
        build_id,
        lambda: service.edit_keep_out(session, build_id, keep_out_id, typed),
        keep_out_id,
    )


@router.post(ONE + "/removal")
def set_aside(request: Request, build_id: int, keep_out_id: int, session: WriteSession, now: Now) -> Response:
    return act_on_sheet(
        request, session, now, build_id, lambda: service.set_aside(session, build_id, keep_out_id, now)
    )


@router.post(ONE + "/return")
def put_back(request: Request, build_id: int, keep_out_id: int, session: WriteSession, now: Now) -> Response:
    return act_on_sheet(
        request, session, now, build_id, lambda: service.set_aside(session, build_id, keep_out_id, None)
    )
