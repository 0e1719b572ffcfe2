"""What a sum asks for: one model a sum, which a script fills as JSON and a person by typing, in any unit."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from server.core.measure.typed import NotRead, Reference, read
from server.core.units import Kind, from_si
from server.errors import BadInput, FieldError
from server.features.bench.page import PINT_NAMES
from server.web.fields import Fields
from server.web.json_body import accepts, checked, extras, item_model, whole_model

MOST_ROWS = 100
"""Readings or bends in one sum."""
MOST_REACH = 100_000.0
"""How far a point may be from its datum [mm]."""
ABSOLUTE = "absolute"
GAUGE = "gauge"
YES = "yes"


class Asked(BaseModel):
    """What a sum is asked; nothing but its own fields, and numbers only where numbers are meant."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


def number(
    title: str,
    kind: Kind,
    unit: str,
    example: float,
    *,
    least: float,
    most: float,
    default: Any = ...,
    reference: str = "",
    description: str = "",
) -> Any:
    """A number in a fixed unit, within bounds."""
    span = f"{_plain(least)} to {_plain(most)}{' ' + unit if unit else ''}"
    accepts = f"a number from {span}, such as {_plain(example)}"
    return Field(
        default,
        title=title,
        description=description or (f"{title} [{unit}]" if unit else title),
        ge=least,
        le=most,
        allow_inf_nan=False,
        examples=[example],
        json_schema_extra={
            "unit": unit, "quantity": kind.value, "reference": reference, "accepts": accepts
        },
    )  # fmt: skip


