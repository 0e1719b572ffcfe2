"""What the builder types about pieces, side ports and joints."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import pi
from types import MappingProxyType
from typing import Any

from server.core.checks.figures import Column
from server.core.checks.hose_rating import RATING_COLUMNS, RATING_HINTS, table_fault
from server.core.checks.levers import DIAMETER_AS_SOLD
from server.core.checks.pipe_turns import TURN_COLUMNS, TURN_HINTS, turn_fault
from server.core.measure.instruments import instrument
from server.core.tube.run import Clamp, EndForm, Fixing, JointKind, Offered, Origin, PieceKind, Screw
from server.core.tube.said import (
    CUT_KINDS,
    FILLERS,
    KNOWN_BY,
    LINERS,
    OTHER_FILLER,
    usual_end,
    usual_material,
    usual_origin,
)
from server.core.tube.sizes import (
    MATERIALS,
    SIZE_COLUMNS,
    SIZE_LABELS,
    SIZES_OF,
    SORT_OF_SIZE,
    UNIT_OF_KIND,
    is_hose,
    kind_of_size,
    size_text,
)
from server.core.units import Kind
from server.errors import BadInput, Clash
from server.features.figures.forms import table_rows
from server.features.runs.page import JOINT_SIZES
from server.web.fields import Fields

TEXT_LABELS = {
    "kind": "Kind",
    "name": "Name",
    "material": "Material",
    "inlet_end": "Inlet end",
    "outlet_end": "Outlet end",
    "reinforced": "Reinforced",
    "clamp": "Clamp",
    "holds_origin": "Where that figure comes from",
    "bracket": "Bracket",
    "screw": "Its screw",
    "screw_at": "Where, and which tool",
    "filler": "Filler",
    "origin": "Where it comes from",
    "part_id": "Part of the list",
    "offered": "Offered up",
    "offered_note": "What that showed",
    "liner": "Liner",
    "supported": "Held after it",
}

LONGEST = 5.0
WIDEST = 0.5
"""No pipe under a bonnet is longer or wider [m]."""
HOTTEST = 1400.0

AS_SOLD = (DIAMETER_AS_SOLD, 0.001)
"""Standard uncertainties of diameters and lengths of bought pieces [m]; common practice, no source."""
RECKONED = (0.002, 0.005)

FORMER = "former"
"""Kept among the texts of a piece: what its last save changed, so that it can be undone."""


@dataclass(frozen=True, slots=True)
class PieceForm:
    """Values of a piece's columns, and each size's text as it was typed."""

    kind: PieceKind
    values: dict[str, object]
    texts: dict[str, str]


def piece_kind(typed: Mapping[str, str]) -> PieceKind:
    """Raises BadInput."""
    fields = Fields(typed)
    kind = fields.choice("kind", "Kind of piece", [kind.value for kind in PieceKind])
    fields.done()
    return PieceKind(kind)


def piece_form(typed: Mapping[str, str], parts: Sequence[int] = ()) -> PieceForm:
    """Raises BadInput. A size that was left empty is stored as not known; what a form does not ask stays.

    `parts`: numbers of the parts that it may be linked to.
    """
    fields = Fields(typed)
    kind = PieceKind(fields.choice("kind", "Kind of piece", [kind.value for kind in PieceKind]))
    ends = [form.value for form in EndForm]
    values: dict[str, object] = {
        "kind": kind.value,
        "name": fields.text("name", "Name", most=80),
        "material": fields.choice("material", "Material", MATERIALS, default=usual_material(kind)),
        "inlet_end": fields.choice("inlet_end", "Inlet end", ends, default=usual_end(kind).value),
        "outlet_end": fields.choice("outlet_end", "Outlet end", ends, default=usual_end(kind).value),
        "reinforced": fields.flag("reinforced"),
    }
    values |= _more(fields, kind, parts)
    texts: dict[str, str] = {}
    for size in SIZES_OF[kind]:
        values[size] = _size(fields, size)
        texts[size] = fields.raw(size)
    values["roll"] = values.get("roll") or 0.0
    texts |= {name: fields.raw(name) for name in ("wrap", "ratings", "turns") if name in fields.typed}
    known_by = fields.choice("known_by", "How the sizes are known", list(KNOWN_BY), default="as sold")
    texts["known_by"] = known_by
    values["doubt"], values["length_doubt"] = _doubts(known_by, values)
    values["typed"] = texts
    _refuse_impossible(fields, values)
    fields.done()
    return PieceForm(kind, values, texts)


def _more(fields: Fields, kind: PieceKind, parts: Sequence[int]) -> dict[str, object]:
    """What is rarely said of a piece, as far as the form asks for it."""
    values: dict[str, object] = {}
    if "origin" in fields.typed:
        values["origin"] = fields.choice(
            "origin",
            "Where it comes from",
            [origin.value for origin in Origin],
            default=usual_origin(kind).value,
        )
    if "part_id" in fields.typed:
        values["part_id"] = fields.row_id("part_id", "Part of the list", parts)
    if "offered" in fields.typed:
        values["offered"] = fields.choice(
            "offered", "Offered up", [item.value for item in Offered], default=""
        )
        values["offered_note"] = fields.text("offered_note", "What that showed", most=200)
    if "wrap" in fields.typed:
        values["wrap"] = _size(fields, "wrap")
    if "ratings" in fields.typed:
        values["ratings"] = _rows(fields, "ratings", RATING_COLUMNS, table_fault, RATING_HINTS)
    if "turns" in fields.typed and kind in CUT_KINDS:
        values["turns"] = _rows(fields, "turns", TURN_COLUMNS, turn_fault, TURN_HINTS)
    if kind is PieceKind.FLEX:
        values["liner"] = fields.choice("liner", "Liner", list(LINERS), default="")
        values["supported"] = fields.flag("supported")
    return values


def _rows(
    fields: Fields,
    name: str,
    columns: Sequence[Column],
    fault: Callable[[list[list[float]]], str | None],
    hints: tuple[str, str],
) -> list[list[float]]:
    """A table of a piece, row by row [SI]. hints: a row as typed, and what is accepted."""
    rows = table_rows(fields, name, SIZE_LABELS[name], columns, hints[0])
    wrong = fault(rows) if rows else None
    if wrong is not None:
        fields.refuse(name, wrong, hints[1])
    return rows


def _size(fields: Fields, size: str) -> float | None:
    kind = kind_of_size(size)
    unit = UNIT_OF_KIND[kind][0]
    least, most, accepts = {
        "bend_angle": (0.0, pi, "an angle from 0 to 180°"),
        "roll": (-2 * pi, 2 * pi, "an angle from −360 to 360°"),
        "rated_pressure": (0.0, 5e6, "a gauge pressure, such as 4 bar or 60 psi"),
        "rated_temperature": (200.0, HOTTEST, "a temperature, such as 150 °C"),
        "wall": (0.0002, 0.02, "0.2 to 20 mm"),
        "length": (0.0, LONGEST, "a length up to 5 m"),
        "length_out": (0.0, LONGEST, "a length up to 5 m"),
        "travel": (0.0, 0.2, "a length up to 200 mm"),
        "wrap": (0.0002, 0.05, "a thickness from 0.2 to 50 mm"),
        "bend_radius": (0.001, 2.0, "a radius up to 2 m"),
    }.get(size, (0.001, WIDEST, "a diameter from 1 to 500 mm, such as 63.5 or 2 1/2 in"))
    typed = fields.quantity(
        size,
        SIZE_LABELS[size],
        kind,
        unit=unit,
        least=least,
        most=most,
        accepts=accepts,
        sort=SORT_OF_SIZE.get(size, ""),
    )
    return None if typed is None else typed.value


def _doubts(known_by: str, values: Mapping[str, object]) -> tuple[float, float]:
    """Standard uncertainties of diameters and of lengths [m]."""
    if known_by == "as sold":
        return AS_SOLD
    if known_by == "reckoned":
        return RECKONED
    across = values.get("outside_diameter") or values.get("bore") or 0.06
    along = values.get("length") or 0.1
    assert isinstance(across, float)
    assert isinstance(along, float)
    return instrument("digital_caliper").doubt(across), instrument("tape").doubt(along)


def _refuse_impossible(fields: Fields, values: Mapping[str, object]) -> None:
    outside, wall = values.get("outside_diameter"), values.get("wall")
    if isinstance(outside, float) and isinstance(wall, float) and 2 * wall >= outside:
        fields.refuse(
            "wall", "Two walls are as thick as the tube is wide.", "a wall under half the outside diameter"
        )
    radius, across = values.get("bend_radius"), outside or values.get("bore")
    if isinstance(radius, float) and isinstance(across, float) and radius <= across / 2:
        fields.refuse("bend_radius", "That radius is inside the tube.", "more than half the diameter")


def swapped(kind: PieceKind, before: PieceKind, material: str) -> dict[str, object]:
    """Values of a piece that becomes one of another kind: ends and material as usual where need be."""
    values: dict[str, object] = {"kind": kind.value}
    values |= {size: None for size in SIZE_COLUMNS if size not in SIZES_OF[kind]}
    if usual_end(kind) is not usual_end(before):
        values |= {"inlet_end": usual_end(kind).value, "outlet_end": usual_end(kind).value}
    if is_hose(kind, usual_material(kind)) != is_hose(before, material):
        values |= {"material": usual_material(kind), "ratings": [], "wrap": None}
    if (usual_origin(kind), usual_origin(before)) != (Origin.NEW, Origin.NEW):
        values["origin"] = usual_origin(kind).value
    if kind is not PieceKind.FLEX:
        values |= {"liner": "", "supported": False}
    if kind not in CUT_KINDS:
        values |= {"turns": []}
    return values


def former(stands: Mapping[str, Any], names: Iterable[str]) -> str:
    """What stands in these columns of a piece, written down so that a save of them can be undone."""
    texts = {name: text for name, text in stands["typed"].items() if name != FORMER}
    values = {name: stands[name] for name in names} | {"typed": texts}
    return json.dumps({"version": stands["version"], "values": values})


def former_values(stands: Mapping[str, Any]) -> dict[str, Any] | None:
    """The columns that the last save of a piece changed, as they were; None where nothing can be undone."""
    noted = json.loads(stands["typed"].get(FORMER, "{}"))
    values: dict[str, Any] | None = noted.get("values")
    return values if noted.get("version") == stands["version"] - 1 else None


def bought(kind: PieceKind) -> dict[str, object]:
    """What changes where another piece, of the same sizes and not there yet, takes the place of one."""
    diameter, length = AS_SOLD
    return {
        "origin": usual_origin(kind).value,
        "name": "",
        "part_id": None,
        "offered": "",
        "offered_note": "",
        "doubt": diameter,
        "length_doubt": length,
    }


@dataclass(frozen=True, slots=True)
class BungForm:
    name: str
    port_id: int | None
    fixing: str
    at: float
    bore: float
    clock: float


def bung_form(typed: Mapping[str, str], ports: Mapping[int, str], length: float | None) -> BungForm:
    """Raises BadInput. `ports`: names of the side ports by number; `length`: along the piece [m]."""
    fields = Fields(typed)
    port_id = fields.row_id("port_id", "For which line", list(ports))
    at = fields.quantity(
        "at", "Distance from the inlet face", Kind.length, unit="mm", required=True, least=0.0, most=LONGEST,
        sort="length",
    )  # fmt: skip
    bore = fields.quantity(
        "bore", "Bore of the side port", Kind.length, unit="mm", required=True, least=0.0005, most=WIDEST,
        sort="line_bore",
    )  # fmt: skip
    clock = fields.quantity("clock", "Direction", Kind.angle, unit="deg", least=-2 * pi, most=2 * pi)
    name = fields.text("name", "Name", most=80) or ports.get(port_id or 0, "")
    if not name:
        fields.refuse("name", "Say what joins here.", "a line of the list, or a name")
    if at is not None and length is not None and at.value > length:
        fields.refuse("at", "That is beyond the end of the piece.", f"0 to {length * 1000:.0f} mm")
    fixing = fields.choice("fixing", "How it is fixed", [item.value for item in Fixing])
    fields.done()
    if at is None or bore is None:
        raise BadInput((), typed)
    return BungForm(name, port_id, fixing, at.value, bore.value, clock.value if clock else 0.0)


@dataclass(frozen=True, slots=True)
class JointForm:
    values: dict[str, object]


def joint_form(typed: Mapping[str, str]) -> JointForm:
    """Raises BadInput."""
    fields = Fields(typed)
    texts = {}
    values: dict[str, object] = {
        "kind": fields.choice("kind", "Kind of joint", [kind.value for kind in JointKind]),
        "clamp": fields.choice("clamp", "Clamp", [clamp.value for clamp in Clamp], default=""),
        "holds_origin": fields.text("holds_origin", "Where that figure comes from", most=120),
        "bracket": fields.flag("bracket"),
        "screw": fields.choice("screw", TEXT_LABELS["screw"], [screw.value for screw in Screw], default=""),
        "screw_at": fields.text("screw_at", TEXT_LABELS["screw_at"], most=60),
    }
    values["filler"] = _filler(fields) if values["kind"] == JointKind.WELD else ""
    for name, label, kind, unit, most in (
        ("clamp_least", "Clamp closes to", Kind.length, "mm", WIDEST),
        ("clamp_most", "Clamp opens to", Kind.length, "mm", WIDEST),
        ("overlap", "Overlap, spigot inside the hose", Kind.length, "mm", WIDEST),
        ("holds", "Bead and clamp hold", Kind.force, "N", 100_000.0),
        ("old_diameter", SIZE_LABELS["old_diameter"], Kind.length, "mm", WIDEST),
        ("old_pressure", SIZE_LABELS["old_pressure"], Kind.pressure, "bar", 5e6),
    ):
        sort = SORT_OF_SIZE.get(name, "")
        typed_size = fields.quantity(name, label, kind, unit=unit, least=0.0, most=most, sort=sort)
        values[name] = None if typed_size is None else typed_size.value
        texts[name] = fields.raw(name)
    least, most_open = values["clamp_least"], values["clamp_most"]
    if isinstance(least, float) and isinstance(most_open, float) and least >= most_open:
        fields.refuse("clamp_most", "The clamp opens less than it closes.", "more than what it closes to")
    if values["holds"] is not None and not values["holds_origin"]:
        fields.refuse("holds_origin", "Say where the figure comes from.", "own pull test, maker's sheet ...")
    for one, other in (("old_diameter", "old_pressure"), ("old_pressure", "old_diameter")):
        if values[one] is not None and values[other] is None and not fields.raw(other):
            fields.refuse(other, f"{SIZE_LABELS[other]} is missing.", "both figures of it, or none")
    values["typed"] = texts
    fields.done()
    return JointForm(values)


def _filler(fields: Fields) -> str:
    """The filler metal of a weld, of the list or typed."""
    other = fields.text("filler_other", "Filler, in words", most=40)
    named = fields.choice("filler", "Filler", ["", *FILLERS, OTHER_FILLER], default="")
    if named == OTHER_FILLER and not other:
        fields.refuse("filler_other", "Say which filler.", "its name, such as 310 or ER90S-B3")
    return other if named == OTHER_FILLER else named


def direction(typed: Mapping[str, str]) -> str:
    """Raises BadInput."""
    fields = Fields(typed)
    where = fields.choice("where", "Where to", ("earlier", "later"))
    fields.done()
    return where


def piece_clashes(
    wanted: Mapping[str, object],
    stands: Mapping[str, object],
    parts: Mapping[int, str] = MappingProxyType({}),
) -> tuple[Clash, ...]:
    """Every field of a piece that two people changed, as texts. `parts`: names of parts by their number."""

    def named(values: Mapping[str, object]) -> dict[str, object]:
        number = values.get("part_id")
        return {**values, **({"part_id": parts.get(number, "")} if isinstance(number, int) else {})}

    return _clashes(named(wanted), named(stands), (*TEXT_LABELS, *SIZE_LABELS))


def joint_clashes(wanted: Mapping[str, object], stands: Mapping[str, object]) -> tuple[Clash, ...]:
    """Every field of a joint that two people changed, as texts."""
    return _clashes(wanted, stands, (*TEXT_LABELS, *JOINT_SIZES))


def _clashes(
    wanted: Mapping[str, object], stands: Mapping[str, object], names: Sequence[str]
) -> tuple[Clash, ...]:
    found = []
    for name in names:
        if name in wanted and wanted[name] != stands[name]:
            label = TEXT_LABELS.get(name) or SIZE_LABELS[name]
            found.append(Clash(name, label, _words(name, stands), _words(name, wanted)))
    return tuple(found)


def _words(name: str, values: Mapping[str, object]) -> str:
    """A value as it was typed, else as text."""
    typed = values.get("typed")
    if name in SIZE_LABELS and isinstance(typed, Mapping) and typed.get(name):
        return str(typed[name])
    value = values[name]
    if isinstance(value, bool):
        return "yes" if value else "no"
    return size_text(name, value) if isinstance(value, float) else str(value or "")
