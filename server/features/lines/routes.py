"""Addresses of the line map's rules."""

from fastapi import APIRouter, Request, Response

from server.features.lines import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/handbook/lines")
def show_line_rules(request: Request, now: Now) -> Response:
    return render(request, service.line_rules_page(now))
