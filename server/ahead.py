"""What first pages rest on, worked out while nobody waits: a server that has just begun knows none of it.

The checks of every design, and what to measure next, cost more than all else together; after this the first
page of the morning comes as quickly as those after it.
"""

from collections.abc import Callable
from datetime import datetime
from threading import Event, Thread

from sqlalchemy import Engine
from sqlmodel import Session

from server.features.builds.store import all_builds
from server.features.measuring.service import measuring_page


def work_ahead(engine: Engine, clock: Callable[[], datetime], stopped: Event) -> None:
    """Work out what to measure next, and all that this rests on, for each build; the newest build first.

    What goes wrong here goes wrong on the page that asks, too, and is told there.
    """
    with Session(engine) as session:
        numbers = [build.id for build in all_builds(session, None) if build.id is not None]
    for number in numbers:
        if stopped.is_set():
            return
        with Session(engine) as session:
            measuring_page(session, number, clock())


class Ahead:
    """That work beside a running server, in a thread of its own, once; no further build once told to stop."""

    def __init__(self, engine: Engine, clock: Callable[[], datetime]) -> None:
        self._stopped = Event()
        self._thread = Thread(
            target=work_ahead, args=(engine, clock, self._stopped), name="work ahead", daemon=True
        )

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        self._stopped.set()
