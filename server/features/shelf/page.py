"""The shelf: what lies in the garage, whole pieces and off-cuts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.buying.part import OffCutFace, PartFace
from server.core.buying.stock import Supply
from server.core.units import Kind
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.parts.page import Asked, Sheets, asked_for
from server.web import urls
from server.web.view import FormState, News, Page, Quantity, Undo
from server.web.words import counted

SHOWN_CUTS = 12
"""Off-cuts of one part before the rest is told as a number."""


@dataclass(frozen=True, slots=True)
class CutLine:
    """One off-cut."""

    id: int
    length: Quantity
    note: str


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """A part that lies there: how many, how many of them nothing calls for, and its off-cuts."""

    id: int
    href: str
    name: str
    about: str
    in_hand: int
    cuts: tuple[CutLine, ...]
    more_cuts: int
    count_form: FormState


@dataclass(frozen=True, kw_only=True)
class ShelfPage(Page):
    """What lies in the garage, and the form for an off-cut."""

    template: ClassVar[str] = "shelf/shelf.html"
    fragments: ClassVar[dict[str, str]] = {"shelf": "shelf"}

    build_id: int
    name: str
    start: int
    sheets_of: Sheets
    lines: tuple[ShelfLine, ...]
    cuttable: tuple[str, ...]
    news: News | None
    message: str
    form: FormState


@dataclass(frozen=True, slots=True)
class RefusedForm:
    """A form that was refused, and whose count it was; 0 for the form of an off-cut."""

    refused: Refused | None = None
    part_id: int = 0


FIRST_SHOWN = RefusedForm()


def _about(part: PartFace, supply: Supply | None, build: Face) -> str:
    """E.g. "each 2000 mm · 3 called for by nothing yet · 2 spares wanted: seals once only"."""
    words = []
    if part.stock_length is not None:
        words.append(f"each {Quantity.of(part.stock_length, Kind.length, build.system).text}")
    if supply and supply.allotted:
        taken = supply.in_hand - supply.spare
        words += [f"{taken} for tasks"] if taken else []
        words += [f"{supply.spare} over"] if supply.spare else []
    if part.spares:
        words.append(f"{counted(part.spares, 'spare')} wanted: {part.spare_reason}")
    if supply and supply.unusable:
        words.append(f"{supply.unusable} wrong or damaged, not counted")
    return " · ".join(words)


def shelf_page(
    build: Face,
    parts: Sequence[PartFace],
    supplies: Mapping[int, Supply],
    off_cuts: Sequence[OffCutFace],
    ask: Asked,
    today: date,
    told: int,
    refused: RefusedForm,
) -> ShelfPage:
    """`off_cuts` with those used up; `told`: the number of one just put there or used up, else 0."""
    cuts: dict[int, list[OffCutFace]] = {}
    for one in off_cuts:
        if not one.used:
            cuts.setdefault(one.part_id, []).append(one)
    lying = [part for part in parts if part.id in cuts or _in_hand(supplies.get(part.id))]
    found = asked_for(lying, ask)
    sheets = Sheets.of(len(found), ask, urls.shelf(build.id))
    news = next((one for one in off_cuts if one.id == told), None)
    names = {part.id: part.name for part in parts}
    form = FormState.of(refused.refused if not refused.part_id else None)
    count_form = FormState.of(refused.refused)
    return ShelfPage(
        **heading(build, "Shelf", today),
        build_id=build.id,
        name=ask.name,
        start=sheets.first - 1,
        sheets_of=sheets,
        lines=tuple(
            _line(
                build,
                part,
                supplies.get(part.id),
                cuts.get(part.id, []),
                count_form if part.id == refused.part_id else FormState(),
            )
            for part in found[sheets.first - 1 : sheets.last]
        ),
        cuttable=tuple(part.name for part in parts if part.stock_length is not None)[:60],
        news=None if news is None else _news_of_cut(build, news, names[news.part_id]),
        message=" ".join(error.message for error in count_form.errors) if refused.part_id else "",
        form=form,
    )


def _in_hand(supply: Supply | None) -> int:
    return supply.in_hand if supply else 0


def _line(
    build: Face, part: PartFace, supply: Supply | None, cuts: Sequence[OffCutFace], form: FormState
) -> ShelfLine:
    return ShelfLine(
        part.id,
        urls.part(build.id, part.id),
        part.name,
        _about(part, supply, build),
        _in_hand(supply),
        tuple(
            CutLine(one.id, Quantity.of(one.length, Kind.length, build.system), one.note)
            for one in cuts[:SHOWN_CUTS]
        ),
        max(len(cuts) - SHOWN_CUTS, 0),
        form,
    )


def _news_of_cut(build: Face, cut: OffCutFace, part_name: str) -> News:
    what = f"{Quantity.of(cut.length, Kind.length, build.system).text} of {part_name}"
    where = urls.off_cut_use(build.id, cut.id)
    if cut.used:
        return News(f"Used up: {what}.", undo=Undo(where, (("used", "no"),), "It lies here after all"))
    return News(f"On the shelf: {what}.", undo=Undo(where, (("used", "yes"),), "Not there"))
