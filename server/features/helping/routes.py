"""Addresses that a helper's link opens. Who asks was found out before: `request.state.link`.

None of them names a build: a link has its own, and nothing outside of it is looked for.
"""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response

from server.db import ReadSession, WriteSession
from server.errors import NotFound
from server.features.builds.service import build_face, revision_of
from server.features.helping import service
from server.features.sharing.page import Link, Scope
from server.features.showing import service as showing
from server.once import OnceRoute, act
from server.web import urls
from server.web.clock import Made, Now
from server.web.handout import feed, hand_out, picture, still
from server.web.render import render
from server.web.with_photo import Sent

router = APIRouter(route_class=OnceRoute, include_in_schema=False)
LINK = "/s/{token}"


async def _link(request: Request) -> Link:
    link: Link | None = getattr(request.state, "link", None)
    if link is None:
        raise NotFound(service.NOT_HERE)
    return link


Given = Annotated[Link, Depends(_link)]


@router.get(LINK)
def show_sheet(
    request: Request, token: str, link: Given, session: ReadSession, now: Now, told: str = ""
) -> Response:
    if link.scope is Scope.SHOW:
        return render(request, showing.show_page(session, link, token, now))
    return render(request, service.helper_page(service.reach(session, link, token, now), told))


@router.get(LINK + "/feed.atom")
def show_feed(request: Request, token: str, link: Given, session: ReadSession) -> Response:
    if link.scope is not Scope.SHOW:
        raise NotFound(service.NOT_HERE)
    origin = str(request.base_url).rstrip("/")
    return feed(request, showing.feed(session, link, token, origin), "application/atom+xml")


@router.get(LINK + "/revision")
def show_revision(link: Given, session: ReadSession) -> Response:
    return still(revision_of(build_face(session, link.build_id)))


@router.get(LINK + "/visits/{visit_id}")
def show_visit(
    request: Request, token: str, visit_id: int, link: Given, session: ReadSession, now: Now
) -> Response:
    return render(request, service.helper_page(service.reach(session, link, token, now, visit_id)))


@router.get(LINK + "/runs/{design_id}")
def show_run(
    request: Request, token: str, design_id: int, link: Given, session: ReadSession, now: Now
) -> Response:
    return render(request, service.run_page(service.reach(session, link, token, now), design_id))


@router.get(LINK + "/runs/{design_id}/{paper}.pdf")
def hand_out_run(
    token: str, design_id: int, paper: str, link: Given, session: ReadSession, now: Now
) -> Response:
    reached = service.reach(session, link, token, now)
    return hand_out(service.run_pdf(reached, design_id, paper), "application/pdf")


@router.get(LINK + "/ports/{port_id}")
def show_port(
    request: Request,
    token: str,
    port_id: int,
    link: Given,
    session: ReadSession,
    now: Now,
    measure: str = "",
    told: str = "",
) -> Response:
    return render(
        request, service.port_page(service.reach(session, link, token, now), port_id, measure, told)
    )


@router.get(LINK + "/photos/{photo_id}")
def show_photo(
    request: Request,
    token: str,
    photo_id: int,
    link: Given,
    session: ReadSession,
    now: Now,
    small: bool = False,
) -> Response:
    folder = request.app.state.settings.photos
    if link.scope is Scope.SHOW:
        content, digest = showing.photo(session, folder, link, photo_id, small)
    else:
        content, digest = service.photo(service.reach(session, link, token, now), folder, photo_id, small)
    return picture(request, photo_id, content, digest)


@router.get(LINK + "/photos/{photo_id}/original")
def show_original(
    request: Request, token: str, photo_id: int, link: Given, session: ReadSession, now: Now
) -> Response:
    """To who brought it; a link that shows how it goes gives out no originals."""
    folder = request.app.state.settings.photos
    found = service.original(service.reach(session, link, token, now), folder, photo_id)
    return picture(request, photo_id, *found, "original")


@router.post(LINK + "/tasks/{task_id}/state")
def set_state(
    request: Request, token: str, task_id: int, link: Given, session: WriteSession, now: Now, made: Made
) -> Response:
    typed = request.state.posted.fields
    told = ""

    def do() -> str:
        nonlocal told
        told = service.set_state(service.reach(session, link, token, now), task_id, typed, made)
        return urls.helping.sheet(token, told)

    return act(
        request,
        session,
        do,
        lambda refused: service.helper_page(service.reach(session, link, token, now), told, refused),
    )


@router.post(LINK + "/notes")
def add_note(
    request: Request, token: str, link: Given, session: WriteSession, now: Now, sent: Sent
) -> Response:
    told = ""

    def do() -> str:
        nonlocal told
        told = service.add_note(service.reach(session, link, token, now), sent)
        return urls.helping.sheet(token, told)

    return act(
        request,
        session,
        do,
        lambda refused: service.helper_page(service.reach(session, link, token, now), told, refused),
    )


@router.post(LINK + "/ports/{port_id}/readings")
def add_reading(
    request: Request, token: str, port_id: int, link: Given, session: WriteSession, now: Now, sent: Sent
) -> Response:
    def do() -> str:
        service.add_reading(service.reach(session, link, token, now), port_id, sent)
        return urls.telling(urls.helping.port(token, port_id), "reading")

    return act(
        request,
        session,
        do,
        lambda refused: service.port_page(
            service.reach(session, link, token, now), port_id, "", "" if refused else "reading", refused
        ),
    )
