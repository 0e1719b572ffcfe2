"""What every sum answers, for scripts, and the pages that people see."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar
from urllib.parse import urlencode

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from server.core.sources import source
from server.core.units import Kind, System, show, to_si
from server.errors import Refused
from server.features.builds.page import heading_without_build
from server.web import urls
from server.web.view import Caution, FormState, Page, Quantity

PINT_NAMES = {
    "": "dimensionless",
    "mm": "mm",
    "m": "m",
    "cc": "cm**3",
    "rpm": "rpm",
    "kPa": "kPa",
    "°C": "degC",
    "°": "degree",
    "kg/s": "kg/s",
    "m³/s": "m**3/s",
    "kg/m³": "kg/m**3",
    "m/s": "m/s",
    "kW": "kW",
    "s": "s",
    "N": "N",
    "MPa": "MPa",
    "h": "hour",
    "W/(m² K)": "dimensionless",
}
"""For the unit of a field as shown: the name that the unit converter knows; a film is a bare number."""


NOTHING = 1e-6
"""Under this a number without a kind reads 0: what rounding left of a balance."""


class Answer(BaseModel):
    """What every sum answers: reason says why there is no result, notes what a reader must know."""

    model_config = ConfigDict(frozen=True)

    reason: str | None = Field(default=None, description="Why there is no answer; null where there is one")
    notes: tuple[str, ...] = Field(default=(), description="What to know, such as out of a formula's range")


def figure(title: str, kind: Kind | None, unit: str, description: str = "", *, big: bool = False) -> Any:
    """A number of an answer in a fixed unit.

    `kind` None for what is shown as it is: a Reynolds number, or a heat flux with its unit.
    """
    noted: dict[str, Any] = {"unit": unit, "quantity": kind.value if kind else None, "big": big}
    words = description or (f"{title} [{unit}]" if unit else title)
    return Field(None, title=title, description=words, json_schema_extra=noted)


def price(title: str, description: str) -> Any:
    """A sum of money of an answer, in whatever currency it was asked."""
    noted: dict[str, Any] = {"unit": "", "quantity": None, "big": False, "money": True}
    return Field(default=None, title=title, description=description, json_schema_extra=noted)


def word(title: str, description: str = "", *, big: bool = False) -> Any:
    """A word or a yes or no of an answer."""
    noted: dict[str, Any] = {"word": True, "big": big}
    return Field(None, title=title, description=description or title, json_schema_extra=noted)


def table(title: str, columns: Sequence[tuple[str, Kind | None, str]], description: str = "") -> Any:
    """A list of an answer, a row each: rows of numbers, or objects with these columns in their order.

    columns: heading, kind and unit of each; kind None for what is shown as it is.
    """
    noted: dict[str, Any] = {
        "table": [
            {"title": head, "quantity": kind.value if kind else None, "unit": unit}
            for head, kind, unit in columns
        ]
    }
    return Field((), title=title, description=description or title, json_schema_extra=noted)


def each(title: str, description: str = "") -> Any:
    """A list of an answer whose items have figures and lists of their own: each is shown as a part."""
    return Field((), title=title, description=description or title, json_schema_extra={"each": True})


@dataclass(frozen=True, slots=True)
class Sum:
    """One bench sum in words. sources: codes of the register. example: what its example link types."""

    name: str
    title: str
    lead: str
    formulas: tuple[str, ...]
    sources: tuple[str, ...]
    example: tuple[tuple[str, str], ...]
    caution: Caution | None = None
    printed: str = ""
    """What its act to print a pattern says, empty where it has none."""


@dataclass(frozen=True, slots=True)
class SumLine:
    """One sum of the list."""

    href: str
    title: str
    lead: str


@dataclass(frozen=True, kw_only=True)
class SumsPage(Page):
    """Every bench sum there is."""

    template: ClassVar[str] = "sums/list.html"

    sums: tuple[SumLine, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """One field to fill in. `options` where it is chosen from a list; `wide` for several points or names."""

    name: str
    label: str
    hint: str
    unit: str
    options: tuple[str, ...] = ()
    wide: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """Part of a form: a single field, or under a label a few fields that repeat row after row."""

    name: str
    label: str
    rows: tuple[tuple[Entry, ...], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of the answer, under the name that scripts know it by."""

    name: str
    label: str
    value: Quantity
    big: bool


@dataclass(frozen=True, slots=True)
class Word:
    """One word of the answer."""

    name: str
    label: str
    text: str
    big: bool


