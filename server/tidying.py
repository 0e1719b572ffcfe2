"""The collector of unused memory comes between two answers, so that nobody waits for it.

Amid an answer it stops everything to walk what lives only until that is sent.
"""

import asyncio
import gc

from starlette.types import ASGIApp, Receive, Scope, Send

YOUNG = 1000
"""New objects that are still there after an answer, from which on a walk is worth it."""
OFTEN = 20
"""Walks over the young after which those are walked that outlived one; and so on to the oldest."""


class Tidy:
    """Wraps the application: once an answer was sent, what it left behind is looked through."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await self.app(scope, receive, send)
        finally:
            if gc.get_count()[0] > YOUNG:
                asyncio.get_running_loop().call_soon(tidy)


def tidy() -> None:
    """One walk: over the youngest objects, or over those whose turn it is."""
    _, middle, old = gc.get_count()
    gc.collect(0 if middle < OFTEN else 1 if old < OFTEN else 2)
