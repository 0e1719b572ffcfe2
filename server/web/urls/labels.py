"""Addresses of labels to stick on."""

from collections.abc import Iterable
from urllib.parse import urlencode

Pairs = Iterable[tuple[str, str]]


def sheet(build_id: int) -> str:
    """What gets a label, and how the sheets of stickers are parted."""
    return f"/builds/{build_id}/labels"


def of(build_id: int, sort: str, number: int) -> str:
    """The same with one thing chosen; sort: shelf, part, line or piece."""
    return f"{sheet(build_id)}?{sort}={number}"


def pdf(build_id: int, typed: Pairs) -> str:
    """The labels that were asked for, to print."""
    return f"{sheet(build_id)}.pdf?{urlencode(list(typed))}"


def trial(build_id: int, typed: Pairs) -> str:
    """Their outlines for plain paper, with bars to measure."""
    return f"{sheet(build_id)}/trial.pdf?{urlencode(list(typed))}"