@dataclass(frozen=True, slots=True)
class Table:
    """A list of the answer, its rows numbered from 1."""

    name: str
    label: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Part:
    """One of several answers, numbered from 1."""

    label: str
    figures: tuple[Figure, ...]
    words: tuple[Word, ...]
    tables: tuple[Table, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """The answer of a sum."""

    figures: tuple[Figure, ...]
    words: tuple[Word, ...]
    tables: tuple[Table, ...]
    parts: tuple[Part, ...]
    notes: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One source, and how far it can be leaned on."""

    text: str
    sureness: str


FILES = {
    "a4.pdf": "PDF, A4",
    "letter.pdf": "PDF, US Letter",
    "svg": "SVG",
    "dxf": "DXF",
}
"""What a pattern comes as, and the words of its link."""


@dataclass(frozen=True, slots=True)
class FileLink:
    """A file that a page hands out."""

    href: str
    text: str


@dataclass(frozen=True, kw_only=True)
class SumPage(Page):
    """One bench sum: what it asks, and what it answers where something was typed."""

    template: ClassVar[str] = "sums/sum.html"

    name: str
    lead: str
    blocks: tuple[Block, ...]
    formulas: tuple[str, ...]
    sources: tuple[SourceLine, ...]
    caution: Caution | None
    example: str
    form: FormState
    found: Found | None
    printed: str
    files: tuple[FileLink, ...]


def found(answer: Answer) -> Found:
    """An answer for people: numbers with the other units beside, words, notes."""
    parts = [
        Part(f"{field.title} {number}", *_shown(item))
        for name, field in type(answer).model_fields.items()
        if "each" in _noted(field)
        for number, item in enumerate(getattr(answer, name), 1)
    ]
    return Found(*_shown(answer), tuple(parts), answer.notes, answer.reason or "")


def _shown(answer: BaseModel) -> tuple[tuple[Figure, ...], tuple[Word, ...], tuple[Table, ...]]:
    """The figures, words and lists of an answer, or of one of several."""
    figures, words, tables = [], [], []
    for name, field in type(answer).model_fields.items():
        value = getattr(answer, name)
        noted = _noted(field)
        title = field.title or name
        if value is None:
            continue
        if "quantity" in noted:
            figures.append(Figure(name, title, _quantity(value, noted), bool(noted["big"])))
        elif "word" in noted:
            words.append(Word(name, title, _word(value), bool(noted["big"])))
        elif "table" in noted and value:
            tables.append(_table(name, title, value, noted["table"]))
    return tuple(figures), tuple(words), tuple(tables)


def _noted(field: FieldInfo) -> dict[str, Any]:
    return dict(field.json_schema_extra) if isinstance(field.json_schema_extra, dict) else {}


def _table(name: str, title: str, rows: Sequence[Any], columns: Sequence[dict[str, Any]]) -> Table:
    """Numbers, points or objects, a row each."""
    return Table(
        name,
        title,
        tuple(f"{column['title']} {column['unit']}".rstrip() for column in columns),
        tuple(
            tuple(_cell(cell, column) for cell, column in zip(_cells(row), columns, strict=True))
            for row in rows
        ),
    )


def _cells(row: Any) -> list[Any]:
    """The cells of a row: a point stands for its three numbers."""
    if isinstance(row, BaseModel):
        return [cell for name in type(row).model_fields for cell in _cells(getattr(row, name))]
    if isinstance(row, tuple):
        return [cell for part in row for cell in _cells(part)]
    return [row]


def _cell(value: Any, column: dict[str, Any]) -> str:
    """A number without its unit, which stands in the heading."""
    if isinstance(value, str | bool):
        return _word(value)
    return _quantity(value, column).text.removesuffix(column["unit"]).rstrip()


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _quantity(value: float, noted: dict[str, Any]) -> Quantity:
    if "money" in noted:
        return Quantity(value, f"{value:,.2f}".removesuffix(".00"))
    if noted["unit"] == "h":
        hours = f"{value:,.2f}".rstrip("0").rstrip(".")
        return Quantity(value, f"{hours} h")
    if noted["quantity"] is None:
        number = f"{value:,.0f}" if abs(value) >= 100.0 or abs(value) < NOTHING else f"{value:.3g}"
        number = "0" if number == "-0" else number.replace("-", "−", 1)
        return Quantity(value, f"{number} {noted['unit']}".rstrip())
    kind = Kind(noted["quantity"])
    si = to_si(value, PINT_NAMES[noted["unit"]])
    shown = show(si, kind, System.metric)
    return Quantity(si, shown.text, shown.other)


def sums_page(sums: Sequence[Sum], today: date) -> SumsPage:
    lines = tuple(SumLine(urls.sum_page(one.name), one.title, one.lead) for one in sums)
    return SumsPage(**heading_without_build("Bench sums", today), sums=lines)


def sum_page(
    one: Sum,
    blocks: Sequence[Block],
    typed: dict[str, str],
    refused: Refused | None,
    answer: Answer | None,
    today: date,
) -> SumPage:
    state = FormState.of(refused) if refused else FormState(typed)
    return SumPage(
        **heading_without_build(one.title, today),
        name=one.name,
        lead=one.lead,
        blocks=tuple(blocks),
        formulas=one.formulas,
        sources=tuple(SourceLine(item.label, item.sureness.value) for item in map(source, one.sources)),
        caution=one.caution,
        example=f"{urls.sum_page(one.name)}?{urlencode(one.example)}",
        form=state,
        found=found(answer) if answer else None,
        printed=one.printed,
        files=_files(one, typed) if answer is not None and answer.reason is None else (),
    )


def _files(one: Sum, typed: dict[str, str]) -> tuple[FileLink, ...]:
    """The pattern of what was typed, in each form that it comes in."""
    if not one.printed:
        return ()
    filled = {name: text for name, text in typed.items() if text.strip()}
    return tuple(FileLink(urls.sum_pattern(one.name, form, filled), text) for form, text in FILES.items())
