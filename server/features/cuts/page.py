"""The cut sheet of a design: a summary, and for each piece its length, its marks and how it is turned."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from math import ceil, radians
from typing import ClassVar

from server.core.tube.centreline import Centreline
from server.core.tube.cutting.bench import Benched, MitredEnd, benched, cut_in_arc
from server.core.tube.cutting.bench_drawing import bench_drawing, clock_words
from server.core.tube.drawing import Drawing
from server.core.tube.isometric.sheet import Sheet as Isometric
from server.core.tube.nominal import SIZE_WORDS
from server.core.tube.run import PieceKind
from server.core.tube.said import parts_list_words, turn_words
from server.core.units import Kind, System, show
from server.features.builds.page import Face, heading
from server.features.evidence.page import NOTHING, Head, Row, Table, table_block
from server.features.isometric.page import NOT_TO_SCALE
from server.web import urls
from server.web.paper import Block, Sheet
from server.web.paper_drawing import Picture
from server.web.paper_isometric import IsometricPicture
from server.web.paper_words import Boxed, Gap, Heading, NewPage, Pairs, Words
from server.web.view import Caution, Link, Page
from server.web.words import date_text

SHARE_OF_A_CUT = radians(30.0)
"""Most turn of one joint in a bend that is made of pie cuts [rad]; common practice, no source."""
SAWING = Caution(
    "WARNING",
    "Clamp the piece on both sides of the saw, eyes and ears covered, no gloves at the blade; file every "
    "edge. No spark or flame by fuel; never weld or grind zinc. The saw maker's instructions, local codes "
    "and the welder have the last word.",
)
SPRINGBACK = (
    "bend it a little further than that: it springs back, by 1 to 3° at 90° in mild steel and more in "
    "stainless (common practice, no source). An off-cut of the same tube tells by how much."
)
OVAL = (
    "An end lies at its bend: cut it square, never at a slant. Bent tube is oval: measure across it both "
    "ways, dress it round before it is tacked, and weld it; it has no straight for a bead or a clamp."
)
MEASURED = (
    "Lengths run along the centre line, face to face, from the inlet; clocks count from 12 o'clock, "
    "clockwise as one looks along the flow. Paint a line along 12 o'clock on every piece before it is cut. "
    "What is left on at the first cut is for the piece of each straight that is offered up and trimmed."
)


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One mark: how far from the inlet, what it is, where round the piece."""

    at: str
    what: str
    clock: str


@dataclass(frozen=True, slots=True)
class PieceSheet:
    """One piece for the bench. facts: label and text, what is not known left out."""

    number: int
    name: str
    words: str
    drawing: Drawing
    facts: tuple[tuple[str, str], ...]
    marks: tuple[MarkRow, ...]
    templates: tuple[Link, ...]
    trims: str
    """Where its trims are written down, empty where it is not cut."""


@dataclass(frozen=True, kw_only=True)
class CutsPage(Page):
    """Everything that is sawn, marked and drilled of a run."""

    template: ClassVar[str] = "cuts/cuts.html"

    build_id: int
    design_id: int
    name: str
    subsystem: str
    summary: Table | None
    pieces: tuple[PieceSheet, ...]
    as_bought: str
    measured: str
    caution: Caution


def cuts_page(
    build: Face,
    subsystem: str,
    design_id: int,
    name: str,
    line: Centreline,
    left_on: Mapping[int, float],
    today: date,
) -> CutsPage:
    """left_on: what stays on each piece at its first cut [m], by its number."""
    found = benched(line, left_on)
    others = [str(one.piece.number) for one in found if not _on_the_bench(one)]
    return CutsPage(
        **heading(build, "Cut sheet", today, within="Subsystems", note=f"{subsystem} · {name}"),
        build_id=build.id,
        design_id=design_id,
        name=name,
        subsystem=subsystem,
        summary=_summary(found, build.system),
        pieces=tuple(_sheet(one, build.id, design_id, build.system) for one in found if _on_the_bench(one)),
        as_bought=f"Used as bought: {', '.join(others)}." if others else "",
        measured=MEASURED,
        caution=SAWING,
    )


def _on_the_bench(one: Benched) -> bool:
    """Pieces that are sawn, drilled, or turned against their neighbours."""
    return one.sawn or bool(one.piece.bungs) or one.piece.has_arc


SUMMARY = (
    Head("No.", 0.6),
    Head("Piece", 3.4),
    Head("Finished", 1.5, True),
    Head("First cut", 1.6, True),
    Head("Ends", 1.8),
    Head("Bend", 1.2, True),
    Head("Inside of it", 2.2),
)


def _summary(pieces: tuple[Benched, ...], system: System) -> Table | None:
    rows = tuple(_summary_row(one, system) for one in pieces)
    return Table("summary", "Summary", SUMMARY, rows).without_empty() if rows else None


def _summary_row(one: Benched, system: System) -> Row:
    piece, sizes = one.piece, one.line.sizes
    ends = dict.fromkeys((piece.inlet_end.value, piece.outlet_end.value))
    marks = [f"{_length(mark.at, system)} {mark.what}" for mark in one.marks if mark.clock is not None]
    cells = (
        str(piece.number),
        piece.name or piece.kind.value,
        _length(one.length, system),
        _length(one.length + one.long_by, system) if one.sawn else NOTHING,
        " and ".join(ends),
        show(sizes.angle, Kind.angle, system).text if one.inside is not None else NOTHING,
        clock_words(one.inside, system) if one.inside is not None else NOTHING,
    )
    return Row(cells, "; ".join(marks))


def _length(value: float, system: System) -> str:
    return show(value, Kind.length, system).text


