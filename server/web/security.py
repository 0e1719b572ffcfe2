"""Headers, forged posts, host names and sizes: what stands in front of every request.

One pure-ASGI middleware, so that it costs next to nothing. It answers 403 to a write that another site
sent, 400 to a request under a name that is not ours, 413 to one that sends too much, and gives every answer
the same protective headers.
"""

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.web import urls
from server.web.errors import error_response
from server.web.posted import LARGEST_ARCHIVE, LARGEST_FORM, LARGEST_UPLOAD

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "object-src 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": CONTENT_SECURITY_POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # `no-referrer` would turn Origin into null on form posts
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=()",
}
TOO_LARGE = "Too much was sent at once, so nothing of it was kept."
READING = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """Wraps the application. `hosts` are the names it may be asked under; `*` allows all."""

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        scope.setdefault("state", {}).setdefault("actor", "builder")
        problem = self._problem(scope)
        if problem is None:
            await self.app(scope, _counted(receive, _most(scope["path"], Headers(scope=scope))), send_guarded)
            return
        status, text = problem
        await error_response(Request(scope), status, text)(scope, receive, send_guarded)

    def _problem(self, scope: Scope) -> tuple[int, str] | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        name = urlsplit(f"//{host}").hostname or ""
        if "*" not in self.hosts and name not in self.hosts:
            return 400, "This server is not known under that name."
        if scope["method"] in READING:
            return None
        stated = headers.get("content-length", "")
        if stated.isascii() and stated.isdigit() and int(stated[:20]) > _most(scope["path"], headers):
            return 413, TOO_LARGE
        return forged(headers, host, scope["path"].startswith("/sums/"))


def _most(path: str, headers: Headers) -> int:
    """The longest body that is read [bytes]."""
    if not headers.get("content-type", "").lower().startswith("multipart/"):
        return LARGEST_FORM
    return LARGEST_ARCHIVE if path == urls.archives() else LARGEST_UPLOAD


def _counted(receive: Receive, most: int) -> Receive:
    """The same body, refused once more of it has come than may: not every sender states its length."""
    came = 0

    async def receive_counted() -> Message:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            raise HTTPException(413, TOO_LARGE)
        return message

    return receive_counted


def forged(headers: Headers, host: str, harmless: bool) -> tuple[int, str] | None:
    """The refusal of a write that another site made this browser send, or none.

    `harmless` addresses change nothing; they may be asked without proof of where the request came from.
    """
    refusal = (
        403,
        "This form was sent from another site, so nothing was changed. Open the page here and resend.",
    )
    site = headers.get("sec-fetch-site")
    if site is not None and site not in {"same-origin", "none"}:
        return refusal
    origin = headers.get("origin")
    if origin is not None:
        return None if urlsplit(origin).netloc == host else refusal
    proven = site == "same-origin" or "idempotency-key" in headers
    return None if proven or harmless else refusal
