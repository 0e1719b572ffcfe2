"""Typed input about what is fitted."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from server.core.air.compressor_map import CompressorMap
from server.core.air.map_reading import read_map
from server.core.checks.figures import MAP, Column, Figure
from server.core.measure.typed import NotRead, read
from server.core.units import System, show
from server.web.fields import Fields

MOST_ROWS = 40
LONGEST_TABLE = 2000
LONGEST_MAP = 19_000
SPLIT = re.compile(r"\s*[;|\t]\s*|,\s+")
"""Between the cells of a row; a comma alone may be a decimal one."""


@dataclass(frozen=True, slots=True)
class FigureForm:
    """Figures as a row stores them: [SI], choices, tables, and the texts that they were typed as."""

    numbers: dict[str, list[float]] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    tables: dict[str, list[list[float]]] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FigureEdit:
    """The figures, and the version that they were typed on: 0 where there were none."""

    version: int
    form: FigureForm


def figure_edit(typed: Mapping[str, str], asked: Sequence[Figure], system: System) -> FigureEdit:
    """Every figure that may be typed; empty ones are left out. Raises BadInput, MissingVersion."""
    fields = Fields(typed)
    version = fields.version()
    form = FigureForm()
    for one in asked:
        if one.choices:
            _read_choice(fields, one, form)
        elif one.key == MAP:
            _read_map(fields, one, form)
        elif one.columns:
            _read_table(fields, one, form)
        else:
            _read_number(fields, one, form, system)
    fields.done()
    return FigureEdit(version, form)


def _read_choice(fields: Fields, one: Figure, form: FigureForm) -> None:
    said = fields.choice(one.key, _label(one), ["", *(value for value, _ in one.choices)], default="")
    if said:
        form.said[one.key] = form.typed[one.key] = said


def _read_number(fields: Fields, one: Figure, form: FigureForm, system: System) -> None:
    if one.whole:
        count = fields.whole(one.key, _label(one), least=round(one.least), most=round(one.most))
        if count is not None:
            form.numbers[one.key], form.typed[one.key] = [float(count), 0.0], fields.raw(one.key)
        return
    assert one.kind is not None  # neither a choice nor a table
    least, most = (show(value, one.kind, system).text for value in (one.least, one.most))
    found = fields.quantity(
        one.key,
        _label(one),
        one.kind,
        unit=one.unit,
        least=one.least,
        most=one.most,
        accepts=f"{least} to {most}",
        sort=one.sort,
    )
    if found is not None:
        doubt = one.doubt * abs(found.value) if found.doubt is None else found.doubt
        form.numbers[one.key], form.typed[one.key] = [found.value, doubt], fields.raw(one.key)


def _read_table(fields: Fields, one: Figure, form: FigureForm) -> None:
    rows = table_rows(fields, one.key, _label(one), one.columns, one.hint)
    if rows:
        lines = [line.strip() for line in fields.raw(one.key).splitlines() if line.strip()]
        form.tables[one.key], form.typed[one.key] = rows, "\n".join(lines)


def table_rows(
    fields: Fields, name: str, label: str, columns: Sequence[Column], hint: str
) -> list[list[float]]:
    """The rows of a table as typed [SI units of its columns]; none where a message was noted."""
    text = fields.text(name, label, most=LONGEST_TABLE)
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    accepts = f"rows of {' and '.join(column.heading for column in columns)}, {hint}"
    if len(lines) > MOST_ROWS:
        fields.refuse(name, f"{label} has {len(lines)} rows.", f"up to {MOST_ROWS} rows")
        return []
    rows = []
    for number, line in enumerate(lines, 1):
        try:
            rows.append(_row(line, columns))
        except NotRead as problem:
            fields.refuse(name, f"Row {number}: {problem.message}", accepts)
            return []
    return rows


def _read_map(fields: Fields, one: Figure, form: FigureForm) -> None:
    text = fields.raw(one.key)
    if not text:
        return
    if len(text) > LONGEST_MAP:
        fields.refuse(one.key, f"The map is {len(text)} characters long.", f"up to {LONGEST_MAP} characters")
        return
    found = read_map(text)
    if isinstance(found, CompressorMap):
        rows = [[at.flow, at.ratio, at.efficiency, at.speed] for at in found.points]
        form.tables[one.key] = [[cell for cell in row if cell is not None] for row in rows]
        form.typed[one.key] = text
        return
    where = f"Row {found[0].line}: " if found[0].line is not None else ""
    more = f" And {len(found) - 1} more." if len(found) > 1 else ""
    fields.refuse(one.key, f"{where}{found[0].message}{more}", found[0].accepts)


def _row(line: str, columns: Sequence[Column]) -> list[float]:
    """Raises NotRead."""
    cells = [cell for cell in SPLIT.split(line) if cell]
    if len(cells) != len(columns):
        raise NotRead(f"“{line[:40]}” has {len(cells)} of {len(columns)} figures.", "one figure a column")
    values = [read(cell, column.kind, column.unit).value for cell, column in zip(cells, columns, strict=True)]
    if min(values) < 0.0:
        raise NotRead(f"“{line[:40]}” has a figure below zero.", "figures of zero or more")
    return values


def _label(one: Figure) -> str:
    return one.words[:1].upper() + one.words[1:]
