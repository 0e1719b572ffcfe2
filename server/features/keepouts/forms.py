"""What the builder types about a keep-out."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import radians
from typing import Any

from server.core.measure.instruments import Instrument, instrument
from server.core.measure.typed import Typed
from server.core.tube.run import Frame, What
from server.core.tube.space.solids import AXES, Shape
from server.core.units import Kind, System
from server.features.keepouts.page import FIELDS, LABELS
from server.features.places.page import TAPE_INSTRUMENTS
from server.web.fields import Fields

FARTHEST = 6.0
"""Nothing of a car is further from another part of it [m]."""
LIMITS = {
    "across": (0.001, 2.0, "a width from 1 mm to 2 m, such as 25 mm or 1 in"),
    "long": (0.001, 4.0, "a length from 1 mm to 4 m"),
    "wide": (0.001, 4.0, "a width from 1 mm to 4 m"),
    "high": (0.001, 4.0, "a height from 1 mm to 4 m"),
    "gap": (0.0, 0.5, "a gap from 0 to 500 mm, such as 15 mm or 5/8 in"),
    "moves": (0.0, 0.5, "a way from 0 to 500 mm"),
}


@dataclass(frozen=True, slots=True)
class KeepOutForm:
    """Values of a keep-out's columns."""

    values: dict[str, Any]


def keep_out_form(typed: Mapping[str, str], system: System, shape: Shape | None = None) -> KeepOutForm:
    """`shape`: of one that is there, which keeps its shape. Raises BadInput."""
    fields = Fields(typed)
    if shape is None:
        shape = Shape(fields.choice("shape", LABELS["shape"], list(Shape), default=Shape.CAPSULE))
    what = fields.choice("what", LABELS["what"], list(What), default=What.OTHER)
    code = fields.choice("instrument", LABELS["instrument"], TAPE_INSTRUMENTS, default=TAPE_INSTRUMENTS[0])
    numbers: dict[str, list[float]] = {}
    for name in (*FIELDS[shape], "gap", "moves"):
        if name in {"at", "to"}:
            point = fields.point(name, LABELS[name], most=FARTHEST, required=True)
            for axis, one in zip(AXES, point or (), strict=bool(point)):
                numbers[f"{name}_{axis}"] = _number(one, instrument(code))
        elif (read := _size(fields, name, system)) is not None:
            numbers[name] = _number(read, instrument(code if name != "turned" else "angle_eye"))
    if shape is Shape.CAPSULE and not fields.errors and _in_one_point(numbers):
        fields.refuse("to", "Both ends are one point.", "another point, or a ball")
    values = {
        "what": what,
        "name": fields.text("name", LABELS["name"], most=80) or what,
        "shape": shape.value,
        "frame": fields.choice("frame", LABELS["frame"], list(Frame), default=""),
        "note": fields.text("note", LABELS["note"], most=300),
        "numbers": numbers,
        "typed": {name: fields.raw(name) for name in (*FIELDS[shape], "gap", "moves", "instrument")},
    }
    fields.done()
    return KeepOutForm(values)


def _number(read: Typed, tool: Instrument) -> list[float]:
    return [read.value, tool.doubt(read.value) if read.doubt is None else read.doubt]


def _size(fields: Fields, name: str, system: System) -> Typed | None:
    if name == "turned":
        accepts = "an angle from -180° to 180°, such as 30"
        most = radians(180.0)
        return fields.quantity(
            name, LABELS[name], Kind.angle, unit="°", least=-most, most=most, accepts=accepts
        )
    least, most, accepts = LIMITS[name]
    unit = "mm" if system is System.metric else "in"
    return fields.quantity(
        name,
        LABELS[name],
        Kind.length,
        unit=unit,
        required=name != "moves",
        least=least,
        most=most,
        accepts=accepts,
    )


def _in_one_point(numbers: Mapping[str, list[float]]) -> bool:
    return all(numbers[f"at_{axis}"][0] == numbers[f"to_{axis}"][0] for axis in AXES)
