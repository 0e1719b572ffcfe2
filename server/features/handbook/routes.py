"""Addresses of the handbook."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.handbook import service
from server.web.clock import Now
from server.web.render import render
from server.web.whose import Asking

router = APIRouter(include_in_schema=False)


@router.get("/handbook")
def show_handbook(request: Request, now: Now) -> Response:
    return render(request, service.handbook_page(now))


@router.get("/handbook/words")
def show_words(request: Request, now: Now) -> Response:
    return render(request, service.words_page(now))


@router.get("/handbook/losses")
def show_losses(request: Request, now: Now) -> Response:
    return render(request, service.losses_page(now))


@router.get("/handbook/rules/{code}")
def show_rule(request: Request, code: str, session: ReadSession, now: Now, whose: Asking) -> Response:
    return render(request, service.rule_page(session, code, now, whose))


@router.get("/builds/{build_id}/handbook/{code}")
def show_rule_in_build(
    request: Request, build_id: int, code: str, session: ReadSession, now: Now
) -> Response:
    return render(request, service.rule_in_build_page(session, build_id, code, now))
