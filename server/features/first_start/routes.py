"""Addresses of the gate before the first start."""

from collections.abc import Callable

from fastapi import APIRouter, Request, Response

from server.db import ReadSession, WriteSession
from server.features.first_start import service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Actor, Made, Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
GATE = "/builds/{build_id}/first-start"
STAGE = GATE + "/{stage}"


@router.get(GATE)
def show_gate(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.gate_page(session, build_id, now))


@router.get(STAGE)
def show_stage(
    request: Request, build_id: int, stage: str, session: ReadSession, now: Now, actor: Actor
) -> Response:
    return render(request, service.stage_page(session, build_id, stage, now, actor))


def act_on_stage(
    request: Request,
    session: WriteSession,
    now: Now,
    actor: Actor,
    ids: tuple[int, str],
    do: Callable[[], None],
    *,
    to_gate: bool = False,
) -> Response:
    """Carry out one intention, then show the stage, or the whole gate; where it is refused, the stage again.

    ids: of the build, and the stage's code.
    """

    def done() -> str:
        do()
        return urls.first_start.gate(ids[0]) if to_gate else urls.first_start.stage(*ids)

    return act(request, session, done, lambda refused: service.stage_page(session, *ids, now, actor, refused))


@router.post(STAGE + "/entries")
def enter(
    request: Request, build_id: int, stage: str, session: WriteSession, now: Now, made: Made, actor: Actor
) -> Response:
    typed, ids = request.state.posted.fields, (build_id, stage)
    return act_on_stage(
        request, session, now, actor, ids, lambda: service.enter(session, *ids, typed, made, actor)
    )


@router.post(STAGE + "/looks")
def look(
    request: Request, build_id: int, stage: str, session: WriteSession, now: Now, made: Made, actor: Actor
) -> Response:
    typed, ids = request.state.posted.fields, (build_id, stage)
    return act_on_stage(request, session, now, actor, ids, lambda: service.look(session, *ids, typed, made))


@router.post(STAGE + "/signature")
def sign(
    request: Request, build_id: int, stage: str, session: WriteSession, now: Now, actor: Actor
) -> Response:
    """At the moment at which it arrives: what is signed is what stands then."""
    typed, ids = request.state.posted.fields, (build_id, stage)
    return act_on_stage(
        request, session, now, actor, ids, lambda: service.sign(session, *ids, typed, now), to_gate=True
    )


@router.post(STAGE + "/taking-back")
def take_back(
    request: Request, build_id: int, stage: str, session: WriteSession, now: Now, actor: Actor
) -> Response:
    typed, ids = request.state.posted.fields, (build_id, stage)
    return act_on_stage(
        request, session, now, actor, ids, lambda: service.take_back(session, *ids, typed, now)
    )
