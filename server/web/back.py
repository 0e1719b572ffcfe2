"""Where an address that only takes forms leads when opened: a refused form leaves it in the address bar.

Opened afresh, from a bookmark or by going back, it leads to the nearest page above it. A feature whose form
belongs to another page says so itself, by a route of its own.
"""

from collections.abc import Callable, Iterable

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse
from fastapi.routing import APIRoute


def ways_back(routers: Iterable[APIRouter]) -> APIRouter:
    """For every address of these routers that only takes forms, the way to the page above it."""
    routes = [route for router in routers for route in router.routes if isinstance(route, APIRoute)]
    shown = [_parts(route.path) for route in routes if "GET" in (route.methods or ())]
    found = APIRouter(include_in_schema=False)
    for path in dict.fromkeys(route.path for route in routes if "POST" in (route.methods or ())):
        parts = _parts(path)
        if not _shown(parts, shown):
            above = next(count for count in range(len(parts) - 1, 0, -1) if _shown(parts[:count], shown))
            found.add_api_route(path, _way_to(above), methods=["GET"])
    return found


def _parts(path: str) -> list[str]:
    """Of "/builds/{build_id}/work": builds, {build_id}, work."""
    return path.strip("/").split("/")


def _shown(parts: list[str], shown: Iterable[list[str]]) -> bool:
    """One of the addresses that show a page is this one; what stands in braces there may be anything."""
    return any(
        len(one) == len(parts)
        and all(theirs == ours or theirs.startswith("{") for theirs, ours in zip(one, parts, strict=True))
        for one in shown
    )


def _way_to(count: int) -> Callable[[Request], RedirectResponse]:
    """A route to the address that is made of the first parts of the one asked for."""

    def lead_back(request: Request) -> RedirectResponse:
        parts = _parts(request.url.path)[:count]
        return RedirectResponse(f"/{'/'.join(parts)}", status_code=303)

    return lead_back
