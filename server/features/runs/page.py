"""The editor of a run's pieces: every field with its text as it was typed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from server.core.tube.run import HOSES, RUBBERS, Clamp, EndForm, Fixing, JointKind, PieceKind
from server.core.units import Kind, System, from_si
from server.errors import Clash
from server.web.view import FormState, Quantity

if TYPE_CHECKING:
    from server.features.runs.store import RunRows
    from server.features.runs.tables import Joint, Piece

MATERIALS = (
    "aluminium",
    "mild steel",
    "304 stainless",
    "plastic",
    "silicone",
    "lined silicone",
    "EPDM",
    "NBR",
    "FKM",
    "PTFE",
)
KNOWN_BY = {
    "as sold": "as sold",
    "measured": "measured with caliper and tape",
    "reckoned": "reckoned, not measured",
}
HOSE_RATING = ("rated_pressure", "rated_temperature")
BENT = ("bend_angle", "bend_radius", "length", "length_out", "roll")
SIZES_OF = {
    PieceKind.TUBE: ("outside_diameter", "wall", "length"),
    PieceKind.BEND: ("outside_diameter", "wall", *BENT),
    PieceKind.COUPLER: ("bore", "wall", "length", *HOSE_RATING),
    PieceKind.HOSE_ELBOW: ("bore", "wall", *BENT, *HOSE_RATING),
    PieceKind.REDUCER: ("bore", "bore_out", "wall", "length", *HOSE_RATING),
    PieceKind.HOSE: ("bore", "wall", "length", *HOSE_RATING),
    PieceKind.FLEX: ("bore", "outside_diameter", "length"),
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
    "clamp_least": "Clamp closes to",
    "clamp_most": "Clamp opens to",
    "overlap": "Overlap, spigot inside the hose",
    "holds": "Bead and clamp hold",
}
KIND_OF_SIZE = {
    "bend_angle": Kind.angle,
    "roll": Kind.angle,
    "rated_pressure": Kind.pressure,
    "rated_temperature": Kind.temperature,
    "holds": Kind.force,
}
UNIT_OF_KIND = {
    Kind.length: ("millimeter", "mm"),
    Kind.angle: ("degree", "°"),
    Kind.pressure: ("bar", "bar"),
    Kind.temperature: ("degC", "°C"),
    Kind.force: ("newton", "N"),
}
"""The unit taken where the text has none: pint's name, and as shown beside the field."""
JOINT_SIZES = ("clamp_least", "clamp_most", "overlap", "holds")
JOINT_COLUMNS = (*JOINT_SIZES, "kind", "clamp", "holds_origin", "bracket", "typed")
"""Everything that describes a joint."""
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
}
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
)
"""Every size that a piece may have or lack."""
CARRIED = ("outside_diameter", "wall", "bore")
"""Sizes that a new piece takes from the one before it, so that a run of one bore is typed once."""

USUAL_KINDS = tuple(kind.value for kind in PieceKind)


@dataclass(frozen=True, slots=True)
class SizeField:
    """One size of a piece as a field: its text as typed, and the unit taken where the text has none."""

    name: str
    label: str
    text: str
    unit: str


@dataclass(frozen=True, slots=True)
class BungLine:
    """A side port on a piece."""

    id: int
    name: str
    at: Quantity
    bore: Quantity
    fixing: str


@dataclass(frozen=True, slots=True)
class JointEditor:
    """The form of one joint."""

    id: int
    version: int
    number: int
    title: str
    kind: str
    clamp: str
    sizes: tuple[SizeField, ...]
    holds_origin: str
    bracket: bool
    form: FormState


@dataclass(frozen=True, slots=True)
class PieceEditor:
    """The forms of one piece: its sizes, its side ports, the joints beside it."""

    id: int
    version: int
    number: int
    kind: str
    name: str
    material: str
    inlet_end: str
    outlet_end: str
    known_by: str
    is_hose: bool
    reinforced: bool
    sizes: tuple[SizeField, ...]
    bungs: tuple[BungLine, ...]
    joints: tuple[JointEditor, ...]
    first: bool
    last: bool
    form: FormState
    bung_form: FormState


@dataclass(frozen=True, slots=True)
class NewPiece:
    """The form for one more piece, with sizes kept from the piece before it."""

    kind: str
    after: str
    after_words: str
    material: str
    inlet_end: str
    outlet_end: str
    is_hose: bool
    sizes: tuple[SizeField, ...]
    form: FormState


@dataclass(frozen=True, slots=True)
class Choices:
    """The lists that the editor's forms offer."""

    materials: tuple[str, ...]
    known_by: tuple[tuple[str, str], ...]
    side_ports: tuple[tuple[str, str], ...]
    kinds: tuple[str, ...] = USUAL_KINDS
    ends: tuple[str, ...] = tuple(form.value for form in EndForm)
    fixings: tuple[str, ...] = tuple(item.value for item in Fixing)
    joints: tuple[str, ...] = tuple(item.value for item in JointKind)
    clamps: tuple[tuple[str, str], ...] = tuple(
        (item.value, item.value or "none or not said") for item in Clamp
    )


def kind_of_size(name: str) -> Kind:
    return KIND_OF_SIZE.get(name, Kind.length)


