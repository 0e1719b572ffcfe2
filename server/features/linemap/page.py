"""The line map as a page: the drawing of each family, what is wrong in that state, the same as a table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from server.core.lines.chart import Chart, charts
from server.core.lines.drawing import Picture, Seen, draw, press_of
from server.core.lines.layout import Laid, lay_out
from server.core.lines.ledger import LineMap
from server.core.lines.rules.rule import Finding, LineRule, Word
from server.core.lines.sheets import sheets
from server.core.lines.states import State
from server.features.builds.page import Face, heading
from server.features.connecting.page import FindingLine, LedgerWords, Told
from server.features.ledger.page import CAUTION
from server.web import urls
from server.web.paper import Block, Sheet
from server.web.paper_lines import LineMaps, scale_of
from server.web.paper_words import Heading, Words
from server.web.view import Caution, NavLink, Page
from server.web.words import date_text

if TYPE_CHECKING:
    from server.features.ledger.store import Rows

COLUMNS = 2
"""So many are as wide as a phone."""
MOST_COLUMNS = 8
WIDE, HIGH = 515.0, 640.0
"""Of a page, what the drawing may take [pt]: of A4 across, of US Letter down."""
KEY = (
    "Thick: pressure. Dashed: vacuum. Thin: as the open air. Dotted: not known. Arrowhead: flows that way. "
    "Bar across: still. Ring: flow not known. Broad grey band and a letter: breaks a rule. Number in a ring: "
    "on both ends. Not to scale, and not where things are in the car."
)
TITLES = {"air and vapour": "Air, vacuum and vapour", "electrical": "Wires"}


@dataclass(frozen=True, slots=True)
class Wrong:
    """What is wrong with a thing of the drawing, under the letter that it bears there; none for all of it."""

    letter: str
    found: FindingLine


@dataclass(frozen=True, slots=True)
class LineRow:
    """A line of the table: the drawing's facts in words. letter: of what is wrong with it."""

    tag: int
    name: str
    href: str
    joins: str
    pressure: str
    flow: str
    letter: str


@dataclass(frozen=True, slots=True)
class Band:
    """A family's drawing."""

    title: str
    picture: Picture


@dataclass(frozen=True, kw_only=True)
class LineMapPage(Page):
    """Every line of a build drawn in one state of the engine. links, heard: address and words of each line,
    by its key on the drawing. off: lines that are off at both ends, which the drawing leaves out.

    map_sheets: where it takes several; then bands, lines and what is wrong are those of one of them, and
    what is not drawn is told on the first.
    """

    template: ClassVar[str] = "linemap/map.html"

    build_id: int
    state: str
    pdf: str
    states: tuple[NavLink, ...]
    bands: tuple[Band, ...]
    links: dict[str, str]
    heard: dict[str, str]
    map_sheets: tuple[NavLink, ...]
    wrong: tuple[Wrong, ...]
    all_wrong: int
    lines: tuple[LineRow, ...]
    off: tuple[LineRow, ...]
    caution: Caution = CAUTION


def line_map_page(
    build: Face, rows: "Rows", told: Told, state: State, sheet: int, today: date
) -> LineMapPage:
    """sheet: which one of those that the drawing takes, counted from 1."""
    words = LedgerWords(build.id, build.system, rows, told)
    found = _broken(told, state)
    marks = _marks(told.map, [one for _, one in found])
    every = _rows(words, rows, told, state, marks)
    off = {f"line.{line.id}" for line in told.map.lines if line.ends == (None, None)}
    drawn = charts(told.map)
    pieces = sheets([lay_out(chart, COLUMNS) for chart in drawn])
    place = sheet - 1 if 0 < sheet <= len(pieces) else 0
    seen = _seen(told, state, marks)
    bands = [_band(drawn[one.number], one.laid, seen) for one in (pieces[place] if pieces else ())]
    here = {item.key for band in bands for item in band.picture.items}
    first = place == 0
    lines = {key: row for key, row in every.items() if key in here}
    wrong = [(_key(told.map, one), rule, one) for rule, one in found]

    def at(state: State, place: int) -> str:
        return urls.ledger.line_map_sheet(build.id, state.name.lower(), place + 1)

    return LineMapPage(
        **heading(build, "Line map", today, within="Lines"),
        build_id=build.id,
        state=state.value,
        pdf=urls.ledger.line_map_pdf(build.id, state.name.lower()),
        states=tuple(NavLink(at(one, place), one.value, one is state) for one in State),
        bands=tuple(bands),
        links={key: row.href for key, row in lines.items()},
        heard={key: _heard(row) for key, row in lines.items()},
        map_sheets=tuple(
            NavLink(at(state, number), f"Sheet {number + 1}", number == place)
            for number in range(len(pieces) if len(pieces) > 1 else 0)
        ),
        wrong=tuple(
            Wrong(marks.get(key, ""), words.found(rule, one))
            for key, rule, one in wrong
            if key in here or (first and key not in marks)
        ),
        all_wrong=len(found),
        lines=tuple(lines.values()),
        off=tuple(row for key, row in every.items() if key in off) if first else (),
    )


