"""What the bench sums answer: one model a sum for scripts, and the pages that people see."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar
from urllib.parse import urlencode

from pydantic import BaseModel, ConfigDict, Field, create_model

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
    "N": "N",
}
"""For the unit of a field as shown: the name that the unit converter knows."""


class Answer(BaseModel):
    """What every sum answers: reason says why there is no result, notes what a reader must know."""

    model_config = ConfigDict(frozen=True)

    reason: str | None = Field(default=None, description="Why there is no answer; null where there is one")
    notes: tuple[str, ...] = Field(default=(), description="What to know, such as out of a formula's range")


def figure(title: str, kind: Kind | None, unit: str, description: str = "", *, big: bool = False) -> Any:
    """A number of an answer in a fixed unit; `kind` None for a bare count such as a Reynolds number."""
    noted: dict[str, Any] = {"unit": unit, "quantity": kind.value if kind else None, "big": big}
    words = description or (f"{title} [{unit}]" if unit else title)
    return Field(None, title=title, description=words, json_schema_extra=noted)


def word(title: str, description: str = "", *, big: bool = False) -> Any:
    """A word or a yes or no of an answer."""
    noted: dict[str, Any] = {"word": True, "big": big}
    return Field(None, title=title, description=description or title, json_schema_extra=noted)


READING_FIELDS: dict[Kind, tuple[str, str]] = {
    Kind.length: ("mm", "mm"),
    Kind.pressure: ("kpa", "kPa"),
    Kind.temperature: ("c", "degC"),
    Kind.temperature_difference: ("difference_c", "delta_degC"),
    Kind.mass_flow: ("kg_s", "kg/s"),
    Kind.volume_flow: ("m3_s", "m**3/s"),
    Kind.angle: ("deg", "degree"),
    Kind.speed: ("m_s", "m/s"),
    Kind.power: ("kw", "kW"),
    Kind.force: ("n", "N"),
    Kind.mass: ("kg", "kg"),
    Kind.volume: ("cc", "cm**3"),
    Kind.ratio: ("ratio", "dimensionless"),
    Kind.rotation: ("rpm", "rpm"),
    Kind.stress: ("mpa", "MPa"),
    Kind.density: ("kg_m3", "kg/m**3"),
    Kind.time: ("s", "s"),
}
"""For each kind of reading: the end of its field's name, and the unit that the field is in."""


class ReadingBase(Answer):
    """What a typed reading says. One `value_` field is present, in the unit that its name carries."""

    shown: str | None = word("Read as", big=True)
    also: str | None = word("In the other units", "The same in the other system; left out where it has none")
    unit: str | None = word("Unit", "The unit as it was read, or AN")
    reference: str | None = word("Counted from", "For a pressure: gauge, absolute or not stated")
    dash: int | None = word("Dash size", "For a size: sixteenths of an inch")


_VALUES: dict[str, Any] = {
    f"value_{end}": (float | None, Field(None, description=f"The {kind.words}, as written"))
    for kind, (end, _) in READING_FIELDS.items()
}
_DOUBTS: dict[str, Any] = {
    f"doubt_{end}": (float | None, Field(None, description="What was typed after ±, as a difference"))
    for end, _ in READING_FIELDS.values()
}
ReadingOut = create_model("ReadingOut", __base__=ReadingBase, **_VALUES, **_DOUBTS)


class CombineOut(Answer):
    """Several readings taken as one."""

    value_mm: float | None = figure("Value", Kind.length, "mm", big=True)
    doubt_mm: float | None = figure("Doubt", Kind.length, "mm", "One standard uncertainty [mm]", big=True)
    chi_square: float | None = figure("Chi-square", Kind.ratio, "", "Weighted scatter of the readings [-]")
    agree: bool | None = word("The readings agree")


class AtmosphereOut(Answer):
    """The standard atmosphere at one height."""

    pressure_kpa: float | None = figure("Pressure, absolute", Kind.pressure, "kPa", big=True)
    temperature_c: float | None = figure("Temperature", Kind.temperature, "°C")
    density_kg_m3: float | None = figure("Density", Kind.density, "kg/m³")


class AirDemandOut(Answer):
    """The air that an engine takes in."""

    flow_kg_s: float | None = figure("Air flow", Kind.mass_flow, "kg/s", big=True)
    flow_m3_s: float | None = figure("Volume flow in the manifold", Kind.volume_flow, "m³/s")


class CompressorOut(Answer):
    """What a compressor does to the air."""

    outlet_temperature_c: float | None = figure("Temperature at the outlet", Kind.temperature, "°C", big=True)
    power_kw: float | None = figure("Power given to the air", Kind.power, "kW", big=True)
    outlet_pressure_kpa: float | None = figure("Pressure at the outlet, absolute", Kind.pressure, "kPa")


class TubeOut(Answer):
    """What a flow of air does in one tube."""

    loss_kpa: float | None = figure(
        "Loss", Kind.pressure, "kPa", "Stagnation pressure lost [kPa]; null where the tube chokes", big=True
    )
    choked: bool | None = word("Chokes", "Whether this flow does not pass from this inlet state")
    greatest_flow_kg_s: float | None = figure(
        "Greatest flow that passes", Kind.mass_flow, "kg/s", "Found where the tube chokes [kg/s]"
    )
    speed_m_s: float | None = figure("Speed at the inlet", Kind.speed, "m/s")
    mach: float | None = figure("Mach number at the inlet", Kind.ratio, "")
    speed_out_m_s: float | None = figure("Speed at the outlet", Kind.speed, "m/s")
    mach_out: float | None = figure("Mach number at the outlet", Kind.ratio, "")
    reynolds: float | None = figure("Reynolds number", None, "")
    friction_factor: float | None = figure("Friction factor, Darcy", Kind.ratio, "")
    bend_method: str | None = word("Bends by", "The one method for the loss of the bends")


class StepOut(Answer):
    """The loss of a change of bore."""

    loss_coefficient: float | None = figure(
        "Loss coefficient, on the smaller bore's speed", Kind.ratio, "",
        "Loss of stagnation pressure over ρ v²/2 in the smaller bore [-]", big=True,
    )  # fmt: skip
    method: str | None = word("Formula by")


class BlowOffOut(Answer):
    """The force that pushes a hose joint apart."""

    force_n: float | None = figure("Force along the tube", Kind.force, "N", big=True)


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
    """One field to fill in. `options` where it is chosen from a list."""

    name: str
    label: str
    hint: str
    unit: str
    options: tuple[str, ...] = ()


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
class Found:
    """The answer of a sum."""

    figures: tuple[Figure, ...]
    words: tuple[Word, ...]
    notes: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One source, and how far it can be leaned on."""

    text: str
    sureness: str


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


def found(answer: Answer) -> Found:
    """An answer for people: numbers with the other units beside, words, notes."""
    figures, words = [], []
    for name, field in type(answer).model_fields.items():
        value = getattr(answer, name)
        noted = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
        title = field.title or name
        if value is None:
            continue
        if "quantity" in noted:
            figures.append(Figure(name, title, _quantity(value, noted), bool(noted["big"])))
        elif "word" in noted:
            words.append(Word(name, title, _word(value), bool(noted["big"])))
    return Found(tuple(figures), tuple(words), answer.notes, answer.reason or "")


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _quantity(value: float, noted: dict[str, Any]) -> Quantity:
    if noted["quantity"] is None:
        return Quantity(value, f"{value:,.0f}")
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
    )
