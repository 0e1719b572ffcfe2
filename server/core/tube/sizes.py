"""The sizes that a piece of each kind is described by: their names, words and units."""

from typing import Protocol

from server.core.tube.run import HOSES, RUBBERS, PieceKind, Turn
from server.core.units import Kind, from_si

MATERIALS = (
    "aluminium",
    "mild steel",
    "304 stainless",
    "321 stainless",
    "titanium",
    "plastic",
    "silicone",
    "lined silicone",
    "EPDM",
    "NBR",
    "FKM",
    "PTFE",
)
HOSE_RATING = ("rated_pressure", "rated_temperature")
BENT = ("bend_angle", "bend_radius", "length", "length_out", "roll")
SIZES_OF = {
    PieceKind.TUBE: ("outside_diameter", "wall", "length"),
    PieceKind.BEND: ("outside_diameter", "wall", *BENT),
    PieceKind.COUPLER: ("bore", "wall", "length", *HOSE_RATING),
    PieceKind.HOSE_ELBOW: ("bore", "wall", *BENT, *HOSE_RATING),
    PieceKind.REDUCER: ("bore", "bore_out", "wall", "length", *HOSE_RATING),
    PieceKind.HOSE: ("bore", "wall", "length", *HOSE_RATING),
    PieceKind.FLEX: ("bore", "outside_diameter", "length", "travel"),
    PieceKind.FLANGE: ("bore", "length"),
    PieceKind.METER: ("outside_diameter", "wall", "bore", "length"),
    PieceKind.FILTER: ("bore", "length"),
    PieceKind.SALVAGED: ("outside_diameter", "wall", *BENT),
}
"""The sizes that a piece of each kind is described by."""
SIZE_LABELS = {
    "outside_diameter": "Outside diameter",
    "outside_diameter_out": "Outside diameter at the outlet",
    "wall": "Wall",
    "bore": "Bore",
    "bore_out": "Bore at the outlet",
    "length": "Length",
    "length_out": "Leg after the bend",
    "bend_angle": "Bend",
    "bend_radius": "Radius of the centre line",
    "roll": "Roll from the bend before",
    "rated_pressure": "Working pressure",
    "rated_temperature": "Rated at",
    "travel": "Travel, in or out",
    "clamp_least": "Clamp closes to",
    "clamp_most": "Clamp opens to",
    "overlap": "Overlap, spigot inside the hose",
    "holds": "Bead and clamp hold",
    "old_diameter": "Joint before: tube outside",
    "old_pressure": "Joint before: pressure it held",
    "wrap": "Thickness of the wrap",
    "ratings": "Maker's table",
    "turns": "Turns after that",
}
KIND_OF_SIZE = {
    "bend_angle": Kind.angle,
    "roll": Kind.angle,
    "rated_pressure": Kind.pressure,
    "rated_temperature": Kind.temperature,
    "holds": Kind.force,
    "old_pressure": Kind.pressure,
}
UNIT_OF_KIND = {
    Kind.length: ("millimeter", "mm"),
    Kind.angle: ("degree", "°"),
    Kind.pressure: ("bar", "bar"),
    Kind.temperature: ("degC", "°C"),
    Kind.force: ("newton", "N"),
}
"""The unit taken where the text has none: pint's name, and as shown beside the field."""
SORT_OF_SIZE = {
    "outside_diameter": "outside_diameter",
    "outside_diameter_out": "outside_diameter",
    "bore": "bore",
    "bore_out": "bore",
    "wall": "wall",
    "length": "length",
    "length_out": "length",
    "bend_radius": "bend_radius",
    "rated_pressure": "hose_pressure",
    "rated_temperature": "hose_temperature",
    "clamp_least": "outside_diameter",
    "clamp_most": "outside_diameter",
    "overlap": "overlap",
}
"""What is usual for a size, by its name in `measure.plausible.USUAL`."""
SIZE_COLUMNS = (
    "outside_diameter",
    "outside_diameter_out",
    "wall",
    "bore",
    "bore_out",
    "length",
    "length_out",
    "bend_angle",
    "bend_radius",
    "rated_pressure",
    "rated_temperature",
    "travel",
)
"""Every size that a piece may have or lack."""


class Sized(Protocol):
    """Anything with the sizes along a piece's centre line [m, rad]."""

    length: float | None
    length_out: float | None
    bend_angle: float | None
    bend_radius: float | None
    turns: list[list[float]]
    """Of each turn after its first bend: roll, angle, radius, straight after it."""


def kind_of_size(name: str) -> Kind:
    """Whether a size is a length, an angle, a pressure ..."""
    return KIND_OF_SIZE.get(name, Kind.length)


def size_text(name: str, value: float | None) -> str:
    """A stored size as text in the unit that its field takes, where nobody typed one."""
    if value is None:
        return ""
    number = from_si(value, UNIT_OF_KIND[kind_of_size(name)][0])
    return f"{number:.4g}"


def is_hose(kind: PieceKind, material: str) -> bool:
    """Slides over a spigot and is held by clamps. Source: definition."""
    return kind in HOSES or (kind is PieceKind.REDUCER and material in RUBBERS)


def centre_line_length(piece: Sized) -> float | None:
    """Length along a piece's centre line [m], none while a size is missing. Source: geometry."""
    if piece.length is None:
        return None
    turned = sum(Turn(*turn).length for turn in piece.turns)
    if piece.bend_angle is None or piece.bend_radius is None:
        return piece.length + turned
    return piece.length + (piece.length_out or 0.0) + piece.bend_angle * piece.bend_radius + turned
