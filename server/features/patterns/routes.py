"""Addresses of patterns at full size, and of the sums on cuts and flanges. They change nothing."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.errors import BadInput
from server.features.bench.routes import Faults, SumRoute
from server.features.patterns import forms, page, service
from server.web import urls
from server.web.clock import Now
from server.web.handout import hand_out

router = APIRouter()
scripts = APIRouter(route_class=SumRoute, tags=["bench sums"], responses={422: {"model": Faults}})


@router.get("/sums/{name}/pattern/{form}", include_in_schema=False)
def hand_out_pattern(request: Request, name: str, form: str, now: Now) -> Response:
    """The pattern as a file; where there is none for what was typed, the page says why."""
    typed = dict(request.query_params)
    try:
        found = service.pattern_file(name, form, typed, now)
    except BadInput:
        found = None
    if found is None:
        return RedirectResponse(urls.sum_page(name, typed), status_code=303)
    return hand_out(*found)


@scripts.post("/sums/flange")
def flange(asked: forms.FlangeIn) -> page.FlangeOut:
    """Where the holes of a flange stand."""
    return service.flange(asked)


@scripts.post("/sums/compound-cut")
def compound_cut(asked: forms.CompoundIn) -> page.CompoundOut:
    """One mitre that turns a pipe sideways and up at once."""
    return service.compound(asked)


router.include_router(scripts)
