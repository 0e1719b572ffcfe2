"""Reading a compressor map that was typed or pasted as a table, one point a line.

Fields stand apart by tabs, semicolons or commas; with tabs or semicolons a comma is a decimal comma. A first
line of headings may name the columns, in any order, and their units. What can't be read is told by line and
field, with what would be; nothing is guessed and no line is left out in silence.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import pi

from server.core.air.compressor_map import (
    LARGEST_FLOW,
    LARGEST_RATIO,
    STANDARD_INLET,
    CompressorMap,
    InletState,
    MapPoint,
    inlet_fault,
)
from server.core.air.map_shape import shape, speed_lines
from server.core.measure.typed import LONGEST_TEXT, NotRead, read
from server.core.measure.unit_words import UNIT_OF_WORD
from server.core.units import Kind

MOST_POINTS = 1000
"""Points of a map; a maker's sheet has a hundred or so."""

FLOW_UNITS = ("kg/s", "g/s", "kg/min", "lb/min", "kg/h", "lb/s")
"""What a flow may be typed in, as people write it."""

_SPEEDS = (1_000.0, 500_000.0)
"""Wheel speeds that a turbo's map can hold, [1/min]; common practice, no source."""

_SEPARATORS = "fields apart by tabs, semicolons or commas; decimal commas only with tabs or semicolons"


_PLAIN = re.compile(r"[0-9]*\.?[0-9]+(?:[eE][+-]?[0-9]{1,2})?")
_BRACKET = re.compile(r"[(\[]([^)\]]*)[)\]]")

_COLUMNS = "flow, pressure ratio, efficiency and, if known, wheel speed"


class Field(StrEnum):
    """A column of a map; the value is the word that pages show."""

    flow = "flow"
    ratio = "pressure ratio"
    efficiency = "efficiency"
    speed = "wheel speed"


_ORDER = tuple(Field)
"""The columns where no heading names them."""

_HEADING_WORDS: Mapping[Field, frozenset[str]] = {
    Field.efficiency: frozenset({"eff", "effy", "efficiency", "eta", "η"}),
    Field.ratio: frozenset({"ratio", "pr", "pi", "π", "p2/p1", "p2c/p1c"}),
    Field.speed: frozenset({"speed", "rpm", "krpm", "n"}),
    Field.flow: frozenset({"flow", "massflow", "mass", "mdot", "m", "mc", "w", "wc"}),
}

_ACCEPTS: Mapping[Field, str] = {
    Field.flow: f"above 0 up to {LARGEST_FLOW:g} kg/s, or another unit named in the heading: "
    + ", ".join(FLOW_UNITS),
    Field.ratio: f"outlet over inlet absolute pressure, from 1 to {LARGEST_RATIO:g}",
    Field.efficiency: "isentropic, as a share such as 0.72 or as 72 %, the whole column alike",
    Field.speed: "corrected, from 1000 to 500000 rpm, no sign between thousands; or krpm in the heading",
}


@dataclass(frozen=True, slots=True)
class MapFault:
    """Why a map can't be read. line: of the text, from 1, None for all of it. message: what is wrong.

    accepts: what would be read.
    """

    line: int | None
    field: Field | None
    message: str
    accepts: str

    def __str__(self) -> str:
        named = [f"line {self.line}"] if self.line is not None else []
        named += [self.field.value] if self.field is not None else []
        told = f"{', '.join(named)}: {self.message}" if named else self.message
        return f"{told[:1].upper()}{told[1:]} Accepted: {self.accepts}."


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of the text that holds something. number: from 1, blank lines counted."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Column:
    field: Field
    unit: str | None


