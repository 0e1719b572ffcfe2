"""Two photos side by side: which they are, or the choice of them; and the photos of a design."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.photos.page import Album, Picture, Row, album, picture
from server.web import urls
from server.web.paper import Sheet
from server.web.paper_photos import Photo, Photos
from server.web.paper_words import Heading
from server.web.view import FormState, Option, Page
from server.web.words import date_text, moment_text

GONE = "No longer in the build"
"""What a photo shows whose thing is not there any more."""


@dataclass(frozen=True, slots=True)
class Thing:
    """What photos show. key: the same for all photos of one thing; part: what of it, where that is told."""

    key: str
    name: str
    part: str = ""

    @property
    def words(self) -> str:
        return f"{self.name}, {self.part}" if self.part else self.name


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two. width, height: of the whole picture [pixels]; about: what it shows, and when."""

    label: str
    href: str
    whole: str
    alt: str
    caption: str
    about: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Group:
    """The photos of one thing, each leading on to the next choice."""

    name: str
    photos: tuple[Picture, ...]


@dataclass(frozen=True, kw_only=True)
class TwoPage(Page):
    """pair: two photos, the older one first; with one, or none, the photos to choose from follow."""

    template: ClassVar[str] = "beside/two.html"

    build_id: int
    pair: tuple[Side, ...]
    groups: tuple[Group, ...]
    again: str
    pdf: str


@dataclass(frozen=True, kw_only=True)
class DesignPhotosPage(Page):
    """The photos of a design as a whole, and of each of its pieces."""

    template: ClassVar[str] = "beside/design.html"
    fragments: ClassVar[dict[str, str]] = {"photos": "photos"}

    build_id: int
    id: int
    name: str
    albums: tuple[tuple[str, Album], ...]
    form: FormState
    shows: tuple[Option, ...]


def _thing(row: Row, things: Mapping[tuple[str, int], Thing]) -> Thing:
    return things.get((row.subject_kind, row.subject_id), Thing("", GONE))


def _older_first(rows: Sequence[Row]) -> list[Row]:
    return sorted(rows, key=lambda row: (row.added_at, row.key))


def two_page(
    build: Face,
    chosen: Sequence[Row],
    others: Sequence[Row],
    things: Mapping[tuple[str, int], Thing],
    now: datetime,
) -> TwoPage:
    """chosen: none, one or two photos; others: all that can be chosen besides, oldest first."""
    pair = _older_first(chosen)
    labels = ("Before", "After") if len(pair) == 2 else ("Chosen",)
    return TwoPage(
        **heading(build, "Before and after", now.date()),
        build_id=build.id,
        pair=tuple(
            _side(build.id, row, _thing(row, things), label, now)
            for row, label in zip(pair, labels, strict=False)
        ),
        groups=() if len(pair) == 2 else _groups(build.id, pair, others, things, now),
        again=urls.beside.two(build.id),
        pdf=urls.beside.two_pdf(build.id, *(row.key for row in pair)) if len(pair) == 2 else "",
    )


def _side(build_id: int, row: Row, thing: Thing, label: str, now: datetime) -> Side:
    return Side(
        label=label,
        href=urls.photo_sheet(build_id, row.key),
        whole=urls.photo(build_id, row.key),
        alt=picture(build_id, row, now).alt,
        caption=row.caption,
        about=f"{thing.words}; {moment_text(row.added_at, now)}",
        width=row.width,
        height=row.height,
    )


def _groups(
    build_id: int,
    chosen: Sequence[Row],
    others: Sequence[Row],
    things: Mapping[tuple[str, int], Thing],
    now: datetime,
) -> tuple[Group, ...]:
    """Those of the same thing first, then that of which the newest photo is."""
    first = chosen[0].key if chosen else 0
    found: dict[str, tuple[str, list[Picture]]] = {}
    same = _thing(chosen[0], things).key if chosen else None
    newest_first = [*reversed(others)]
    for row in sorted(newest_first, key=lambda row: _thing(row, things).key != same):
        thing = _thing(row, things)
        href = urls.beside.two(build_id, first, row.key) if first else urls.beside.two(build_id, row.key)
        found.setdefault(thing.key, (thing.name, []))[1].append(
            replace(picture(build_id, row, now), href=href)
        )
    return tuple(Group(name, tuple(photos)) for name, photos in found.values())


def sheet(
    build: Face, pair: Sequence[tuple[Row, bytes]], things: Mapping[tuple[str, int], Thing], now: datetime
) -> Sheet:
    """Two photos on paper, the older one first. pair: each with its picture."""
    contents = {row.key: content for row, content in pair}
    shown = []
    for row, label in zip(_older_first([row for row, _ in pair]), ("Before", "After"), strict=True):
        side = _side(build.id, row, _thing(row, things), label, now)
        words = ". ".join(part for part in (label, side.caption, side.about) if part)
        shown.append(Photo(contents[row.key], row.width, row.height, words))
    fields = (("Build", build.name), ("Sheet", "Before and after"), ("Made", date_text(now.date())))
    return Sheet(
        f"Before and after, {build.name}",
        fields,
        (Heading("Before and after"), Photos(tuple(shown), across=2)),
    )


def design_photos_page(
    build: Face,
    design: tuple[int, str],
    pieces: Sequence[tuple[int, str]],
    pictures: Mapping[int, Sequence[Picture]],
    now: datetime,
    refused: Refused | None,
) -> DesignPhotosPage:
    """design: number and name; pieces: number and words of each; pictures: by piece, of the whole under 0."""
    named = ((0, "the design as a whole"), *pieces)
    return DesignPhotosPage(
        **heading(build, "Photos", now.date(), within="Designs"),
        build_id=build.id,
        id=design[0],
        name=design[1],
        albums=tuple((words, album(pictures[number])) for number, words in named if pictures.get(number)),
        form=FormState.of(refused),
        shows=tuple(Option(str(number) if number else "", words) for number, words in named),
    )
