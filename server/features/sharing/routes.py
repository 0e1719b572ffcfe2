"""Signing in and out, and who is signed in, for servers that other machines can reach.

These forms carry no operation key: signing in twice harms nobody, and an answer kept for a resend would keep
the cookie with it.
"""

from dataclasses import dataclass
from threading import Lock
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession, write_session
from server.errors import BadInput, FieldError, NotFound, Refused
from server.features.builders import service as builders
from server.features.sharing import forms, service
from server.features.sharing.page import (
    SignedInPage,
    SignInPage,
    cookie_name,
    sign_in_page,
    signed_in_page,
)
from server.features.sharing.service import Attempts, Signed
from server.web import urls
from server.web.clock import Now
from server.web.posted import Posted, read_posted
from server.web.render import render
from server.web.whose import OWNER, Whose

router = APIRouter(include_in_schema=False)


class Tries:
    """Failed attempts of this process. One try at a time, so that many at once count like many in turn."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.attempts: Attempts = service.SIGN_IN_ATTEMPTS


async def read_form(request: Request) -> Posted:
    return await read_posted(request)


Form = Annotated[Posted, Depends(read_form)]
TOLD = {
    "out": "It is signed out.",
    "others": "All others are signed out.",
    "passphrase": "The passphrase is changed, and all others are signed out.",
    "builder": "They can sign in now, with their name and that passphrase.",
}
"""What was just done, by the word for it in an address."""


def _is_encrypted(request: Request) -> bool:
    return request.url.scheme == "https"


def _page(
    request: Request, session: ReadSession, now: Now, back: str, refused: BadInput | None = None
) -> SignInPage:
    signed = request.state.signed
    since = signed.since.astimezone(now.tzinfo) if signed else None
    several = bool(builders.builder_names(session))
    return sign_in_page(_is_encrypted(request), since, back, now.date(), refused, asks_name=several)


@router.get("/sign-in")
def show_sign_in(request: Request, session: ReadSession, now: Now, back: str = "") -> Response:
    return render(request, _page(request, session, now, forms.page_to_go_back_to(back)))


@router.post("/sign-in")
def sign_in(request: Request, posted: Form, session: ReadSession, now: Now) -> Response:
    form = forms.sign_in_form(posted.fields, request.headers.get("user-agent", ""))
    whose = builders.whose_name(session, form.name)
    refused = _tried(request, session, form.name, whose, form.passphrase, now)
    if refused is not None:
        page = _page(request, session, now, form.back, BadInput((refused.error,), {"name": form.name}))
        answer = render(request, page, status=429 if refused.wait else 422)
        if refused.wait:
            answer.headers["Retry-After"] = str(refused.wait)
        return answer
    return let_in(request, RedirectResponse(form.back, 303), whose or OWNER, form.device, now)


def let_in(request: Request, answer: Response, whose: Whose, device: str, now: Now) -> Response:
    """The answer with the cookie of a new sign-in; the one before of this browser ends."""
    encrypted = _is_encrypted(request)
    before = request.cookies.get(cookie_name(encrypted), "")
    with write_session(request.app.state.engine) as writing:
        if before:
            service.end(writing, before, now)
        token = service.sign_in(writing, now, whose, device)
    answer.set_cookie(
        cookie_name(encrypted),
        token,
        max_age=int(service.ABSOLUTE.total_seconds()),
        secure=encrypted,
        httponly=True,
        samesite="lax",
    )
    return answer


@dataclass(frozen=True, slots=True)
class _Failed:
    """A try that failed, or was not made. wait: for how long none is made [s]."""

    error: FieldError
    wait: int = 0


def _tried(
    request: Request,
    session: ReadSession,
    name: str,
    whose: Whose | None,
    passphrase: str,
    now: Now,
    field: str = "passphrase",
) -> _Failed | None:
    """Try a passphrase, within the limit of tries; None where it is the right one."""
    address = request.client.host if request.client else ""
    account = builders.name_key(name)
    tries: Tries = request.app.state.sign_in_tries
    with tries.lock:
        wait = tries.attempts.wait(account, address, now)
        if wait:
            minutes = int(wait.total_seconds() // 60) + 1
            message = f"Too many tries. Wait {minutes} min, then try again."
            return _Failed(FieldError(field, message), minutes * 60)
        if not builders.check_passphrase_of(session, request.app.state.settings.data, whose, passphrase):
            tries.attempts = tries.attempts.failed(account, address, now)
            message = "That is not the passphrase of that name." if name else "That is not the passphrase."
            accepts = "the one that was set for it" if name else "the one set on the server with `passphrase`"
            return _Failed(FieldError(field, message, accepts))
        tries.attempts = tries.attempts.succeeded(account)
    return None


@router.post("/sign-out")
def sign_out(request: Request, now: Now) -> Response:
    return _out(request, now)


def _out(request: Request, now: Now) -> Response:
    encrypted = _is_encrypted(request)
    name = cookie_name(encrypted)
    with write_session(request.app.state.engine) as session:
        service.end(session, request.cookies.get(name, ""), now)
    answer = RedirectResponse(urls.sign_in(), 303)
    answer.delete_cookie(name, secure=encrypted, httponly=True, samesite="lax")
    return answer


def _signed(request: Request) -> Signed:
    """The gate lets nobody in who is not signed in."""
    signed: Signed = request.state.signed
    return signed


def _signed_in_page(
    request: Request, session: ReadSession, now: Now, told: str = "", refused: Refused | None = None
) -> SignedInPage:
    signed = _signed(request)
    owns = signed.whose == OWNER
    return signed_in_page(
        builders.name_of(session, signed.whose),
        service.signed_in(session, signed.whose, now),
        signed.id,
        builders.builder_names(session).values() if owns else None,
        now,
        TOLD.get(told, ""),
        refused,
    )


@router.get("/signed-in")
def show_signed_in(request: Request, session: ReadSession, now: Now, told: str = "") -> Response:
    return render(request, _signed_in_page(request, session, now, told))


@router.post("/signed-in/others/end")
def end_others(request: Request, now: Now) -> Response:
    signed = _signed(request)
    with write_session(request.app.state.engine) as session:
        service.end_all(session, signed.whose, now, but=signed.id)
    return _done("others")


@router.post("/signed-in/{sign_in_id}/end")
def end_one(request: Request, sign_in_id: int, now: Now) -> Response:
    signed = _signed(request)
    if sign_in_id == signed.id:
        return _out(request, now)
    with write_session(request.app.state.engine) as session:
        service.end_one(session, signed.whose, sign_in_id, now)
    return _done("out")


@router.post("/signed-in/passphrase")
def change_passphrase(request: Request, posted: Form, session: ReadSession, now: Now) -> Response:
    """The old one is asked for: a phone left open on a bench must not be enough."""
    signed = _signed(request)
    form = forms.passphrase_form(posted.fields)
    name = builders.name_of(session, signed.whose)
    failed = _tried(request, session, name, signed.whose, form.old, now, "old")
    if failed is not None:
        refused = BadInput((failed.error,), {})
        return render(request, _signed_in_page(request, session, now, refused=refused), status=422)
    try:
        with write_session(request.app.state.engine) as writing:
            builders.set_passphrase_of(writing, request.app.state.settings.data, signed.whose, form.new)
            service.end_all(writing, signed.whose, now, but=signed.id)
    except BadInput as refused:
        return render(request, _signed_in_page(request, session, now, refused=refused), status=422)
    return _done("passphrase")


@router.post("/signed-in/builders")
def add_builder(request: Request, posted: Form, session: ReadSession, now: Now) -> Response:
    """Raises NotFound for who does not own the server."""
    if _signed(request).whose != OWNER:
        raise NotFound("Only who owns the server lets further builders in.")
    typed = posted.fields
    try:
        with write_session(request.app.state.engine) as writing:
            builders.add_builder(writing, typed.get("name", ""), typed.get("first", ""), now)
    except BadInput as refused:
        return render(request, _signed_in_page(request, session, now, refused=refused), status=422)
    return _done("builder")


def _done(told: str) -> Response:
    return RedirectResponse(f"{urls.door.signed_in()}?told={told}", 303)
