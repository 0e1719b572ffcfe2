"""Addresses of helpers' links, for the builder."""

from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute

from server.db import ReadSession, WriteSession, write_session
from server.errors import MissingKey, Refused
from server.features.links import page, service
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Now
from server.web.posted import read_posted
from server.web.render import render

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
LINKS = "/builds/{build_id}/links"


def _only_here(request: Request) -> bool:
    here: bool = request.app.state.settings.loopback
    return here


@router.get(LINKS)
def show_links(request: Request, build_id: int, session: ReadSession, now: Now, visit: str = "") -> Response:
    """`visit`: the number of the visit that a new link is for."""
    shown = service.links_page(session, build_id, now, only_here=_only_here(request), chosen=visit)
    return render(request, shown)


async def make_link(request: Request, build_id: int, now: Now) -> Response:
    """Outside the rule of one answer to a key: the answer kept for a resend would keep the token with it. The
    form's key makes it one link all the same.
    """
    posted = await read_posted(request)
    if not posted.key:
        raise MissingKey("This form came without its operation key. Load the page again and resend.")
    here = _only_here(request)
    async with request.app.state.writer_lock:
        with write_session(request.app.state.engine) as session:
            try:
                name, token = service.make(session, build_id, posted.fields, posted.key, now)
            except Refused as refused:
                shown = service.links_page(session, build_id, now, only_here=here, refused=refused)
                return render(request, shown, status=refused.status)
            address = str(request.base_url).rstrip("/") + urls.helping.sheet(token)
            new = page.new_link(name, address)
            answer = render(request, service.links_page(session, build_id, now, only_here=here, new=new))
    answer.headers["Cache-Control"] = "no-store"
    return answer


router.add_api_route(LINKS, make_link, methods=["POST"], route_class_override=APIRoute)


@router.post(LINKS + "/{link_id}/withdrawal")
def withdraw(request: Request, build_id: int, link_id: int, session: WriteSession, now: Now) -> Response:
    here = _only_here(request)

    def do() -> str:
        service.withdraw(session, build_id, link_id, now)
        return urls.helping.links(build_id)

    return act(request, session, do, lambda _: service.links_page(session, build_id, now, only_here=here))