def _plain(value: float) -> str:
    """A bound or an example without an exponent."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def whole(
    title: str, example: int, *, least: int, most: int, default: Any = ..., description: str = ""
) -> Any:
    """A whole number within bounds."""
    return Field(
        default,
        title=title,
        description=description or title,
        ge=least,
        le=most,
        examples=[example],
        json_schema_extra={
            "whole": True, "accepts": f"a whole number from {least} to {most}, such as {example}"
        },
    )  # fmt: skip


Coordinate = Annotated[float, Field(ge=-MOST_REACH, le=MOST_REACH, allow_inf_nan=False)]
Point = Annotated[list[Coordinate], Field(min_length=3, max_length=3)]
"""Forward, left and up of a datum [mm]: x, y, z of ISO 8855."""


Component = Annotated[float, Field(ge=-MOST_REACH, le=MOST_REACH, allow_inf_nan=False)]
Direction = Annotated[list[Component], Field(min_length=3, max_length=3)]
"""Forward, left and up, of any length but nothing."""


def direction(title: str) -> Any:
    """One direction."""
    return Field(
        title=title,
        description=f"{title}, x, y and z of any length",
        examples=["1 0 0"],
        json_schema_extra={"numbers": True, "accepts": "three numbers, not all 0: 1 0 0"},
    )


def directions(title: str, *, default: Any = ...) -> Any:
    """Three directions; a person parts them by semicolons."""
    return Field(
        default,
        title=title,
        description=f"{title}, x, y and z of each, of any length",
        min_length=3,
        max_length=3,
        examples=["1 0 0; 0 1 0; 0 0 1"],
        json_schema_extra={
            "directions": True, "accepts": "three directions, square to each other: 1 0 0; 0 1 0; 0 0 1"
        },
    )  # fmt: skip


def yes_or_no(title: str) -> Any:
    """Whether something is so; it is not where nothing is said."""
    return Field(default=False, title=title, json_schema_extra={"accepts": "true or false"})


def points(title: str, *, least: int, most: int = MOST_ROWS, default: Any = ...) -> Any:
    """A list of points; a person types three numbers for each, and parts the points by semicolons."""
    return Field(
        default,
        title=title,
        description=f"{title}, x, y and z of each [mm]",
        min_length=least,
        max_length=most,
        examples=["0 0 0; 200 0 0; 200 300 0"],
        json_schema_extra={
            "points": True, "unit": "mm",
            "accepts": f"{least} to {most} points of three numbers in mm: 0 0 0; 200 0 50",
        },
    )  # fmt: skip


def point(title: str, *, default: Any = ...) -> Any:
    """One point."""
    return Field(
        default,
        title=title,
        description=f"{title}, x, y and z [mm]",
        examples=["310 220 140"],
        json_schema_extra={"point": True, "unit": "mm", "accepts": "three numbers in mm: 310 220 140"},
    )


def lengths(
    title: str, *, least: int, most: int = MOST_ROWS, default: Any = ..., description: str = ""
) -> Any:
    """A list of lengths over nothing; a person parts them by spaces or semicolons."""
    return Field(
        default,
        title=title,
        description=description or f"{title} [mm]",
        min_length=least,
        max_length=most,
        examples=["95 95 60"],
        json_schema_extra={
            "lengths": True, "unit": "mm",
            "accepts": f"{least} to {most} lengths over 0 in mm, parted by spaces: 95 95 60",
        },
    )  # fmt: skip


def rows(title: str, item: str, *, least: int, most: int = MOST_ROWS, shown: int = 3) -> Any:
    """A list of objects, of one or more where `least` is not 0. A page has room for `MOST_ROWS` of them.

    shown: rows on an empty page.
    """
    some = "one or more" if least else "none or more"
    return Field(
        ... if least else [],
        title=title,
        min_length=least or None,
        max_length=most,
        json_schema_extra={"shown": shown, "accepts": f"a list of {some}, up to {most}: {item}"},
    )


def names(title: str, example: str, description: str) -> Any:
    """A list of names, none where nothing is said; a person parts them by commas or semicolons."""
    return Field(
        default=[],
        title=title,
        description=f"{title}, {description}",
        max_length=MOST_ROWS,
        examples=[example],
        json_schema_extra={"names": True, "accepts": f"a list of names: {example}"},
    )


def amounts(title: str, example: str, description: str) -> Any:
    """An object of names with how many of each, empty where nothing is said.

    A person writes each number behind its name, one where there is none, and parts them by commas or
    semicolons.
    """
    return Field(
        default={},
        title=title,
        description=f"{title}, {description}",
        max_length=MOST_ROWS,
        examples=[example],
        json_schema_extra={"amounts": True, "accepts": f"an object of names with whole numbers: {example}"},
    )


def group(title: str, item: str) -> Any:
    """One object: a person fills its fields under one heading."""
    return Field(title=title, description=title, json_schema_extra={"accepts": f"an object: {item}"})


A = TypeVar("A", bound=Asked)


def typed_sum(model: type[A], typed: Mapping[str, str]) -> A:
    """What a person typed, in any unit, as the very value that a script would send. Raises BadInput."""
    fields = Fields(typed)
    asked = _read(fields, model, "")
    typed_as: dict[str, str] = {}
    for name, field in model.model_fields.items():
        item, whole = item_model(field), whole_model(field)
        if whole is not None:
            asked[name] = _read(fields, whole, f"{name}.")
        if item is not None:
            rows = filled_rows(item, name, typed)
            asked[name] = [_read(fields, item, f"{name}[{row}].") for row in rows]
            typed_as |= {f"{name}[{place}]": f"{name}[{row}]" for place, row in enumerate(rows)}
    try:
        answer = checked(asked, model)
    except BadInput as refused:
        raise BadInput((*fields.errors, *_not_yet_told(fields, refused, typed_as)), typed) from None
    fields.done()
    return answer


def filled_rows(item: type[BaseModel], name: str, typed: Mapping[str, str]) -> list[int]:
    """The numbers of the rows of a list in which something is typed, rising."""
    places = (
        re.fullmatch(rf"{name}\[([0-9]{{1,2}})\]\.(\w+)", key) for key, text in typed.items() if text.strip()
    )
    return sorted({int(place[1]) for place in places if place and place[2] in item.model_fields})


def _read(fields: Fields, model: type[BaseModel], before: str) -> dict[str, object]:
    """The single fields of a model that something is typed in; what can't be read is noted and left out."""
    asked: dict[str, object] = {}
    for name, field in model.model_fields.items():
        text = fields.raw(before + name)
        if not text:
            continue
        noted = extras(field)
        if "quantity" in noted:
            _read_number(fields, before, name, field, asked)
        elif "whole" in noted:
            asked[name] = int(text) if re.fullmatch(r"[0-9]{1,9}", text) else text
        elif "names" in noted:
            asked[name] = _named(text)
        elif "amounts" in noted:
            asked[name] = dict(map(_amount_typed, _named(text)))
        elif "points" in noted:
            asked[name] = [_lengths_typed(fields, before + name, field, part) for part in _parted(text)]
        elif "directions" in noted:
            asked[name] = [_numbers_typed(fields, before + name, field, part) for part in _parted(text)]
        elif "numbers" in noted:
            asked[name] = _numbers_typed(fields, before + name, field, text)
        elif field.annotation is bool:
            asked[name] = text == YES
        elif "point" in noted or "lengths" in noted:
            asked[name] = _lengths_typed(fields, before + name, field, text)
        elif item_model(field) is None and whole_model(field) is None:
            asked[name] = text
    return asked


