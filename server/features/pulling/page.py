"""The page for the car: which hose comes off, the number for both its ends, photos before and after."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from server.core.lines.ledger import Medium
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.ledger.page import CAUTION
from server.features.photos.page import LINE_AFTER
from server.web import urls
from server.web.view import Caution, FormState, Option, Page, Undo

if TYPE_CHECKING:
    from server.features.ledger.store import Rows
    from server.features.ledger.tables import LedgerLine

FURTHER = 15
"""So many free numbers are known after the next one: as many new hoses may come off without signal."""


@dataclass(frozen=True, slots=True)
class Hose:
    """A line that is still joined. tag: its number, or the one that it gets; value: what its button says."""

    tag: int
    name: str
    joins: str
    value: str


@dataclass(frozen=True, slots=True)
class Off:
    """The hose that has just come off, and the way to put it back."""

    tag: int
    name: str
    href: str
    photos: str
    undo: Undo


@dataclass(frozen=True, kw_only=True)
class PullPage(Page):
    """Every line that may come off, one tap each; and the form of one that is not in the ledger.

    free: the number for that one, and the next ones.
    """

    template: ClassVar[str] = "pulling/pull.html"

    build_id: int
    off: Off | None
    hoses: tuple[Hose, ...]
    free: tuple[int, ...]
    media: tuple[Option, ...]
    after: str
    form: FormState
    caution: Caution = CAUTION


def pull_page(
    build: Face,
    rows: "Rows",
    off: "LedgerLine | None",
    first: int | None,
    refused: Refused | None,
    today: date,
) -> PullPage:
    """off: the line that has just come off; first: the number of one that is to stand first."""
    joined = [row for row in rows.lines if row.in_car and row.ends]
    free = rows.free_tags(len(joined) + 1 + FURTHER)
    numbers = iter(free)
    given = [(row, row.tag or next(numbers)) for row in joined]
    given.sort(key=lambda one: (one[0].key != first, one[1]))
    names = {point.key: point.name for point in rows.points}
    hoses = tuple(
        _hose(row, tag, names) for row, tag in sorted(given, key=lambda one: (one[0].key != first, one[1]))
    )
    return PullPage(
        **heading(build, "Pull a hose", today, within="Lines"),
        build_id=build.id,
        off=_off(build.id, off) if off is not None else None,
        hoses=hoses,
        free=tuple(numbers)[: 1 + FURTHER],
        media=(Option("", "choose"), *(Option(one, one) for one in Medium)),
        after=LINE_AFTER,
        form=FormState.of(refused),
    )


def _hose(row: "LedgerLine", tag: int, names: dict[int, str]) -> Hose:
    ends: Sequence[str] = [names[end].removeprefix(f"{row.name}, ") for end in row.ends]
    return Hose(tag, row.name, " to ".join(ends), f"{row.key}-{tag}")


def _off(build_id: int, row: "LedgerLine") -> Off:
    return Off(
        row.tag,
        row.name,
        urls.ledger.may_go(build_id, row.key),
        urls.ledger.line_photos(build_id, row.key),
        Undo(urls.ledger.joined(build_id, row.key), (), "Undo: it is still on"),
    )


PRINTED = 24
"""So many free numbers are printed besides those in use."""


@dataclass(frozen=True, kw_only=True)
class TagsPage(Page):
    """Numbers to print, cut out and tape on: those in use, then free ones, two of each."""

    template: ClassVar[str] = "pulling/tags.html"

    build_id: int
    used: tuple[int, ...]
    free: tuple[int, ...]


def tags_page(build: Face, rows: "Rows", today: date) -> TagsPage:
    return TagsPage(
        **heading(build, "Numbers", today, within="Lines"),
        build_id=build.id,
        used=tuple(sorted(row.tag for row in rows.lines if row.in_car and row.tag)),
        free=rows.free_tags(PRINTED),
    )
