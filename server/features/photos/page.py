"""Pictures as pages show them: small ones in a row, and the sheet of one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, Protocol

from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Link, News, Page, Undo
from server.web.words import moment_text, size_text

SHOWN = 6
"""So many small pictures stand open on a page, the rest is folded."""
LINE_BEFORE, LINE_AFTER = "line before", "line after"
"""Photos of a line as it was joined, and of it and its points since."""
DESIGN, PIECE = "design", "piece"
SHEETS = {
    "log": urls.note,
    "port": urls.port,
    "reading": urls.reading,
    "task": urls.task,
    LINE_BEFORE: urls.ledger.may_go,
    LINE_AFTER: urls.ledger.may_go,
    DESIGN: urls.beside.design_photos,
    PIECE: urls.beside.piece,
}
"""The sheet of a thing that photos show, by its kind, of a build and the thing's number."""
SMALL_SIDE = 480
"""The longest side of a small picture [pixels]."""


class Row(Protocol):
    """What is stored of a photo, as far as pages need it."""

    @property
    def key(self) -> int: ...

    caption: str
    width: int
    height: int
    subject_kind: str
    subject_id: int
    added_at: datetime
    added_by: str
    original_kind: str
    original_size: int
    withdrawn_at: datetime | None


@dataclass(frozen=True, slots=True)
class Picture:
    """A small picture that leads to the sheet of the whole one. width, height: [pixels].

    original: where the picture is to be had at its full size, and words for that; None where it is not kept.
    """

    build_id: int
    id: int
    href: str
    source: str
    alt: str
    caption: str
    width: int
    height: int
    original: Link | None


@dataclass(frozen=True, slots=True)
class Album:
    """The pictures of one thing: the first ones open, the rest folded.

    pair: where the oldest and the newest stand side by side; empty where there are no two.
    """

    first: tuple[Picture, ...] = ()
    rest: tuple[Picture, ...] = ()
    pair: str = ""


@dataclass(frozen=True, kw_only=True)
class PhotoPage(Page):
    """One picture, what it shows, and the way to set it aside.

    anew: whether the original was written anew. subject: the thing that it shows, in a word; back: its sheet.
    """

    template: ClassVar[str] = "photos/photo.html"
    fragments: ClassVar[dict[str, str]] = {"photo": "photo"}

    id: int
    build_id: int
    whole: str
    alt: str
    caption: str
    width: int
    height: int
    about: str
    original: Link | None
    anew: bool
    subject: str
    back: str
    withdrawn: bool
    news: News | None


@dataclass(frozen=True, kw_only=True)
class MarksPage(Page):
    """A photo to be drawn on; what comes of it is a photo of its own, of the same thing."""

    template: ClassVar[str] = "photos/marks.html"

    id: int
    build_id: int
    whole: str
    alt: str
    width: int
    height: int
    caption: str
    form: FormState


def marks_page(build: Face, row: Row, now: datetime, refused: Refused | None) -> MarksPage:
    return MarksPage(
        **heading(build, "Mark up", now.date()),
        id=row.key,
        build_id=build.id,
        whole=urls.photo(build.id, row.key),
        alt=_alt(row, now),
        width=row.width,
        height=row.height,
        caption=f"{row.caption or 'Photo'}, marked",
        form=FormState.of(refused),
    )


def album(pictures: Sequence[Picture]) -> Album:
    pair = ""
    if len(pictures) > 1:
        pair = urls.beside.two(pictures[0].build_id, pictures[0].id, pictures[-1].id)
    return Album(tuple(pictures[:SHOWN]), tuple(pictures[SHOWN:]), pair)


def picture(build_id: int, row: Row, now: datetime) -> Picture:
    longest = max(row.width, row.height)
    share = min(1.0, SMALL_SIDE / longest)
    return Picture(
        build_id=build_id,
        id=row.key,
        href=urls.photo_sheet(build_id, row.key),
        source=urls.photo_small(build_id, row.key),
        alt=_alt(row, now),
        caption=row.caption,
        width=max(round(row.width * share), 1),
        height=max(round(row.height * share), 1),
        original=_original(build_id, row),
    )


def _original(build_id: int, row: Row) -> Link | None:
    if not row.original_kind:
        return None
    return Link(urls.photo_original(build_id, row.key), f"original, {size_text(row.original_size)}")


def _alt(row: Row, now: datetime) -> str:
    """The caption; else what it shows and when it was taken."""
    return row.caption or f"Photo of this {_subject(row)}, {moment_text(row.added_at, now)}"


def _subject(row: Row) -> str:
    return {"log": "log note", LINE_BEFORE: "line", LINE_AFTER: "line"}.get(
        row.subject_kind, row.subject_kind
    )


def photo_page(build: Face, row: Row, now: datetime) -> PhotoPage:
    withdrawn = row.withdrawn_at is not None
    news = None
    if withdrawn:
        undo = Undo(urls.photo_withdrawal(build.id, row.key), (("to", "standing"),), "Put it back")
        news = News("Set aside.", "It is shown nowhere and can be put back for 30 days.", undo=undo)
    return PhotoPage(
        **heading(build, "Photo", now.date()),
        id=row.key,
        build_id=build.id,
        whole=urls.photo(build.id, row.key),
        alt=_alt(row, now),
        caption=row.caption,
        width=row.width,
        height=row.height,
        about=f"{moment_text(row.added_at, now)}, {row.added_by}",
        original=_original(build.id, row),
        anew=row.original_kind == "WEBP",
        subject=_subject(row),
        back=SHEETS[row.subject_kind](build.id, row.subject_id),
        withdrawn=withdrawn,
        news=news,
    )
