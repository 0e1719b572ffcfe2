"""Addresses of passkeys, on servers that other machines can reach.

Like the other forms at the door these carry no operation key: a challenge is taken once.
"""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, write_session
from server.errors import Refused
from server.features.passkeys import service
from server.features.passkeys.page import PasskeysPage, passkeys_page
from server.features.passkeys.service import Site
from server.features.sharing.forms import sign_in_form
from server.features.sharing.routes import Form, let_in
from server.web import urls
from server.web.clock import Now
from server.web.render import render
from server.web.whose import Whose

router = APIRouter(include_in_schema=False)


def _site(request: Request) -> Site:
    return Site(request.url.hostname or "", f"{request.url.scheme}://{request.url.netloc}")


def _whose(request: Request) -> Whose:
    whose: Whose = request.state.whose
    return whose


Here = Annotated[Site, Depends(_site)]
Mine = Annotated[Whose, Depends(_whose)]


def _page(
    session: ReadSession, whose: Whose, site: Site, now: Now, refused: Refused | None = None
) -> PasskeysPage:
    return passkeys_page(service.passkeys(session, whose), site.takes_passkeys, now, refused)


@router.get("/passkeys")
def show_passkeys(request: Request, whose: Mine, site: Here, session: ReadSession, now: Now) -> Response:
    return render(request, _page(session, whose, site, now))


@router.post("/passkeys/new")
def ask_for_new(request: Request, whose: Mine, site: Here, now: Now) -> Response:
    with write_session(request.app.state.engine) as session:
        return _options(service.ask_for_new(session, whose, site, now))


@router.post("/passkeys")
def keep_new(
    request: Request, posted: Form, whose: Mine, site: Here, session: ReadSession, now: Now
) -> Response:
    form = sign_in_form(posted.fields, request.headers.get("user-agent", ""))
    try:
        with write_session(request.app.state.engine) as writing:
            sent = posted.fields.get("credential", "")
            service.keep_new(writing, whose, site, sent, form.device, now)
    except Refused as refused:
        return render(request, _page(session, whose, site, now, refused), status=refused.status)
    return _done(urls.passkeys.passkeys())


@router.post("/passkeys/{passkey_id}/withdrawal")
def withdraw(request: Request, passkey_id: int, whose: Mine) -> Response:
    with write_session(request.app.state.engine) as session:
        service.withdraw(session, whose, passkey_id)
    return RedirectResponse(urls.passkeys.passkeys(), 303)


@router.post("/sign-in/passkey/challenge")
def ask_to_sign(request: Request, site: Here, now: Now) -> Response:
    with write_session(request.app.state.engine) as session:
        return _options(service.ask_to_sign(session, site, now))


@router.post("/sign-in/passkey")
def sign_in(request: Request, posted: Form, site: Here, now: Now) -> Response:
    """Raises BadInput, for the script that sent it."""
    form = sign_in_form(posted.fields, request.headers.get("user-agent", ""))
    with write_session(request.app.state.engine) as session:
        whose = service.signed_by(session, site, posted.fields.get("credential", ""), now)
    return let_in(request, _done(form.back), whose, form.device, now)


def _options(text: str) -> Response:
    return Response(text, media_type="application/json", headers={"Cache-Control": "no-store"})


def _done(where: str) -> Response:
    """A script goes there by itself; it could not read where a redirect led."""
    return Response(status_code=204, headers={"Content-Location": where})
