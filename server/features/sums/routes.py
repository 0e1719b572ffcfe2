"""Addresses of the bench sums: a page for people, JSON for scripts. They change nothing."""

from fastapi import APIRouter, Request, Response

from server.features.bench.routes import Faults, SumRoute
from server.features.sums import forms, page, service
from server.web.clock import Now
from server.web.render import render

router = APIRouter()
scripts = APIRouter(route_class=SumRoute, tags=["bench sums"], responses={422: {"model": Faults}})


@router.get("/sums", include_in_schema=False)
def show_sums(request: Request, now: Now) -> Response:
    return render(request, service.sums_page(now))


@router.get("/sums/{name}", include_in_schema=False)
def show_sum(request: Request, name: str, now: Now) -> Response:
    """A sum with what is typed in its address answered, so that a sum can be kept as a bookmark."""
    shown, status = service.sum_page(name, request.query_params, now)
    return render(request, shown, status)


@scripts.post("/sums/reading", response_model=page.ReadingOut, response_model_exclude_none=True)
def reading(asked: forms.ReadingIn) -> page.ReadingBase:
    """Read a quantity as somebody typed it."""
    return service.reading(asked)


@scripts.post("/sums/combine")
def combine(asked: forms.CombineIn) -> page.CombineOut:
    """Several readings of one thing as one, with the doubt that remains."""
    return service.combined(asked)


@scripts.post("/sums/atmosphere")
def atmosphere(asked: forms.AtmosphereIn) -> page.AtmosphereOut:
    """The standard atmosphere by geometric height."""
    return service.outside_air(asked)


@scripts.post("/sums/air-demand")
def air_demand(asked: forms.AirDemandIn) -> page.AirDemandOut:
    """The air that a four-stroke engine takes in."""
    return service.air_demand(asked)


@scripts.post("/sums/compressor")
def compressor(asked: forms.CompressorIn) -> page.CompressorOut:
    """Temperature after a compressor, and the power that it takes."""
    return service.compressed(asked)


@scripts.post("/sums/tube")
def tube(asked: forms.TubeIn) -> page.TubeOut:
    """Speed, Mach number and loss of air in one tube, marched as adiabatic flow with friction."""
    return service.tube(asked)


@scripts.post("/sums/step")
def step(asked: forms.StepIn) -> page.StepOut:
    """Loss coefficient of a change of bore, on the smaller bore's speed."""
    return service.step(asked)


@scripts.post("/sums/blow-off")
def blow_off(asked: forms.BlowOffIn) -> page.BlowOffOut:
    """The force that pushes a hose joint apart."""
    return service.blow_off(asked)


@scripts.post("/sums/leak")
def leak(asked: forms.LeakIn) -> page.LeakOut:
    """A pressure test of the charge side: how it is made, and what it came to."""
    return service.leak_test(asked)


@scripts.post("/sums/hoop")
def hoop(asked: forms.HoopIn) -> page.HoopOut:
    """Stress in a tube's wall under pressure, by thin wall on the outside diameter."""
    return service.hoop(asked)


@scripts.post("/sums/growth")
def growth(asked: forms.GrowthIn) -> page.GrowthOut:
    """How much longer a length of metal gets between two temperatures."""
    return service.growth(asked)


@scripts.post("/sums/radiant")
def radiant(asked: forms.RadiantIn) -> page.RadiantOut:
    """How hot a strip gets beside a long hot pipe, with one bright shield between or without."""
    return service.radiant(asked)


router.include_router(scripts)
