"""Error pages that help: what happened, and what to do next. One shape for page, fragment and JSON."""

import errno
import json
import logging
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import DataError, DBAPIError, OperationalError
from starlette.exceptions import HTTPException
from starlette.responses import Response

from server.errors import BadInput, KeyReused, WitnessMarkError
from server.web.render import VARY, render_text, wants_json

log = logging.getLogger("witness_mark")

WORDS = {
    400: "That request can't be read",
    401: "Sign in first",
    403: "Not allowed",
    404: "Nothing here",
    405: "That can't be done here",
    409: "Still in progress",
    412: "Changed meanwhile",
    413: "Too large",
    422: "Something typed can't be used",
    428: "Which version?",
    429: "Too many tries",
    500: "Our fault",
    503: "The database does not answer",
    507: "The disk is full",
}
HELP = {
    401: "Open the sign-in page in another tab, then come back and send this again.",
    404: "The page may have been removed, or the address mistyped.",
    405: "The address is right, the way of asking is not.",
    413: "Go back, where what you typed still stands, and choose something smaller: a picture may have up to "
    "12 MB.",
    500: "Nothing of this request was stored. Go back and try again; if it happens again, "
    "look at the server's log.",
    503: "Whether this was kept is not known. Send it again as it is in a moment: it acts once.",
    507: "Nothing was lost that was saved before. Free some space on the server, then send this again.",
}


@dataclass(frozen=True, slots=True)
class ErrorText:
    """What an error page says."""

    status: int
    heading: str
    message: str
    help: str
    resend_to: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    """Where what was typed can be sent again as a new form, and what it was."""


def error_response(
    request: Request, status: int, message: str = "", typed: Mapping[str, str] | None = None
) -> Response:
    """An answer for an error, as a page or as `{"errors": [...]}`.

    typed: fields that can be sent again, as they are, under a fresh operation key.
    """
    text = ErrorText(
        status,
        WORDS.get(status, "That did not work"),
        message,
        HELP.get(status, ""),
        request.url.path if typed is not None else "",
        typed or {},
    )
    headers = {"Vary": VARY, "Cache-Control": "no-store"}
    if wants_json(request):
        told = {"field": "", "message": message or text.heading, "accepts": text.help}
        return Response(json.dumps({"errors": [told]}), status, headers, "application/json")
    return Response(render_text("error.html", error=text), status, headers, "text/html")


def add_error_pages(app: FastAPI) -> None:
    """Map every error that can leave a route to its page."""

    def known(request: Request, error: Exception) -> Response:
        assert isinstance(error, WitnessMarkError)
        if isinstance(error, BadInput) and wants_json(request):
            return bad_input_json(error)
        typed = error.typed if isinstance(error, KeyReused) else None
        return error_response(request, error.status, str(error), typed)

    def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        return error_response(request, error.status_code, error.detail if error.status_code < 500 else "")

    def validation(request: Request, _error: Exception) -> Response:
        return error_response(request, 404 if request.method == "GET" else 422, "That address can't be read.")

    def database(request: Request, error: Exception) -> Response:
        log.error("database: %s", error)
        return error_response(request, _status(error))

    def files(request: Request, error: Exception) -> Response:
        """A photo that the disk has no room for is said like a row it has no room for."""
        assert isinstance(error, OSError)
        if error.errno in {errno.ENOSPC, errno.EDQUOT}:
            log.error("files: %s", error)
            return error_response(request, 507)
        return unknown(request, error)

    def out_of_range(request: Request, error: Exception) -> Response:
        """A number in the address that no row can have; any other overflow is a fault of ours."""
        numbers = re.findall(r"\d{10,}", request.url.path)
        return error_response(request, 404) if numbers else unknown(request, error)

    def unknown(request: Request, error: Exception) -> Response:
        log.error("%s %s failed", request.method, request.url.path, exc_info=error)
        return error_response(request, 500)

    app.add_exception_handler(WitnessMarkError, known)
    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(RequestValidationError, validation)
    app.add_exception_handler(OperationalError, database)
    app.add_exception_handler(OSError, files)
    app.add_exception_handler(OverflowError, out_of_range)
    app.add_exception_handler(DataError, out_of_range)
    app.add_exception_handler(Exception, unknown)


DATABASE_SAYS = {
    507: ("full", "disk i/o error", "no space"),
    409: ("locked",),
    503: ("connection", "starting up", "recovery mode", "shutting down"),
}
"""Words of SQLite and PostgreSQL, and the status that is answered, the first that fits."""


def _status(error: Exception) -> int:
    """What the database said, never what was typed into the statement that it refused.

    Where the disk is full SQLite may undo the whole transaction by itself; undoing a part of it then fails
    too, and what went wrong at first stands behind that.
    """
    said = " ".join(str(one.orig) for one in _behind(error) if isinstance(one, DBAPIError)).lower()
    found = (status for status, words in DATABASE_SAYS.items() if any(word in said for word in words))
    return next(found, 500)


def _behind(error: BaseException | None) -> Iterator[BaseException]:
    """An error, then those that it came of."""
    while error is not None:
        yield error
        error = error.__cause__ or error.__context__


def bad_input_json(error: BadInput) -> Response:
    """The one shape of refused input for scripts."""
    errors = [
        {"field": item.field, "message": item.message, "accepts": item.accepts} for item in error.errors
    ]
    body = json.dumps({"errors": errors}, ensure_ascii=False)
    return Response(body, error.status, {"Vary": VARY}, "application/json")
