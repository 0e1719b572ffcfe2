"""The second look: every closed connection seen by two people, or by one at two times."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

APART = timedelta(hours=8)
"""Two looks by one person count as two from here on: a night between. Source: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Connection:
    """A line in the car, or a point that is closed without one.

    item: "line.3" or "point.7"; state: differs as soon as anything about it was changed; closed: nothing of
    it is open.
    """

    item: str
    name: str
    state: str
    closed: bool


@dataclass(frozen=True, slots=True)
class Look:
    """Somebody followed a connection from end to end, and found it in this state."""

    item: str
    state: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Looked:
    """A connection with the looks that count, one or two or none; what is open has none."""

    connection: Connection
    looks: tuple[Look, ...]

    @property
    def enough(self) -> bool:
        return len(self.looks) == 2


def looked(connections: Sequence[Connection], looks: Iterable[Look]) -> tuple[Looked, ...]:
    """Each connection with its looks. Those at another state of it no longer count. Source: definition."""
    found: dict[tuple[str, str], list[Look]] = {}
    for look in sorted(looks, key=lambda one: one.at):
        found.setdefault((look.item, look.state), []).append(look)
    return tuple(Looked(one, _counting(one, found.get((one.item, one.state), []))) for one in connections)


def _counting(connection: Connection, looks: Sequence[Look]) -> tuple[Look, ...]:
    if not connection.closed or not looks:
        return ()
    first = looks[0]
    second = next((one for one in looks[1:] if _another(first, one)), None)
    return (first,) if second is None else (first, second)


def _another(first: Look, second: Look) -> bool:
    return _who(first) != _who(second) or second.at - first.at >= APART


def _who(look: Look) -> str:
    return " ".join(look.by.casefold().split())
