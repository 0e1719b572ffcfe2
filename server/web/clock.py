"""The clock of a request, so that a test or a demo can set it."""

from datetime import datetime
from typing import Annotated

from fastapi import Depends, Request


async def _now(request: Request) -> datetime:
    moment: datetime = request.app.state.clock()
    return moment


Now = Annotated[datetime, Depends(_now)]
"""The present moment with the garage's own offset; stored times come back in UTC."""


async def _actor(request: Request) -> str:
    name: str = request.state.actor
    return name


Actor = Annotated[str, Depends(_actor)]
"""Who acts: the builder, or the name on a helper's link."""
