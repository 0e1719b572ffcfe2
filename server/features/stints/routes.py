"""Addresses of the garage's time: stints, helpers, visits."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.stints import service
from server.features.stints.forms import KINDS, to_be_set_aside
from server.features.stints.page import Asked, RefusedForm
from server.features.stints.store import RowOfStints
from server.features.stints.tables import Helper, Stint, Visit
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SHEET = "/builds/{build_id}/stints"


@router.get(SHEET)
def show_stints(
    request: Request,
    build_id: int,
    session: ReadSession,
    now: Now,
    told: str = "",
    part: str = "",
    start: str = "",
) -> Response:
    asked = Asked(part, int(start) if start.isascii() and start.isdigit() and len(start) < 6 else 0)
    return render(request, service.stints_page(session, build_id, now, told, asked=asked))


def _act_on_sheet(
    request: Request, session: WriteSession, now: Now, build_id: int, which: str, do: Callable[[], str]
) -> Response:
    """Carry out one intention, then show the sheet; `do` returns what it begins with, or nothing."""
    return act(
        request,
        session,
        lambda: urls.telling(urls.stints(build_id), do()),
        lambda refused: service.stints_page(session, build_id, now, refused=RefusedForm(refused, which)),
    )


@router.post(SHEET)
def add_stint(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return _act_on_sheet(
        request,
        session,
        now,
        build_id,
        typed["kind"] if typed.get("kind") in KINDS else KINDS[0],
        lambda: f"stint-{service.add_stint(session, build_id, typed)}",
    )


@router.post(SHEET + "/garage")
def edit_garage_time(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_garage_time(session, build_id, typed)
        return ""

    return _act_on_sheet(request, session, now, build_id, "garage", do)


@router.post(SHEET + "/helpers")
def add_helper(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return _act_on_sheet(
        request,
        session,
        now,
        build_id,
        "helper",
        lambda: f"helper-{service.add_helper(session, build_id, typed)}",
    )


@router.post(SHEET + "/helpers/{helper_id}")
def edit_helper(request: Request, build_id: int, helper_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_helper(session, build_id, helper_id, typed)
        return ""

    return _act_on_sheet(request, session, now, build_id, f"helper-{helper_id}", do)


@router.post(SHEET + "/visits")
def add_visit(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields
    return _act_on_sheet(
        request,
        session,
        now,
        build_id,
        "visit",
        lambda: f"visit-{service.add_visit(session, build_id, typed)}",
    )


def _remove(
    request: Request,
    session: WriteSession,
    now: Now,
    build_id: int,
    table: type[RowOfStints],
    number: int,
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        at = now if to_be_set_aside(typed) else None
        service.set_aside(session, table, build_id, number, at)
        return f"{table.__tablename__}-{number}"

    return _act_on_sheet(request, session, now, build_id, "", do)


@router.post(SHEET + "/{stint_id}/removal")
def set_stint_aside(
    request: Request, build_id: int, stint_id: int, session: WriteSession, now: Now
) -> Response:
    return _remove(request, session, now, build_id, Stint, stint_id)


@router.post(SHEET + "/helpers/{helper_id}/removal")
def set_helper_aside(
    request: Request, build_id: int, helper_id: int, session: WriteSession, now: Now
) -> Response:
    return _remove(request, session, now, build_id, Helper, helper_id)


@router.post(SHEET + "/visits/{visit_id}/removal")
def set_visit_aside(
    request: Request, build_id: int, visit_id: int, session: WriteSession, now: Now
) -> Response:
    return _remove(request, session, now, build_id, Visit, visit_id)
