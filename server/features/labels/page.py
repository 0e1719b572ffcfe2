"""The page on which labels are chosen, with the sheets of stickers drawn small."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web.paper_labels import Label, Stickers, has_bar, lay_out
from server.web.paper_text import unprinted
from server.web.view import FormState, Option, Page

PAPERS = (("A4", "A4"), ("letter", "US Letter"))
TITLES = {
    "shelf": "On the shelf",
    "part": "Other parts",
    "line": "Lines of the ledger",
    "piece": "Pieces of chosen designs",
}
"""Sorts of things, in the order of the page and of the sheets."""
SORTS = tuple(TITLES)
LISTED = 60
"""Things of one sort that the page lists; others are found by name."""
DRAWN = 1
"""Sheets drawn on the page; the others are parted alike."""
OF_LINES = (Option("2", "two: one on each end"), Option("1", "one"))


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which things get a label, by sort: those ticked, and sorts of which all do. name: what lists show."""

    ticked: Mapping[str, frozenset[int]]
    whole: frozenset[str]
    name: str = ""

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """The same as an address says it."""
        return [
            *(("all", sort) for sort in sorted(self.whole)),
            *((sort, str(number)) for sort in SORTS for number in sorted(self.ticked[sort])),
        ]


@dataclass(frozen=True, slots=True)
class Thing:
    """Something that can have a label, its id among its sort and what the label says."""

    sort: str
    id: int
    label: Label


@dataclass(frozen=True, slots=True)
class Tick:
    """A thing as the page lists it."""

    id: int
    number: str
    name: str
    about: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Ticks:
    """The things of one sort. chosen: how many get a label; more: how many are not listed."""

    sort: str
    title: str
    total: int
    chosen: int
    whole: bool
    listed: tuple[Tick, ...]
    more: int


@dataclass(frozen=True, slots=True)
class Drawn:
    """A label of a small sheet, from the paper's upper left corner [mm]. code: its left, top and side."""

    x: float
    y: float
    text: str
    code: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True)
class DrawnSheet:
    """A sheet drawn small: its paper and its places [mm], those without a label with their number."""

    wide: float
    high: float
    label_wide: float
    label_high: float
    places: tuple[Drawn, ...]


@dataclass(frozen=True, kw_only=True)
class LabelsPage(Page):
    """What gets a label, the sheet of stickers, and what comes of both.

    stands: what the fields show where nothing was typed; count: labels, on so many sheets_of; next_place: the
    first free one afterwards; short: names that had to be cut; pdf: empty where there is nothing to print.
    """

    template: ClassVar[str] = "labels/labels.html"

    build_id: int
    name: str
    sorts: tuple[Ticks, ...]
    stands: dict[str, str]
    papers: tuple[Option, ...]
    of_lines: tuple[Option, ...]
    hosts: tuple[str, ...]
    only_here: bool
    count: int
    sheets_of: int
    next_place: int
    drawn: tuple[DrawnSheet, ...]
    short: tuple[str, ...]
    unprinted: str
    bar: bool
    pdf: str
    trial: str
    form: FormState


@dataclass(frozen=True, slots=True)
class Printed:
    """What comes of a form that was read: the labels, their sheet, and where both are handed out."""

    labels: tuple[Label, ...]
    stickers: Stickers
    pdf: str
    trial: str


def labels_page(
    build: Face,
    things: Sequence[Thing],
    chosen: Chosen,
    stands: Mapping[str, str],
    hosts: Collection[str],
    printed: Printed | None,
    today: date,
    *,
    only_here: bool,
    refused: Refused | None,
) -> LabelsPage:
    """printed: none where the form was refused."""
    labels = printed.labels if printed else ()
    stickers = printed.stickers if printed else None
    short = (
        label.name
        for label in dict.fromkeys(labels)
        if stickers is not None and lay_out(label, stickers).short
    )
    return LabelsPage(
        **heading(build, "Labels", today, within="Build"),
        build_id=build.id,
        name=chosen.name,
        sorts=tuple(_ticks(sort, things, chosen) for sort in TITLES),
        stands=dict(stands),
        papers=tuple(Option(value, words) for value, words in PAPERS),
        of_lines=OF_LINES,
        hosts=tuple(sorted(hosts)),
        only_here=only_here,
        count=len(labels),
        sheets_of=stickers.sheets(len(labels)) if stickers and labels else 0,
        next_place=stickers.free_after(len(labels)) if stickers else 1,
        drawn=_drawn(labels, stickers) if stickers else (),
        short=tuple(short),
        unprinted=unprinted("".join(label.number + label.name + label.about for label in labels)),
        bar=stickers is not None and has_bar(stickers),
        pdf=printed.pdf if printed and labels else "",
        trial=printed.trial if printed else "",
        form=FormState.of(refused),
    )


def is_chosen(thing: Thing, chosen: Chosen) -> bool:
    """Whether it gets a label; a part is ticked as such wherever it lies."""
    return thing.sort in chosen.whole or thing.id in _ticked(thing.sort, chosen)


def _ticked(sort: str, chosen: Chosen) -> Collection[int]:
    if sort in {"shelf", "part"}:
        return chosen.ticked["shelf"] | chosen.ticked["part"]
    return chosen.ticked[sort]


def _ticks(sort: str, things: Sequence[Thing], chosen: Chosen) -> Ticks:
    """Those chosen one by one come first, so that looking for others loses none of them."""
    own = [thing for thing in things if thing.sort == sort]
    ids, words = _ticked(sort, chosen), chosen.name.casefold().split()
    ticked = [thing for thing in own if thing.id in ids]
    others = [
        thing
        for thing in own
        if thing.id not in ids and all(word in _told(thing).casefold() for word in words)
    ]
    if sort in chosen.whole:
        others = []
    listed = [*ticked, *others[: max(LISTED - len(ticked), 0)]]
    return Ticks(
        sort,
        TITLES[sort],
        len(own),
        sum(is_chosen(thing, chosen) for thing in own),
        sort in chosen.whole,
        tuple(
            Tick(one.id, one.label.number, one.label.name, one.label.about, one.id in ids) for one in listed
        ),
        len(ticked) + len(others) - len(listed),
    )


def _told(thing: Thing) -> str:
    return f"{thing.label.number} {thing.label.name} {thing.label.about}"


def _drawn(labels: Sequence[Label], stickers: Stickers) -> tuple[DrawnSheet, ...]:
    placed = {stickers.stands(index): label for index, label in enumerate(labels)}
    wide, high = stickers.page
    count = max(stickers.sheets(len(labels)), 1)
    return tuple(
        DrawnSheet(
            wide * 1e3,
            high * 1e3,
            stickers.wide * 1e3,
            stickers.high * 1e3,
            tuple(_place(placed.get((sheet, place)), place, stickers) for place in range(stickers.places)),
        )
        for sheet in range(min(count, DRAWN))
    )


def _place(label: Label | None, place: int, stickers: Stickers) -> Drawn:
    x, foot = stickers.corner(place)
    left, top = x * 1e3, (stickers.page[1] - foot - stickers.high) * 1e3
    if label is None:
        return Drawn(left, top, str(place + 1), None)
    at, up, side = lay_out(label, stickers).code
    square = left + at * 1e3, top + (stickers.high - up - side) * 1e3, side * 1e3
    return Drawn(left, top, label.number or label.name[:8], square)
