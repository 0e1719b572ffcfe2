"""Addresses of labels. An address says all that is asked; only a cookie with the sizes typed is kept."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.db import ReadSession
from server.errors import BadInput
from server.features.labels import forms, service
from server.web import urls
from server.web.clock import Now
from server.web.handout import hand_out
from server.web.render import render

router = APIRouter(include_in_schema=False)
LABELS = "/builds/{build_id}/labels"
A_YEAR = 365 * 86400
HERE = ("127.0.0.1", "localhost", "::1")
"""Names that every machine has for itself."""


def _asked(request: Request) -> service.Asked:
    """Codes are for phones: where this machine asks itself, they carry a name that others know it by."""
    settings, own = request.app.state.settings, request.url
    names = (own.hostname or settings.host, *settings.extra_hosts)
    others = [name for name in names if name not in HERE]
    base = own.replace(hostname=others[0]) if others else own
    return service.Asked(
        request.query_params.multi_items(),
        forms.kept_sizes(request.cookies.get(forms.COOKIE, "")),
        f"{base.scheme}://{base.netloc}",
        frozenset(names),
    )


@router.get(LABELS)
def show_labels(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    here = request.app.state.settings.loopback
    shown, cookie = service.labels_page(session, build_id, _asked(request), now, only_here=here)
    answer = render(request, shown, 422 if shown.form.errors else 200)
    if cookie and request.query_params.keys() & set(forms.SIZES):
        answer.set_cookie(forms.COOKIE, cookie, max_age=A_YEAR, samesite="lax", httponly=True)
    return answer


@router.get(LABELS + ".pdf")
def hand_out_labels(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return _file(request, build_id, session, now, trial=False)


@router.get(LABELS + "/trial.pdf")
def hand_out_trial(request: Request, build_id: int, session: ReadSession, now: Now) -> Response:
    return _file(request, build_id, session, now, trial=True)


def _file(request: Request, build_id: int, session: ReadSession, now: Now, *, trial: bool) -> Response:
    """The file; where there is nothing to print, the page says why."""
    try:
        found = service.pdf(session, build_id, _asked(request), now, trial=trial)
    except BadInput:
        found = None
    if found is None:
        query = request.url.query
        return RedirectResponse(
            f"{urls.labels.sheet(build_id)}{'?' if query else ''}{query}", status_code=303
        )
    return hand_out(found, "application/pdf")
