"""Addresses of the connection ledger."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.connecting import service
from server.features.connecting.page import Shown, state_of
from server.features.ledger.page import SORTS
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SHEET = "/builds/{build_id}/lines"
LEDGER = "/builds/{build_id}/ledger/{sort}"
ENTRY = LEDGER + "/{entry_id}"
USUAL = "/builds/{build_id}/ledger-usual"
CUT = "/builds/{build_id}/ledger-cut"


@router.get(SHEET)
def show_ledger(
    request: Request,
    build_id: int,
    session: ReadSession,
    now: Now,
    state: str = "",
    add: str = "",
    edit: str = "",
    part: str = "",
    start: str = "",
) -> Response:
    shown = Shown(state_of(state), add if add in SORTS else "line", _number(edit), part, _number(start) or 0)
    return render(request, service.ledger_page(session, build_id, now, shown))


def _number(typed: str) -> int | None:
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 12 else None


@router.get(LEDGER)
@router.get(ENTRY)
@router.get(ENTRY + "/removal")
@router.get(ENTRY + "/return")
@router.get(USUAL)
@router.get(CUT)
def to_ledger(build_id: int) -> Response:
    """Where a refused form leaves the address bar: loading it again shows the ledger."""
    return RedirectResponse(urls.ledger.lines(build_id), status_code=303)


def act_on_ledger(
    request: Request,
    session: WriteSession,
    now: Now,
    build_id: int,
    do: Callable[[], object],
    sort: str = "line",
    edit: int | None = None,
) -> Response:
    """Carry out one intention, then show the ledger; where it is refused, the form again."""

    def done() -> str:
        do()
        return urls.ledger.lines(build_id)

    shown = sort if sort in SORTS else "line"
    return act(
        request,
        session,
        done,
        lambda refused: service.ledger_page(
            session, build_id, now, Shown(sort=shown, edit=edit, refused=refused)
        ),
    )


@router.post(LEDGER)
def add_entry(
    request: Request, build_id: int, sort: str, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed = request.state.posted.fields

    def do() -> None:
        service.add_entry(session, build_id, sort, typed, actor)

    return act_on_ledger(request, session, now, build_id, do, sort)


@router.post(ENTRY)
def edit_entry(
    request: Request,
    build_id: int,
    sort: str,
    entry_id: int,
    session: WriteSession,
    now: Now,
    actor: Actor,
) -> Response:
    typed = request.state.posted.fields

    def do() -> None:
        service.edit_entry(session, build_id, sort, entry_id, typed, now, actor)

    return act_on_ledger(request, session, now, build_id, do, sort, entry_id)


@router.post(ENTRY + "/removal")
def set_aside(
    request: Request, build_id: int, sort: str, entry_id: int, session: WriteSession, now: Now
) -> Response:
    def do() -> None:
        service.set_aside(session, build_id, sort, entry_id, now)

    return act_on_ledger(request, session, now, build_id, do, sort, entry_id)


@router.post(ENTRY + "/return")
def put_back(
    request: Request, build_id: int, sort: str, entry_id: int, session: WriteSession, now: Now
) -> Response:
    def do() -> None:
        service.set_aside(session, build_id, sort, entry_id, None)

    return act_on_ledger(request, session, now, build_id, do, sort)


@router.post(USUAL)
def add_usual(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    return act_on_ledger(request, session, now, build_id, lambda: service.add_usual(session, build_id))


@router.post(CUT)
def say_cut(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return act_on_ledger(request, session, now, build_id, lambda: service.say_cut(session, build_id, typed))
