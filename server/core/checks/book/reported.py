"""What a check itself reports of the signs of its formula: its numbers beside the letters."""

import re
from collections.abc import Mapping
from functools import lru_cache

from server.core.checks.answer import Check, Finding
from server.core.checks.book.explained import Explained, Told
from server.core.checks.book.signs import Sign

_NUMBER = re.compile(r"\d+")


def reported(explained: Explained, check: Check) -> Mapping[Sign, float]:
    """The values [SI] of the signs that a check reports, of what it tells first; the others are left out.

    The book's example names the finding that each such sign is read from; here it is the finding of the
    same kind, about the same piece or joint where there is one. Source: the rule's own.
    """
    found: dict[Sign, float] = {}
    for told in _told(explained):
        finding = _alike(check, told.item)
        value = None if finding is None else getattr(finding, told.field)
        if isinstance(value, float):
            found[told.sign] = value
    return found


@lru_cache(maxsize=128)
def _told(explained: Explained) -> tuple[Told, ...]:
    """Which signs the check reports, as the example says; the example itself need not be worked for that."""
    return explained.example().told


def _alike(check: Check, item: str) -> Finding | None:
    """The finding of the kind that an item of the example is of, about what the check tells first."""
    shape = _NUMBER.sub("", item)
    alike = [one for one in check.items if _NUMBER.sub("", one.item) == shape]
    first = check.finding
    near = [one for one in alike if first and (one.concerns, one.number) == (first.concerns, first.number)]
    return next(iter(near or alike), None)