def read_map(
    text: str, reference: InletState = STANDARD_INLET, flow_unit: str = "kg/s"
) -> CompressorMap | tuple[MapFault, ...]:
    """A compressor map from a table typed or pasted, or why it can't be read.

    text: a point a line: flow, pressure ratio, efficiency and, if known, wheel speed; in that order, or as a
    first line of headings says. reference: inlet state that the flows are corrected to. flow_unit: of flows
    whose heading names none, one of `FLOW_UNITS`. Numbers and units in a field are read as everywhere
    (`typed.read`). Factors: NIST SP 811, B.8.
    """
    fault = inlet_fault(reference)
    if fault is not None:
        return (MapFault(None, None, fault, "absolute, such as 101.325 kPa and 15 °C"),)
    lines = _lines(text)
    if len(lines) > MOST_POINTS + 1:
        return (MapFault(None, None, f"The map has {len(lines)} lines.", f"up to {MOST_POINTS} points"),)
    columns, rows = _columns(lines)
    if isinstance(columns, MapFault):
        return (columns,)
    faults: list[MapFault] = []
    shares = _as_percent(columns, rows)
    points = [_point(line, columns, flow_unit, shares, faults) for line in rows]
    read_points = tuple(point for point in points if point is not None)
    if faults:
        return tuple(faults)
    found = CompressorMap(read_points, reference)
    whole = _whole_faults(found, [line.number for line in rows])
    return whole or found


def _lines(text: str) -> list[_Line]:
    """Lines with something in them, cut into fields; empty fields at a line's end fall away."""
    written = text.replace("\ufeff", "").splitlines()
    mark = next((mark for mark in "\t;" if any(mark in line.strip() for line in written)), ",")
    lines = []
    for number, line in enumerate(written, start=1):
        cells = [cell.strip().strip('"').strip() for cell in line.split(mark)]
        while cells and not cells[-1]:
            cells.pop()
        if mark != ",":
            cells = [cell.replace(",", ".") for cell in cells]
        if cells:
            lines.append(_Line(number, tuple(cells)))
    return lines


def _columns(lines: Sequence[_Line]) -> tuple[tuple[_Column, ...] | MapFault, Sequence[_Line]]:
    """What each column holds, and the lines of points."""
    if not lines:
        nothing = "Nothing typed: a map is wanted, one point a line."
        return MapFault(None, None, nothing, _COLUMNS), ()
    first = lines[0]
    if any(cell[:1].isdigit() or cell[:1] in "+-.−" for cell in first.cells if cell):
        return tuple(_Column(field, None) for field in _ORDER), lines
    return _headed(first), lines[1:]


def _headed(line: _Line) -> tuple[_Column, ...] | MapFault:
    columns: list[_Column] = []
    for cell in line.cells:
        # A heading that goes on and on is none; looking for a unit in it would only take long.
        field = _field_named(cell) if len(cell) <= LONGEST_TEXT else None
        if field is None:
            unknown = f"the heading “{cell[:LONGEST_TEXT]}” names no column of a map."
            return MapFault(line.number, None, unknown, _COLUMNS)
        if any(column.field is field for column in columns):
            return MapFault(line.number, field, "two columns are headed so.", "each column once")
        unit = _unit_named(cell, field)
        if unit == "":
            return MapFault(line.number, field, f"“{cell}” is in a unit not known here.", _ACCEPTS[field])
        columns.append(_Column(field, unit))
    missing = [field.value for field in _ORDER[:3] if all(column.field is not field for column in columns)]
    if missing:
        return MapFault(line.number, None, f"no column is headed {' or '.join(missing)}.", _COLUMNS)
    return tuple(columns)


def _field_named(heading: str) -> Field | None:
    words = set(re.findall(r"[a-zηπ0-9/]+", re.sub(r"[(\[].*", "", heading.lower())))
    words |= set(re.findall(r"[a-zηπ]+", heading.lower())) & {"rpm", "krpm"}
    return next((field for field, known in _HEADING_WORDS.items() if words & known), None)


def _unit_named(heading: str, field: Field) -> str | None:
    """The unit in a heading as people write it, None where there is none, "" where it is not known."""
    bracket = _BRACKET.search(heading)
    last = heading.rsplit(maxsplit=1)[-1]
    unit = (bracket[1] if bracket else last).lower().replace(" ", "")
    unit = {"-": "", "–": "", "lbs/min": "lb/min"}.get(unit, unit)
    if field is Field.flow:
        named = bracket is not None or "/" in unit or unit in UNIT_OF_WORD[Kind.volume_flow]
        if not named or not unit:
            return None
        return unit if unit in FLOW_UNITS else ""
    if field is Field.efficiency:
        return "%" if unit.endswith("%") or unit == "percent" else None
    if field is Field.speed:
        return "krpm" if unit in ("krpm", "1000rpm", "rpm/1000", "1000/min", "x1000") else None
    return None


