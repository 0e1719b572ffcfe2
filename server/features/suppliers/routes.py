"""Addresses of suppliers and of offers. Offers are seen and changed on their part's sheet."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, WriteSession
from server.features.parts.forms import set_aside
from server.features.parts.routes import Above, act_on_part
from server.features.suppliers import forms, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)


@router.get("/builds/{build_id}/suppliers")
def show_suppliers(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return render(request, service.suppliers_page(session, build_id, now))


@router.post("/builds/{build_id}/suppliers")
def add_supplier(request: Request, build_id: int, session: WriteSession, now: Now) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.add_supplier(session, build_id, forms.new_supplier(typed), typed)
        return urls.suppliers(build_id)

    return act(request, session, do, lambda refused: service.suppliers_page(session, build_id, now, refused))


@router.get("/builds/{build_id}/suppliers/{supplier_id}")
def show_supplier(
    request: Request, build_id: int, supplier_id: int, session: ReadSession, now: Now
) -> Response:
    return render(request, service.supplier_page(session, build_id, supplier_id, now))


@router.post("/builds/{build_id}/suppliers/{supplier_id}")
def edit_supplier(
    request: Request, build_id: int, supplier_id: int, session: WriteSession, now: Now
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        service.edit_supplier(session, build_id, supplier_id, forms.supplier_edit(typed), typed)
        return urls.supplier(build_id, supplier_id)

    return act(
        request,
        session,
        do,
        lambda refused: service.supplier_page(session, build_id, supplier_id, now, refused),
    )


@router.post("/builds/{build_id}/parts/{part_id}/offers")
def add_offer(
    request: Request, build_id: int, part_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    typed = request.state.posted.fields

    def do() -> str:
        offer_id = service.add_offer(session, build_id, part_id, forms.new_offer(typed))
        return urls.telling(urls.part(build_id, part_id), f"offer-{offer_id}")

    return act_on_part(request, session, build_id, part_id, now, above, do, "new offer")


@router.get("/builds/{build_id}/offers/{offer_id}")
def to_part_of_offer(build_id: int, offer_id: int, session: ReadSession) -> Response:
    """Where a refused offer leaves the address bar: loading it again shows the part."""
    part_id = service.part_of_offer(session, build_id, offer_id)
    return RedirectResponse(urls.part(build_id, part_id), status_code=303)


@router.post("/builds/{build_id}/offers/{offer_id}")
def edit_offer(
    request: Request, build_id: int, offer_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    typed = request.state.posted.fields
    part_id = service.part_of_offer(session, build_id, offer_id)

    def do() -> str:
        service.edit_offer(session, build_id, offer_id, forms.offer_edit(typed), typed)
        return urls.part(build_id, part_id)

    return act_on_part(request, session, build_id, part_id, now, above, do, "offer", offer_id)


@router.post("/builds/{build_id}/offers/{offer_id}/preference")
def prefer_offer(
    request: Request, build_id: int, offer_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    """Buy the part there whatever the others ask, or from the cheapest again."""
    typed = request.state.posted.fields
    part_id = service.part_of_offer(session, build_id, offer_id)

    def do() -> str:
        service.prefer(session, build_id, offer_id, forms.preferred(typed))
        return urls.part(build_id, part_id)

    return act_on_part(request, session, build_id, part_id, now, above, do, "act")


@router.post("/builds/{build_id}/offers/{offer_id}/removal")
def set_offer_aside(
    request: Request, build_id: int, offer_id: int, session: WriteSession, now: Now, above: Above
) -> Response:
    """Set aside, or put back."""
    typed = request.state.posted.fields
    part_id = service.part_of_offer(session, build_id, offer_id)

    def do() -> str:
        service.set_offer_aside(session, build_id, offer_id, set_aside(typed), now)
        return urls.telling(urls.part(build_id, part_id), f"offer-{offer_id}")

    return act_on_part(request, session, build_id, part_id, now, above, do, "act")
