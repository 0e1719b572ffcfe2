"""Whether an open page still shows how its build stands.

A page carries the state of the build that it was made from; a phone that has it open asks every ten seconds
whether that is still the state, and asks for the page again where it is not.
"""

from dataclasses import dataclass

from sqlmodel import Session
from starlette.requests import Request

from server.web import urls

READ = "state of the build that was read"
"""Noted in a session by whoever reads the build."""


@dataclass(frozen=True, slots=True)
class Live:
    """Where a page asks how the build stands, and what the answer was when the page was made."""

    address: str
    revision: str


def live(request: Request) -> Live | None:
    """None for pages that belong to no build."""
    session: Session | None = getattr(request.state, "session", None)
    revision = session.info.get(READ) if session is not None else None
    if revision is None:
        return None
    path = request.path_params
    if "token" in path:
        return Live(urls.helping.sheet_revision(path["token"]), revision)
    return Live(urls.helping.revision(path["build_id"]), revision) if "build_id" in path else None
