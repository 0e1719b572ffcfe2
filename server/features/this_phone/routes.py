"""Addresses of this phone's own settings. They carry no operation key: setting them twice sets them once, and
an answer kept for a resend would not have the cookie.
"""

import ssl

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse, RedirectResponse

from server.errors import NotFound
from server.features.this_phone.page import phone_page
from server.web import urls
from server.web.assets import static
from server.web.clock import Now
from server.web.look import COOKIE, LIGHTS, Look, look_of
from server.web.posted import read_posted
from server.web.render import render

router = APIRouter(include_in_schema=False)
A_YEAR = 365 * 86400
MANIFEST = {
    "name": "Witness Mark",
    "short_name": "Witness Mark",
    "start_url": "/",
    "scope": "/",
    "display": "standalone",
    "background_color": "#f6f4ec",
    "theme_color": "#f6f4ec",
    "icons": [{"src": static("icon.svg"), "sizes": "any", "type": "image/svg+xml"}],
}


@router.get("/this-phone")
def show_phone(request: Request, now: Now) -> Response:
    return render(
        request,
        phone_page(
            look_of(request.cookies), request.url.scheme == "https", _has_authority(request), now.date()
        ),
    )


def _has_authority(request: Request) -> bool:
    has: bool = request.app.state.settings.authority.is_file()
    return has


@router.post("/this-phone")
async def set_look(request: Request) -> Response:
    """What is no light of the list counts as the phone's own."""
    typed = (await read_posted(request)).fields
    light = typed.get("light", "")
    look = Look(light if light in LIGHTS else LIGHTS[0], typed.get("gloves") == "on")
    answer = RedirectResponse(urls.this_phone(), status_code=303)
    answer.set_cookie(COOKIE, look.classes, max_age=A_YEAR, samesite="lax", httponly=True)
    return answer


@router.get("/authority.crt")
def hand_out_authority(request: Request) -> Response:
    """The home authority's certificate as phones take it (DER). Raises NotFound where none was made."""
    path = request.app.state.settings.authority
    if not path.is_file():
        raise NotFound("No home authority was made on this server: `python -m server certificate` makes one.")
    content = ssl.PEM_cert_to_DER_cert(path.read_text())
    headers = {"Content-Disposition": 'attachment; filename="witness-mark-at-home.crt"'}
    return Response(content, headers=headers, media_type="application/x-x509-ca-cert")


@router.get("/manifest.webmanifest")
def show_manifest() -> Response:
    """What a phone asks when the pages are put on its home screen (W3C Web Application Manifest)."""
    return JSONResponse(MANIFEST, media_type="application/manifest+json")
