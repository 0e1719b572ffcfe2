"""One line: what it joins, whether it may go, its photos before and after, and what can be done with it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from server.core.lines.delete import Broken, Deletion
from server.core.lines.ledger import Closing, Family, Medium, family_of
from server.core.lines.rules.rule import Danger
from server.core.phrase import say
from server.core.units import System
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.connecting.page import LedgerWords, Told, out_words
from server.features.ledger.page import line_detail
from server.features.photos.page import LINE_AFTER, LINE_BEFORE, Album, Picture, album
from server.web import urls
from server.web.view import Caution, FormState, Option, Page

if TYPE_CHECKING:
    from server.features.ledger.store import Rows
    from server.features.ledger.tables import LedgerLine

SHOWS = {LINE_BEFORE: "before", LINE_AFTER: "after"}
"""What a photo of a line may show, by the kind that it is kept under."""
CAUTIONS = {
    Family.FUEL: Caution(
        "DANGER",
        "Fuel under pressure sprays and lights. Relieve it, earth lead off, no flame or lamp that is not"
        " made for it, extinguisher at hand. Local codes and licensed practice come first.",
    ),
    Family.COOLANT: Caution(
        "WARNING", "Hot coolant scalds: open it cold only, and catch it: it poisons animals."
    ),
    Family.OIL: Caution("WARNING", "Hot oil burns, and on the turbine it lights: let both cool first."),
    Family.ELECTRICAL: Caution(
        "WARNING", "The battery’s earth off first. Airbag wiring is for a licensed hand."
    ),
    Family.GAS: Caution(
        "WARNING",
        "Never try the engine with a boost signal, brake servo or vapour line open. The makers’ papers,"
        " local codes and licensed practice come first.",
    ),
}


@dataclass(frozen=True, slots=True)
class BrokenLine:
    """A rule that breaks without a line, with what is found."""

    title: str
    href: str
    text: str
    injury: bool


@dataclass(frozen=True, kw_only=True)
class LinePage(Page):
    """A line: whether it may be taken out, and the form that does it; what closes its points where it is out.

    off: an end of it hangs loose; joined: an end of it is on; before: what it joined, where that differs.
    pair: its newest photos, before and after.
    """

    template: ClassVar[str] = "linesheet/line.html"
    fragments: ClassVar[dict[str, str]] = {"line": "line"}

    build_id: int
    id: int
    version: int
    tag: int
    name: str
    detail: str
    joins: str
    off: bool
    joined: bool
    before: str
    pair: tuple[tuple[str, Picture], ...]
    photos: Album
    picturing: FormState
    shows: tuple[Option, ...]
    may: str
    stops: tuple[str, ...]
    capped: tuple[BrokenLine, ...]
    left_open: tuple[BrokenLine, ...]
    unit: str
    plugs: tuple[str, ...]
    law: str
    out: str
    form: FormState
    options: tuple[Option, ...]
    caution: Caution


def line_page(
    build: Face,
    row: "LedgerLine",
    rows: "Rows",
    told: Told,
    found: Deletion | None,
    pictures: Mapping[str, Sequence[Picture]],
    refused: Refused | None,
    now: datetime,
) -> LinePage:
    """found: the answer, None for a line that is out already. pictures: by the kind they are kept under."""
    words = LedgerWords(build.id, build.system, rows, told)
    of_photo = refused is not None and "shows" in refused.typed
    form, picturing = FormState(), FormState.of(refused)
    if not of_photo:
        form, picturing = picturing, form
    return LinePage(
        **heading(build, row.name[:1].upper() + row.name[1:], now.date(), within="Lines"),
        build_id=build.id,
        id=row.key,
        version=row.version,
        tag=row.tag,
        name=row.name,
        detail=line_detail(row, build.system),
        joins=words.joins(row.name, row.first_id, row.second_id),
        off=len(row.ends) < 2,
        joined=bool(row.ends),
        before=words.was(row),
        pair=tuple((words, pictures[kind][-1]) for kind, words in SHOWS.items() if pictures.get(kind)),
        photos=replace(
            album([one for kind in SHOWS for one in pictures.get(kind, ())[:-1]]),
            pair=album([pictures[kind][-1] for kind in SHOWS if pictures.get(kind)]).pair,
        ),
        picturing=picturing,
        shows=tuple(Option(kind, words.capitalize()) for kind, words in SHOWS.items()),
        may=found.may.value if found is not None else "",
        stops=found.stops if found is not None else (),
        capped=_broken(found.capped, build.system) if found is not None else (),
        left_open=_broken(found.left_open, build.system) if found is not None else (),
        unit=found.unit if found is not None else "",
        plugs=tuple(f"{one.port.name}: {one.with_what}" for one in found.plugs) if found is not None else (),
        law=found.law if found is not None else "",
        out=out_words(row, now) if found is None else "",
        form=form,
        options=tuple(Option(one, one) for one in (Closing.CAPPED, Closing.REMOVED)),
        caution=CAUTIONS[family_of(Medium(row.medium))],
    )


def _broken(some: Sequence[Broken], system: System) -> tuple[BrokenLine, ...]:
    return tuple(
        BrokenLine(
            one.rule.title,
            f"{urls.line_rules()}#{one.rule.code}",
            say(one.finding.phrase, system),
            one.rule.danger is Danger.INJURY,
        )
        for one in some
    )
