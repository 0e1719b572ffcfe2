"""Addresses at which scripts ask the sums on pipes. They change nothing."""

from fastapi import APIRouter

from server.features.bench.routes import Faults, SumRoute
from server.features.pipe_sums import forms, page, service

router = APIRouter(route_class=SumRoute, tags=["bench sums"], responses={422: {"model": Faults}})


@router.post("/sums/mitre")
def mitre(asked: forms.MitreIn) -> page.MitreOut:
    """Saw angle, pieces and wrap-round template of a mitred bend."""
    return service.mitre(asked)


@router.post("/sums/offset")
def offset(asked: forms.OffsetIn) -> page.OffsetOut:
    """The way between two parallel lines through two equal fittings."""
    return service.offset(asked)


@router.post("/sums/bend-table")
def bend_table(asked: forms.BendTableIn) -> page.BendTableOut:
    """Corners of a bent pipe to its bend table, or the table to corners."""
    return service.bend_table(asked)


@router.post("/sums/route")
def route(asked: forms.RouteIn) -> page.RoutesOut:
    """From one pose to another through bends that can be bought, clear of what is near."""
    return service.route(asked)


@router.post("/sums/splice")
def splice(asked: forms.SpliceIn) -> page.SplicesOut:
    """Where to cut two salvaged pipes so that they join, fewest welds first."""
    return service.splice(asked)


@router.post("/sums/trilateration")
def trilateration(asked: forms.TrilaterationIn) -> page.TrilaterationOut:
    """The two places that three tapes to three known points leave."""
    return service.trilateration(asked)
