"""The links of a build: who has one, what it opens, a form for one more, and a new one as a code to scan."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

import segno

from server.core.work.hours import Visit
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.sharing.page import USUAL_DAYS, Link, Scope
from server.web import urls
from server.web.view import FormState, Option, Page
from server.web.words import clock_text, date_text, day_text, moment_text

WHOLE = "whole"
"""Of the choice what a link is for: the build, not one visit."""
MAY = {
    Scope.WORK: "look, tick, measure, write and take photos",
    Scope.LOOK: "only look",
    Scope.SHOW: "see how it goes: stage, drawings, photos; no prices, no names",
}


@dataclass(frozen=True, slots=True)
class LinkLine:
    """One link of the list. withdrawal: where it is closed; empty where it no longer opens anything."""

    name: str
    opens: str
    may: str
    stands: str
    used: str
    withdrawal: str


@dataclass(frozen=True, slots=True)
class NewLink:
    """A link that was just made: its address, shown this once, and the same as a code to scan (SVG)."""

    name: str
    address: str
    code: str


@dataclass(frozen=True, kw_only=True)
class LinksPage(Page):
    """Every link that was given out, those that still open something first."""

    template: ClassVar[str] = "links/links.html"

    build_id: int
    new: NewLink | None
    links: tuple[LinkLine, ...]
    closed: tuple[LinkLine, ...]
    is_for: tuple[Option, ...]
    scopes: tuple[Option, ...]
    days: int
    only_here: bool
    """The server answers this machine alone, so that nobody else can open a link."""
    form: FormState


def links_page(
    build: Face,
    links: Iterable[Link],
    visits: Iterable[Visit],
    now: datetime,
    *,
    only_here: bool,
    chosen: str = "",
    new: NewLink | None = None,
    refused: Refused | None = None,
) -> LinksPage:
    """visits: those that still stand; chosen: what a new link is for, as the form sends it."""
    told = {visit.id: visit_words(visit) for visit in visits}
    lines = [(link.stands(now), _line(build, link, told, now)) for link in links]
    return LinksPage(
        **heading(build, "Helpers' links", now.date(), within="Build"),
        build_id=build.id,
        new=new,
        links=tuple(line for stands, line in lines if stands),
        closed=tuple(line for stands, line in lines if not stands),
        is_for=(
            *(Option(str(at), words, str(at) == chosen) for at, words in told.items()),
            Option(WHOLE, "the whole build", chosen not in map(str, told)),
        ),
        scopes=tuple(Option(scope.value, words) for scope, words in MAY.items()),
        days=USUAL_DAYS,
        only_here=only_here,
        form=FormState.of(refused),
    )


def visit_words(visit: Visit) -> str:
    """E.g. "Jo's visit, Sat 5 Dec 09:00"."""
    return f"{visit.helper}'s visit, {day_text(visit.day)} {clock_text(visit.span.begins)}"


def _line(build: Face, link: Link, visits: dict[int, str], now: datetime) -> LinkLine:
    opens = "the whole build"
    if link.visit_id is not None:
        opens = visits.get(link.visit_id, "a visit that was called off")
    used = f"last used {moment_text(link.last_used_at, now)}" if link.last_used_at else "not used yet"
    where = urls.helping.withdrawal(build.id, link.id) if link.stands(now) else ""
    return LinkLine(link.name, opens, MAY[link.scope], _stands(link, now), used, where)


def _stands(link: Link, now: datetime) -> str:
    if link.withdrawn_at is not None:
        return f"withdrawn {moment_text(link.withdrawn_at, now)}"
    day: date = link.expires_at.astimezone(now.tzinfo).date()
    return f"until {date_text(day)}" if link.stands(now) else f"ran out {date_text(day)}"


def new_link(name: str, address: str) -> NewLink:
    """With its code: error level Q, since paper in a garage gets greasy; four modules of quiet round it.

    Source: ISO/IEC 18004 (levels, quiet zone).
    """
    code = segno.make(address, error="q", micro=False)
    return NewLink(
        name, address, code.svg_inline(scale=6, border=4, light="#fff", svgclass="code", lineclass=None)
    )