def size_text(name: str, value: float | None) -> str:
    """A stored size as text in the unit that its field takes, where nobody typed one."""
    if value is None:
        return ""
    number = from_si(value, UNIT_OF_KIND[kind_of_size(name)][0])
    return f"{number:.4g}"


def _size_fields(
    names: Sequence[str], typed: Mapping[str, str], values: Mapping[str, object]
) -> tuple[SizeField, ...]:
    fields = []
    for name in names:
        value = values.get(name)
        stored = value if isinstance(value, float) and not (name == "roll" and value == 0.0) else None
        text = typed.get(name) or size_text(name, stored)
        label = "Leg before the bend" if name == "length" and "length_out" in names else SIZE_LABELS[name]
        fields.append(SizeField(name, label, text, UNIT_OF_KIND[kind_of_size(name)][1]))
    return tuple(fields)


def is_hose(kind: PieceKind, material: str) -> bool:
    return kind in HOSES or (kind is PieceKind.REDUCER and material in RUBBERS)


def centre_line_length(piece: "Piece") -> float | None:
    """Length along a piece's centre line [m], none while a size is missing. Source: geometry."""
    if piece.length is None:
        return None
    if piece.bend_angle is None or piece.bend_radius is None:
        return piece.length
    return piece.length + (piece.length_out or 0.0) + piece.bend_angle * piece.bend_radius


def piece_editor(
    rows: "RunRows", piece: "Piece", number: int, system: System, forms: Mapping[str, FormState]
) -> PieceEditor:
    """The editor of one piece. `forms`: by section (`piece`, `bung`, `joint 7`), those that were refused."""
    kind = PieceKind(piece.kind)
    bungs = [bung for bung in rows.bungs if bung.piece_id == piece.id]
    return PieceEditor(
        id=piece.key,
        version=piece.version,
        number=number,
        kind=piece.kind,
        name=piece.name,
        material=piece.material,
        inlet_end=piece.inlet_end,
        outlet_end=piece.outlet_end,
        known_by=piece.typed.get("known_by", "as sold"),
        is_hose=is_hose(kind, piece.material),
        reinforced=piece.reinforced,
        sizes=_size_fields(SIZES_OF[kind], piece.typed, piece.model_dump()),
        bungs=tuple(
            BungLine(
                bung.key,
                bung.name,
                Quantity.of(bung.at, Kind.length, system),
                Quantity.of(bung.bore, Kind.length, system),
                bung.fixing,
            )
            for bung in bungs
        ),
        joints=_joint_editors(rows, piece, number, forms),
        first=number == 1,
        last=number == len(rows.pieces),
        form=forms.get("piece", FormState()),
        bung_form=forms.get("bung", FormState()),
    )


def _joint_editors(
    rows: "RunRows", piece: "Piece", number: int, forms: Mapping[str, FormState]
) -> tuple[JointEditor, ...]:
    """The joints before and after a piece."""
    before = rows.joint_after(None if number == 1 else rows.pieces[number - 2].id)
    after = rows.joint_after(piece.id)
    before_words = "port at the start" if number == 1 else f"piece {number - 1}"
    after_words = "port at the end" if number == len(rows.pieces) else f"piece {number + 1}"
    shown = ((before, number, before_words), (after, number + 1, after_words))
    return tuple(
        _joint_editor(joint, place, words, forms.get(f"joint {joint.id}", FormState()))
        for joint, place, words in shown
        if joint is not None
    )


def _joint_editor(joint: "Joint", number: int, neighbour: str, form: FormState) -> JointEditor:
    return JointEditor(
        id=joint.key,
        version=joint.version,
        number=number,
        title=f"Joint {number}, to {neighbour}",
        kind=joint.kind,
        clamp=joint.clamp,
        sizes=_size_fields(JOINT_SIZES, joint.typed, joint.model_dump()),
        holds_origin=joint.holds_origin,
        bracket=joint.bracket,
        form=form,
    )


def new_piece(
    kind: PieceKind, usual_material: str, usual_end: str, before: "Piece | None", form: FormState
) -> NewPiece:
    """The form for one more piece after `before`, or at the start."""
    kept = {name: before.typed.get(name, "") for name in CARRIED} if before is not None else {}
    material = usual_material
    if before is not None and is_hose(PieceKind(before.kind), before.material) == is_hose(kind, material):
        material = before.material
    else:
        kept.pop("wall", None)  # a hose's wall is not a tube's
    return NewPiece(
        kind=kind.value,
        after=str(before.id) if before is not None else "start",
        after_words=f"after piece {before.position + 1}" if before is not None else "at the start",
        material=material,
        inlet_end=usual_end,
        outlet_end=usual_end,
        is_hose=is_hose(kind, material),
        sizes=_size_fields(SIZES_OF[kind], kept, {}),
        form=form,
    )


def piece_choices(side_ports: Sequence[tuple[str, str]]) -> Choices:
    return Choices(MATERIALS, tuple(KNOWN_BY.items()), tuple(side_ports))


def piece_clashes(wanted: Mapping[str, object], stands: Mapping[str, object]) -> tuple[Clash, ...]:
    """Every field of a piece that two people changed, as texts."""
    return _clashes(wanted, stands, (*TEXT_LABELS, *SIZE_LABELS))


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
