"""Many starts at once pushed to where the work can be done, and on to where it ends."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.core.work.plan.problem import FOREVER

Floats = NDArray[np.float64]
LATER = np.inf
"""The start of what finds no place in the windows given."""


@dataclass(frozen=True, slots=True)
class Calendar:
    """The times in which work can be done; none where that is always.

    opens, closes: of each time [min], and one more at the end that stands for none. before: minutes open
    before each, and in all at the end. longest: of the times [min]. splits: goes on in the next time where
    one closes.
    """

    opens: Floats
    closes: Floats
    before: Floats
    longest: float
    splits: bool

    def push(self, ready: Floats, minutes: Floats) -> tuple[Floats, Floats]:
        """Starts and finishes of work that is ready then and takes so long [min]; `LATER` where nothing fits.

        Work in one go that takes longer than the longest time is begun where that opens, and stayed late for.
        Source: as `plan.generate`.
        """
        start, finish = ready, ready + minutes
        if self.splits:
            if self.opens.size > 1 or self.longest < FOREVER:
                start, finish = self._split(ready, minutes)
        elif self.longest < FOREVER:
            start, finish = self._whole(ready, minutes)
        idle = minutes <= 0
        if idle.any():
            start, finish = np.where(idle, ready, start), np.where(idle, ready, finish)
        return start, finish

    def _split(self, ready: Floats, minutes: Floats) -> tuple[Floats, Floats]:
        opens, count = self.opens, self.opens.size - 1
        at = np.searchsorted(self.closes[:-1], ready, side="right")
        start = np.where(at < count, np.maximum(ready, opens[at]), LATER)
        due = self.before[at] + np.maximum(ready - opens[at], 0.0) + minutes
        last = np.searchsorted(self.before[1:], due, side="left")
        ends = opens[last] + (due - self.before[last])
        return start, np.where((at < count) & (last < count), ends, LATER)

    def _whole(self, ready: Floats, minutes: Floats) -> tuple[Floats, Floats]:
        opens, closes = self.opens, self.closes
        at = np.searchsorted(closes[:-1], ready, side="right")
        needs = np.minimum(minutes, self.longest)
        start = np.maximum(ready, opens[at])
        while True:
            short = start + needs > closes[at]
            if not short.any():
                return start, start + minutes
            at = at + short
            start = np.maximum(ready, opens[at])


def calendar(spans: tuple[tuple[int, int], ...], splits: bool) -> Calendar:
    """A calendar of these times [min]. Source: geometry.

    >>> calendar(((0, 120), (1440, 1500)), splits=True).push(np.array([100.0]), np.array([50.0]))[1]
    array([1470.])
    """
    opens = np.array([start for start, _ in spans], dtype=float)
    closes = np.array([end for _, end in spans], dtype=float)
    always = spans == ((-FOREVER, FOREVER),)
    longest = float((closes - opens).max(initial=0.0))
    before = np.concatenate(([0.0], np.cumsum(closes - opens)))
    goes_on = splits and not always
    opens, closes = np.append(opens, 0.0 if goes_on else LATER), np.append(closes, LATER)
    return Calendar(opens, closes, before, longest, goes_on)
