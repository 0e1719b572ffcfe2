"""The address at which scripts ask for a cutting plan. It changes nothing."""

from fastapi import APIRouter

from server.features.bench.routes import Faults, SumRoute
from server.features.cut_sums import forms, page, service

router = APIRouter(route_class=SumRoute, tags=["bench sums"], responses={422: {"model": Faults}})


@router.post("/sums/cut-plan")
def cut_plan(asked: forms.CutPlanIn) -> page.CutPlanOut:
    """Which pieces to cut out of which bars: least cost, or fewest bars where no stock has a price."""
    return service.cut_plan(asked)