def _sheet(one: Benched, build_id: int, design_id: int, system: System) -> PieceSheet:
    piece = one.piece
    return PieceSheet(
        piece.number,
        piece.name or piece.kind.value,
        parts_list_words(piece, system),
        bench_drawing(one, system),
        tuple((label, text) for label, text in _facts(one, system) if text),
        tuple(
            MarkRow(
                _length(mark.at, system),
                mark.what,
                "all round" if mark.clock is None else clock_words(mark.clock, system),
            )
            for mark in one.marks
        ),
        _templates(one),
        urls.trims(build_id, design_id, piece.id) if one.sawn else "",
    )


def _facts(one: Benched, system: System) -> list[tuple[str, str]]:
    piece, sizes = one.piece, one.line.sizes
    bend = legs = inside = ""
    if one.inside is not None:
        angle, radius = show(sizes.angle, Kind.angle, system).text, _length(sizes.radius, system)
        bend = f"{angle} on a radius of {radius}"
        legs = f"{_length(sizes.leg_in, system)} before it, {_length(sizes.leg_out, system)} after it"
        inside = clock_words(one.inside, system)
    roll = show(abs(piece.roll), Kind.angle, system).text
    turned = f"{roll} {'clockwise' if piece.roll > 0.0 else 'anticlockwise'} from {one.turned_from}"
    first = (
        f"{_length(one.length + one.long_by, system)}: {_length(one.long_by, system)} long, trimmed to fit"
    )
    return [
        ("Finished length", _length(one.length, system)),
        ("First cut", first if one.long_by > 0.0 else ""),
        ("Bend", bend),
        ("Straights", legs),
        ("Inside of the bend", inside),
        ("Turned", turned if piece.roll and one.inside is not None else ""),
        ("Then", "; ".join(turn_words(turn, system) for turn in piece.turns if not turn.is_mitre)),
        *((f"Saw at the {end.end}", _sawn(end, system)) for end in one.mitres),
        ("Ends", f"inlet {piece.inlet_end.value}, outlet {piece.outlet_end.value}"),
        ("Material", piece.material),
        ("If it is bent here", SPRINGBACK if piece.kind is PieceKind.BEND else ""),
        ("Careful", " ".join(_careful(one, system))),
    ]


def _careful(one: Benched, system: System) -> Iterator[str]:
    if one.line.assumed:
        names = ", ".join(SIZE_WORDS[name] for name in one.line.assumed)
        yield f"A stand-in for {names}: measure before cutting."
    for end in one.mitres:
        if end.short > 0.0:
            yield (
                f"The straight at the {end.end} is {_length(end.short, system)} too short for its slant, "
                "which would run into bent tube: a mitre belongs in a straight."
            )
    if cut_in_arc(one.line):
        yield OVAL


def _sawn(end: MitredEnd, system: System) -> str:
    saw = show(end.saw, Kind.angle, system).text
    return f"{saw} from square, throat at {clock_words(end.throat, system)}; length to the middle of the cut"


def _templates(one: Benched) -> tuple[Link, ...]:
    """The bench sums filled in: of each slanted end, and of a metal bend that is made of pie cuts."""
    piece, outside, sizes = one.piece, one.line.sizes.outside_in, one.line.sizes
    wall = piece.sizes["wall"].value if "wall" in piece.sizes else None
    found = [
        Link(urls.mitre(outside, 2.0 * end.saw, wall, end.towards), f"Template of the cut at the {end.end}")
        for end in one.mitres
    ]
    if piece.kind is PieceKind.BEND and sizes.radius > 0.5 * outside:
        cuts = max(1, ceil(sizes.angle / SHARE_OF_A_CUT - 1e-9))
        pies = urls.mitred_bend(outside, sizes.angle, cuts, sizes.radius, wall)
        found.append(Link(pies, "Made of pie cuts instead: its template"))
    return tuple(found)


# On paper


def sheet(page: CutsPage, drawing: Isometric | None, *, letter: bool) -> Sheet:
    """The summary on the first page with the run in space under it, then one page a piece."""
    fields = (
        ("Build", page.title.build),
        ("Cut sheet", page.subsystem),
        ("Design", page.name),
        ("Date", date_text(page.title.date)),
    )
    blocks: list[Block] = [Heading(page.title.sheet, 13.0)]
    blocks += [table_block(page.summary)] if page.summary else [Words("No pieces yet.")]
    blocks += [Gap(), *(Words(text) for text in (page.as_bought, page.measured) if text)]
    blocks.append(Boxed(page.caution.signal, page.caution.text))
    blocks += [Gap(), IsometricPicture(drawing), Words(NOT_TO_SCALE)] if drawing is not None else []
    for one in page.pieces:
        blocks += _piece_blocks(one)
    return Sheet(f"{page.title.sheet}, {page.title.build}", fields, tuple(blocks), letter)


MARKS = (Head("From the inlet", 1.4, True), Head("What", 3.0), Head("Where round it", 2.0))


def _piece_blocks(one: PieceSheet) -> list[Block]:
    blocks: list[Block] = [
        NewPage(),
        Heading(f"{one.number}  {one.name}", 13.0),
        Words(one.words),
        Picture(one.drawing),
        Pairs(one.facts),
    ]
    if one.marks:
        rows = tuple(Row((mark.at, mark.what, mark.clock)) for mark in one.marks)
        blocks.append(table_block(Table("marks", "Marks", MARKS, rows)))
    for link in one.templates:
        blocks += [Gap(), Words(f"{link.text} is in the bench sums, mitred bend.")]
    return blocks