def _named(text: str) -> list[str]:
    return [part.strip() for part in re.split(r"[,;\n]", text) if part.strip()]


def _amount_typed(text: str) -> tuple[str, int]:
    """A name with the number behind it, "lift 2" or "lift: 2"; one where there is none."""
    found = re.fullmatch(r"(.+?)(?:\s*[:=]\s*|\s+)([0-9]{1,6})", text)
    return (found[1], int(found[2])) if found else (text, 1)


def _parted(text: str) -> list[str]:
    return [part for part in re.split(r"[;\n]", text) if part.strip()]


def _numbers_typed(fields: Fields, name: str, field: FieldInfo, text: str) -> list[float]:
    """Bare numbers one after the other. What can't be read is noted."""
    found = []
    for part in re.split(r"[;\s]+|,\s+", text.strip()):
        try:
            found.append(float(part.replace("\N{MINUS SIGN}", "-").replace(",", ".")))
        except ValueError:
            fields.refuse(name, f"{field.title or name}: {part} is not a number.", accepts(field))
    return found


def _lengths_typed(fields: Fields, name: str, field: FieldInfo, text: str) -> list[float]:
    """Lengths one after the other [mm]; a bare one is in mm. What can't be read is noted."""
    found = []
    for part in re.split(r"[;\s]+|,\s+", text.strip()):
        try:
            found.append(from_si(read(part, Kind.length, "mm").value, "mm"))
        except NotRead as problem:
            fields.refuse(name, f"{field.title or name}: {problem.message}", accepts(field))
    return found


def _read_number(fields: Fields, before: str, name: str, field: FieldInfo, asked: dict[str, object]) -> None:
    noted = extras(field)
    label = field.title or name
    unit = PINT_NAMES[noted["unit"]]
    typed = fields.quantity(before + name, label, Kind(noted["quantity"]), unit=unit)
    if typed is None:
        return
    if noted["reference"] == ABSOLUTE and typed.reference is Reference.gauge:
        fields.refuse(
            before + name, f"{label} is counted from a vacuum.", "an absolute pressure: 200 kPa, 29 psia"
        )
    elif noted["reference"] == GAUGE and typed.reference is Reference.absolute:
        fields.refuse(
            before + name, f"{label} is inside less outside.", "a gauge pressure: 150 kPa, 1.5 bar g"
        )
    elif typed.doubt is not None and (name != "value_mm" or fields.raw(f"{before}doubt_mm")):
        fields.refuse(before + name, f"{label}: a ± has no place here.", accepts(field))
    else:
        asked[name] = from_si(typed.value, unit)
        if typed.doubt is not None:
            asked["doubt_mm"] = from_si(typed.doubt, unit)


def _not_yet_told(fields: Fields, refused: BadInput, typed_as: Mapping[str, str]) -> Iterable[FieldError]:
    """Errors of the model under the names of the fields as typed; one message a field is enough."""
    told = {error.field for error in fields.errors}
    for error in refused.errors:
        start, dot, rest = error.field.partition(".")
        name = typed_as.get(start, start) + dot + rest
        if name not in told:
            yield replace(error, field=name)
