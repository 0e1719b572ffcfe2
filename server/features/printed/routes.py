"""Addresses of the shopping list on paper and for a spreadsheet."""

from fastapi import APIRouter, Request, Response

from server.db import ReadSession
from server.features.printed import service
from server.web.clock import Now
from server.web.handout import hand_out
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/builds/{build_id}/shopping/print")
def show_print(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.print_page(session, build_id, now))


@router.get("/builds/{build_id}/shopping.pdf")
def hand_out_pdf(build_id: int, session: ReadSession, now: Now) -> Response:
    return hand_out(service.shopping_pdf(session, build_id, now), "application/pdf")


@router.get("/builds/{build_id}/shopping.csv")
def hand_out_csv(build_id: int, session: ReadSession, now: Now) -> Response:
    return hand_out(service.shopping_csv(session, build_id, now), "text/csv; charset=utf-8")
