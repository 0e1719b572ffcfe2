"""How the build goes, as a page for anybody who has the link."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from server.core.tube.isometric.sheet import Sheet
from server.features.builds.page import Face
from server.features.photos.page import Picture
from server.web import urls
from server.web.view import Page, TitleBlock
from server.web.words import date_text, day_text


@dataclass(frozen=True, slots=True)
class DoneLine:
    """A task that is done, and the day."""

    day: str
    title: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """A chosen design and its drawing."""

    name: str
    drawing: Sheet


@dataclass(frozen=True, slots=True)
class FeedEntry:
    """Something that happened, for the feed. id: the same for as long as it is there."""

    id: str
    title: str
    at: datetime
    picture: str
    """Address of the photo; empty where there is none."""


@dataclass(frozen=True, kw_only=True)
class ShowPage(Page):
    """Stage, work, drawings and photos. Nothing on it leads further than its photos and its feed."""

    template: ClassVar[str] = "showing/show.html"

    token: str
    car: str
    stage: str
    done: int
    total: int
    next: tuple[str, ...]
    lately: tuple[DoneLine, ...]
    drawings: tuple[Drawn, ...]
    photos: tuple[Picture, ...]
    until: str
    feed: str


def show_page(
    build: Face,
    token: str,
    counts: tuple[int, int],
    next_titles: Sequence[str],
    lately: Iterable[tuple[date, str]],
    drawings: Iterable[Drawn],
    photos: Iterable[Picture],
    until: date,
    today: date,
) -> ShowPage:
    """counts: of the tasks those done and all; lately: day and title of those done last, newest first."""
    done, total = counts
    return ShowPage(
        title=TitleBlock(build.name, "How it goes", today, build.stage),
        token=token,
        car=build.car,
        stage=build.stage,
        done=done,
        total=total,
        next=tuple(next_titles),
        lately=tuple(DoneLine(day_text(day), title) for day, title in lately),
        drawings=tuple(drawings),
        photos=tuple(photos),
        until=date_text(until),
        feed=urls.helping.feed(token),
    )
