"""The clock of a request, so that a test or a demo can set it."""

import logging
from datetime import datetime, timedelta
from typing import Annotated

from fastapi import Depends, Request


async def _now(request: Request) -> datetime:
    moment: datetime = request.app.state.clock()
    return moment


Now = Annotated[datetime, Depends(_now)]
"""The present moment with the garage's own offset; stored times come back in UTC."""


AHEAD = timedelta(minutes=5)
"""How far the clock of a phone may be off before its times are corrected."""

LONGEST_WAIT = timedelta(days=60)
"""An act made longer ago than this counts as made when it arrives."""

log = logging.getLogger("witness_mark")


async def _made(request: Request, now: Now) -> datetime:
    return moment_made(request.headers.get("made-at", ""), request.headers.get("sent-at", ""), now)


Made = Annotated[datetime, Depends(_made)]
"""When a reading, tick, note or delivery was made: earlier than `Now` where it waited for a signal."""


def moment_made(made_at: str, sent_at: str, now: datetime) -> datetime:
    """The moment that a phone says an act was made, in the garage's own offset; else `now`.

    made_at, sent_at: the phone's clock at the act and at this sending, ISO 8601 with offset. Where
    sent_at is off by more than `AHEAD`, the wait between the two is believed and the clock is not.
    """
    made, sent = _aware(made_at), _aware(sent_at)
    if made is None:
        return now
    if sent is not None and abs(sent - now) > AHEAD:
        log.warning("a phone's clock is off by %s; the time of its act was corrected", sent - now)
        made = now - (sent - made)
    if not now - LONGEST_WAIT <= made <= now + AHEAD:
        return now
    return min(made, now).astimezone(now.tzinfo)


def _aware(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None


async def _actor(request: Request) -> str:
    name: str = request.state.actor
    return name


Actor = Annotated[str, Depends(_actor)]
"""Who acts: the builder, or the name on a helper's link."""
