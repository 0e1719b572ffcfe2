"""The address at which scripts ask for a schedule. It changes nothing."""

from fastapi import APIRouter

from server.features.bench.routes import Faults, SumRoute
from server.features.plan_sums import forms, page, service

router = APIRouter(route_class=SumRoute, tags=["bench sums"], responses={422: {"model": Faults}})


@router.post("/sums/schedule")
def schedule(asked: forms.ScheduleIn) -> page.ScheduleOut:
    """When to do what, where tasks come after each other and share resources."""
    return service.schedule(asked)
