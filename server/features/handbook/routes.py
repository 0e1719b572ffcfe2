"""Address of the handbook."""

from fastapi import APIRouter, Request, Response

from server.features.handbook import service
from server.web.clock import Now
from server.web.render import render

router = APIRouter(include_in_schema=False)


@router.get("/handbook")
def show_handbook(request: Request, now: Now) -> Response:
    return render(request, service.handbook_page(now))
