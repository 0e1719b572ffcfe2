"""Addresses of what stands near a run."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.neighbouring import service
from server.features.neighbouring.page import address
from server.once import OnceRoute, act
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SHEET = "/builds/{build_id}/designs/{design_id}/neighbours"
ONE = SHEET + "/{neighbour_id}"


@router.get("/builds/{build_id}/neighbours/{neighbour_id}")
def to_sheet(build_id: int, neighbour_id: int, session: ReadSession) -> Response:
    """Where a check leads to that rests on a neighbour."""
    return RedirectResponse(service.sheet_with(session, build_id, neighbour_id), status_code=303)


@router.get(SHEET)
def show_neighbours(
    request: Request, build_id: int, design_id: int, session: ReadSession, now: Now, edit: str = ""
) -> Response:
    wanted = int(edit) if edit.isascii() and edit.isdigit() and len(edit) < 12 else None
    return render(request, service.neighbours_page(session, build_id, design_id, now, wanted))


def act_on_sheet(
    request: Request,
    session: WriteSession,
    now: Now,
    ids: tuple[int, int],
    do: Callable[[], object],
    edit: int | None = None,
) -> Response:
    """Carry out one intention, then show the list; where it is refused, the form again."""

    def done() -> str:
        do()
        return address(*ids)

    return act(
        request,
        session,
        done,
        lambda refused: service.neighbours_page(session, *ids, now, edit, refused),
    )


@router.post(SHEET)
def add_neighbour(
    request: Request, build_id: int, design_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    ids = (build_id, design_id)
    return act_on_sheet(request, session, now, ids, lambda: service.add_neighbour(session, *ids, typed))


@router.post(SHEET + "/looked")
def say_looked_round(
    request: Request, build_id: int, design_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    ids = (build_id, design_id)
    return act_on_sheet(request, session, now, ids, lambda: service.say_looked_round(session, *ids, typed))


@router.post(ONE)
def edit_neighbour(
    request: Request, build_id: int, design_id: int, neighbour_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields
    ids = (build_id, design_id)
    return act_on_sheet(
        request,
        session,
        now,
        ids,
        lambda: service.edit_neighbour(session, *ids, neighbour_id, typed),
        neighbour_id,
    )


@router.post(ONE + "/removal")
def set_aside(
    request: Request, build_id: int, design_id: int, neighbour_id: int, session: WriteSession, now: Now
) -> Response:
    ids = (build_id, design_id)
    return act_on_sheet(
        request, session, now, ids, lambda: service.set_aside(session, *ids, neighbour_id, now)
    )


@router.post(ONE + "/return")
def put_back(
    request: Request, build_id: int, design_id: int, neighbour_id: int, session: WriteSession, now: Now
) -> Response:
    ids = (build_id, design_id)
    return act_on_sheet(
        request, session, now, ids, lambda: service.set_aside(session, *ids, neighbour_id, None)
    )
