"""A copy of the data every night while the server runs, and which of the copies are kept.

They are folders as `backup` makes them, under names of their own, so that no other copy is ever removed.
Photos that an earlier copy has are not written again. A copy on the same disk saves from slips, not from a
broken disk: `doctor` says so.
"""

import logging
import shutil
from collections.abc import Callable, Iterable
from datetime import datetime, timedelta
from itertools import islice
from pathlib import Path
from threading import Event, Thread

from server.keeping import PARTIAL, Unusable, make_copy
from server.settings import Settings

log = logging.getLogger("witness_mark")

PREFIX, STAMP = "nightly-", "%Y-%m-%d-%H%M%S"
HOUR = 3
"""Of the night, on the clock on the wall: nobody is in the garage."""
DAILY, WEEKLY, MONTHLY = 7, 4, 12
"""How many days, weeks and months back the newest copy of each is kept; common practice, no source."""
LOOK_EVERY = 600.0
"""How often it is looked whether a copy is due [s]: a machine that slept does not count the time."""
TRY_AGAIN = 3600.0
"""How long after a copy that could not be made [s]."""
SETTLED = 10.0
"""How long after the start the first copy may be made [s]: first pages come first."""


def to_keep(
    made: Iterable[datetime], daily: int = DAILY, weekly: int = WEEKLY, monthly: int = MONTHLY
) -> set[datetime]:
    """Which copies stay: the newest of each of the last days, ISO weeks and months that have one.

    Days without a copy do not count, so that a summer without the garage loses nothing. The newest of all is
    always among them.
    """
    newest_first = sorted(set(made), reverse=True)
    kept = set(newest_first[:1])
    for count, period in (
        (daily, lambda at: at.date()),
        (weekly, lambda at: at.isocalendar()[:2]),
        (monthly, lambda at: (at.year, at.month)),
    ):
        newest: dict[object, datetime] = {}
        for at in newest_first:
            newest.setdefault(period(at), at)
        kept |= set(islice(newest.values(), count))
    return kept


def due(newest: datetime | None, now: datetime) -> bool:
    """Whether there is no copy, or a night came since the newest. Both on the clock on the wall."""
    if newest is None:
        return True
    night = newest.replace(hour=HOUR, minute=0, second=0, microsecond=0)
    return now >= (night if newest < night else night + timedelta(days=1))


def copies_in(folder: Path) -> dict[datetime, Path]:
    """The nightly copies of a folder by the moment they were made, on the wall's clock, oldest first."""
    found = {}
    for path in sorted(folder.glob(f"{PREFIX}*")) if folder.is_dir() else ():
        try:
            at = datetime.strptime(path.name.removeprefix(PREFIX), STAMP)
        except ValueError:
            continue  # not one of ours, or never finished
        if path.is_dir():
            found[at] = path
    return found


def copy_now(settings: Settings, folder: Path, now: datetime) -> Path:
    """Make a copy, then remove those that are not kept; the new one. Raises Unusable."""
    for left in folder.glob(f"{PREFIX}*{PARTIAL}"):
        shutil.rmtree(left)
    before = copies_in(folder)
    newest = before[max(before)] if before else None
    made = folder / f"{PREFIX}{now:{STAMP}}"
    make_copy(settings, made, newest)
    there = copies_in(folder)
    for at in there.keys() - to_keep(there):
        shutil.rmtree(there[at])
    return made


def copy_when_due(settings: Settings, now: datetime) -> Path | None:
    """The copy that was due, none where none was or copies are off. Raises Unusable."""
    wall = now.replace(tzinfo=None)
    if settings.copies is None or not due(max(copies_in(settings.copies), default=None), wall):
        return None
    return copy_now(settings, settings.copies, wall)


class Nightly:
    """Copies beside a running server, in a thread of its own, until it is told to stop."""

    def __init__(self, settings: Settings, clock: Callable[[], datetime]) -> None:
        self.settings = settings
        self.clock = clock
        self._stop = Event()
        self._thread = Thread(target=self._run, name="nightly copies", daemon=True)

    def start(self) -> None:
        if self.settings.copies is not None and self.settings.database_url.startswith("sqlite:///"):
            self._thread.start()

    def stop(self) -> None:
        """A copy that is being made is left unfinished; the next one clears it away."""
        self._stop.set()

    def _run(self) -> None:
        wait = SETTLED
        while not self._stop.wait(wait):
            wait = LOOK_EVERY
            try:
                copy_when_due(self.settings, self.clock())
            except (Unusable, OSError) as error:
                log.error("no copy could be made: %s", error)
                wait = TRY_AGAIN