def _as_percent(columns: Sequence[_Column], rows: Sequence[_Line]) -> bool:
    """Whether bare efficiencies are percent: their heading says so, or one of them is more than 1."""
    for place, column in enumerate(columns):
        if column.field is Field.efficiency:
            bare = [line.cells[place] for line in rows if place < len(line.cells)]
            return column.unit == "%" or any(re.fullmatch(r"[1-9][0-9](\.[0-9]*)?", cell) for cell in bare)
    return False


def _point(
    line: _Line, columns: Sequence[_Column], flow_unit: str, percent: bool, faults: list[MapFault]
) -> MapPoint | None:
    """One line as a point; what is wrong with it is added to the faults."""
    wanted = [column for column in columns if column.field is not Field.speed]
    if not len(wanted) <= len(line.cells) <= len(columns):
        count = f"{len(wanted)} or {len(columns)}" if len(wanted) < len(columns) else f"{len(wanted)}"
        faults.append(
            MapFault(line.number, None, f"fields found: {len(line.cells)}; wanted: {count}.", _SEPARATORS)
        )
        return None
    values: dict[Field, float] = {}
    for column, cell in zip(columns, [*line.cells, *[""] * len(columns)], strict=False):
        if column.field is Field.speed and not cell:
            continue
        try:
            values[column.field] = _value(cell, column, flow_unit, percent)
        except NotRead as wrong:
            faults.append(MapFault(line.number, column.field, wrong.message, _ACCEPTS[column.field]))
    if any(column.field not in values for column in wanted):
        return None
    return MapPoint(
        values[Field.flow], values[Field.ratio], values[Field.efficiency], values.get(Field.speed)
    )


def _value(cell: str, column: _Column, flow_unit: str, percent: bool) -> float:
    """One field in SI units, wheel speed in [1/min]. Raises NotRead where it can't be one."""
    # A digitised sheet comes with sixteen digits or with exponents, which nobody types.
    if len(cell) <= LONGEST_TEXT and _PLAIN.fullmatch(cell):
        cell = f"{float(cell):.9f}".rstrip("0").rstrip(".")
    if column.field is Field.flow:
        value = read(cell, Kind.mass_flow, column.unit or flow_unit).value
        allowed = 0.0 < value <= LARGEST_FLOW
    elif column.field is Field.ratio:
        value = read(cell, Kind.ratio).value
        allowed = 1.0 <= value <= LARGEST_RATIO
    elif column.field is Field.efficiency:
        value = read(cell, Kind.ratio, "%" if percent else None).value
        allowed = (0.02 if percent else 0.0) < value <= 1.0
    else:
        spun = read(cell, Kind.rotation).value * (1000.0 if column.unit == "krpm" else 1.0)
        value = round(spun * 30.0 / pi, 6)
        allowed = _SPEEDS[0] <= value <= _SPEEDS[1]
    if not allowed:
        raise NotRead(f"“{cell}” lies outside what a map can hold.", _ACCEPTS[column.field])
    return value


def _whole_faults(of: CompressorMap, numbers: Sequence[int]) -> tuple[MapFault, ...]:
    """Faults that only show when all points are seen together."""
    faults = []
    seen: dict[tuple[float, float], int] = {}
    without = any(point.speed is not None for point in of.points)
    for number, point in zip(numbers, of.points, strict=True):
        earlier = seen.setdefault((point.flow, point.ratio), number)
        if earlier != number:
            same = f"the same flow and pressure ratio as line {earlier}."
            faults.append(MapFault(number, None, same, "each point once"))
        if without and point.speed is None:
            faults.append(
                MapFault(
                    number, Field.speed, "it stands on other lines but not here.", "on every line or none"
                )
            )
    if faults:
        return tuple(faults)
    lines = speed_lines(of)
    for slower, faster in pairwise(lines):
        if faster.points[0].ratio <= slower.points[0].ratio:
            pair = f"{slower.speed:.0f} to {faster.speed:.0f} rpm"
            return (
                MapFault(
                    None,
                    Field.speed,
                    f"from {pair} the left end of the speed line does not climb, so there is no surge line.",
                    "left ends whose pressure ratio rises with speed; or leave the wheel speeds out",
                ),
            )
    try:
        shape(of)
    except ValueError:
        wanted = "three points or more, not all on one line"
        return (MapFault(None, None, "The points enclose nothing.", wanted),)
    return ()
