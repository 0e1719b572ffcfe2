"""Addresses of the pressure test."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.leak_tests import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Made, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
SHEET = "/builds/{build_id}/leak-test"


@router.get(SHEET)
def show_test(request: Request, build_id: int, session: ReadSession, now: Now, actor: Actor) -> Response:
    asked = dict(request.query_params)
    return render(request, service.leak_test_page(session, build_id, asked, now, actor))


def act_on_tests(
    request: Request, session: WriteSession, now: Now, actor: Actor, build_id: int, do: Callable[[], None]
) -> Response:
    """Carry out one intention, then show the tests; where it is refused, the form again."""
    typed = request.state.posted.fields

    def done() -> str:
        do()
        return urls.first_start.leak_test(build_id)

    return act(
        request,
        session,
        done,
        lambda refused: service.leak_test_page(
            session, build_id, typed if refused else {}, now, actor, refused
        ),
    )


@router.post(SHEET)
def note_test(
    request: Request, build_id: int, session: WriteSession, now: Now, made: Made, actor: Actor
) -> Response:
    typed = request.state.posted.fields
    return act_on_tests(
        request, session, now, actor, build_id, lambda: service.note(session, build_id, typed, made)
    )


@router.post(SHEET + "/{test_id}/withdrawal")
def withdraw(
    request: Request, build_id: int, test_id: int, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed, ids = request.state.posted.fields, (build_id, test_id)
    return act_on_tests(
        request, session, now, actor, build_id, lambda: service.set_withdrawn(session, *ids, typed, now)
    )