def _seen(told: Told, state: State, marks: Mapping[str, str]) -> Seen:
    return Seen(told.map, told.levels[state], told.flows[state], marks)


def _band(chart: Chart, laid: Laid, seen: Seen) -> Band:
    return Band(TITLES.get(chart.family, chart.family.capitalize()), draw(chart, laid, seen))


def pictures(told: Told, state: State, marks: Mapping[str, str], columns: int) -> tuple[Band, ...]:
    """The drawing of each family that there is, each in one piece."""
    seen = _seen(told, state, marks)
    return tuple(_band(chart, lay_out(chart, columns), seen) for chart in charts(told.map))


def sheet(build: Face, rows: "Rows", told: Told, state: State, today: date, *, letter: bool) -> Sheet:
    """The drawing on one page, with what is wrong under it or on the next."""
    words = LedgerWords(build.id, build.system, rows, told)
    found = _broken(told, state)
    marks = _marks(told.map, [one for _, one in found])
    fields = (
        ("Build", build.name),
        ("Sheet", "Line map"),
        ("State", state.value),
        ("Date", date_text(today)),
    )
    blocks: list[Block] = [Words(KEY, 7.5), LineMaps(_largest(told, state, marks), HIGH)]
    if found:
        blocks.append(Heading(f"Wrong in {state.value}"))
    for rule, one in found:
        said = words.found(rule, one)
        blocks.append(Words(f"{marks.get(_key(told.map, one), '–')}: {said.text} {said.do}".strip()))
    return Sheet(f"Line map, {build.name}", fields, tuple(blocks), letter)


def _largest(told: Told, state: State, marks: Mapping[str, str]) -> tuple[Picture, ...]:
    """The drawings with the air's in as many columns as make it largest on the page."""
    found = [
        (pictures(told, state, marks, columns)[:1], pictures(told, state, marks, COLUMNS)[1:])
        for columns in range(COLUMNS, MOST_COLUMNS + 1)
    ]
    sets = [tuple(band.picture for band in (*first, *rest)) for first, rest in found]
    return max(sets, key=lambda some: scale_of(some, WIDE, HIGH) if some else 0.0)


def _broken(told: Told, state: State) -> list[tuple[LineRule, Finding]]:
    """What breaks a rule in a state, or whatever the engine does."""
    return [
        (one.rule, finding)
        for one in told.answers
        for finding in one.findings
        if finding.word is Word.NO_GO and (not finding.states or state in finding.states)
    ]


def _marks(line_map: LineMap, found: Sequence[Finding]) -> dict[str, str]:
    """A letter for each thing on the drawing that something is wrong with, in the order of the list."""
    drawn = {key for chart in charts(line_map) for key in chart.keys}
    keys = dict.fromkeys(_key(line_map, one) for one in found)
    return {key: _letter(place) for place, key in enumerate(key for key in keys if key in drawn)}


def _letter(place: int) -> str:
    """A to Z, then AA and so on."""
    first, last = divmod(place, 26)
    return ("" if first == 0 else _letter(first - 1)) + chr(ord("A") + last)


def _key(line_map: LineMap, found: Finding) -> str:
    """The thing of the drawing that a finding is about: of a point with a line on it, that line."""
    sort, _, number = found.item.partition(".")
    if not number.isdigit() or int(number) == 0:  # all of them, or the open air
        return ""
    line = line_map.line_at.get(int(number)) if sort == "port" else None
    return found.item if line is None else f"line.{line.id}"


def _rows(
    words: LedgerWords, rows: "Rows", told: Told, state: State, marks: Mapping[str, str]
) -> dict[str, LineRow]:
    """A row for each line in the car, by its key on the drawing."""
    on_map = {line.id: line for line in told.map.lines}
    return {
        f"line.{row.key}": LineRow(
            tag=row.tag,
            name=row.name,
            href=urls.ledger.may_go(words.build_id, row.key),
            joins=words.was(row) if not row.ends else words.joins(row.name, row.first_id, row.second_id),
            pressure=press_of(told.map, told.levels[state], on_map[row.key]).value,
            flow=words.flow(row, told.flows[state].get(row.key)),
            letter=marks.get(f"line.{row.key}", ""),
        )
        for row in rows.lines
        if row.key in on_map
    }


def _heard(row: LineRow) -> str:
    """A line for those who hear the drawing."""
    tag = f"{row.tag} " if row.tag else ""
    wrong = f"; breaks a rule, see {row.letter}" if row.letter else ""
    told = ", ".join(one for one in (row.pressure, row.flow) if one)
    return f"{tag}{row.name}: {told}{wrong}"
