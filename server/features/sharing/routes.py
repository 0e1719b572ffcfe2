"""Signing in and out, for servers that other machines can reach.

These forms carry no operation key: signing in twice harms nobody, and an answer kept for a resend would keep
the cookie with it.
"""

from threading import Lock
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from server.db import write_session
from server.errors import BadInput, FieldError
from server.features.sharing import forms, service
from server.features.sharing.page import SignInPage, cookie_name, sign_in_page
from server.features.sharing.service import Attempts
from server.web import urls
from server.web.clock import Now
from server.web.posted import Posted, read_posted
from server.web.render import render

router = APIRouter(include_in_schema=False)
ACCOUNT = "builder"


class Tries:
    """Failed attempts of this process. One try at a time, so that many at once count like many in turn."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.attempts: Attempts = service.SIGN_IN_ATTEMPTS


async def read_form(request: Request) -> Posted:
    return await read_posted(request)


Form = Annotated[Posted, Depends(read_form)]


def _page(request: Request, now: Now, back: str, refused: BadInput | None = None) -> SignInPage:
    signed = request.state.signed
    since = signed.since.astimezone(now.tzinfo) if signed else None
    return sign_in_page(request.url.scheme == "https", since, back, now.date(), refused)


@router.get("/sign-in")
def show_sign_in(request: Request, now: Now, back: str = "") -> Response:
    return render(request, _page(request, now, forms.page_to_go_back_to(back)))


@router.post("/sign-in")
def sign_in(request: Request, posted: Form, now: Now) -> Response:
    form = forms.sign_in_form(posted.fields)
    address = request.client.host if request.client else ""
    tries: Tries = request.app.state.sign_in_tries
    with tries.lock:
        wait = tries.attempts.wait(ACCOUNT, address, now)
        if wait:
            minutes = int(wait.total_seconds() // 60) + 1
            refused = _refused(f"Too many tries. Wait {minutes} min, then try again.", "")
            answer = render(request, _page(request, now, form.back, refused), status=429)
            answer.headers["Retry-After"] = str(minutes * 60)
            return answer
        if not service.check_passphrase(request.app.state.settings.data, form.passphrase):
            tries.attempts = tries.attempts.failed(ACCOUNT, address, now)
            refused = _refused("That is not the passphrase.", "the one set on the server with `passphrase`")
            return render(request, _page(request, now, form.back, refused), status=422)
        tries.attempts = tries.attempts.succeeded(ACCOUNT)
    encrypted = request.url.scheme == "https"
    before = request.cookies.get(cookie_name(encrypted), "")
    with write_session(request.app.state.engine) as session:
        if before:
            service.end(session, before, now)
        token = service.sign_in(session, now)
    answer = RedirectResponse(form.back, 303)
    answer.set_cookie(
        cookie_name(encrypted),
        token,
        max_age=int(service.ABSOLUTE.total_seconds()),
        secure=encrypted,
        httponly=True,
        samesite="lax",
    )
    return answer


def _refused(message: str, accepts: str) -> BadInput:
    return BadInput((FieldError("passphrase", message, accepts),), {})


@router.post("/sign-out")
def sign_out(request: Request, now: Now) -> Response:
    name = cookie_name(request.url.scheme == "https")
    with write_session(request.app.state.engine) as session:
        service.end(session, request.cookies.get(name, ""), now)
    answer = RedirectResponse(urls.sign_in(), 303)
    answer.delete_cookie(name, secure=request.url.scheme == "https", httponly=True, samesite="lax")
    return answer
