"""The editor of a run's pieces: every field with its text as it was typed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from server.core.tube.run import Clamp, EndForm, Fixing, JointKind, Offered, Origin, PieceKind, Screw
from server.core.tube.said import (
    CUT_KINDS,
    FILLERS,
    JOINT_OF_ENDS,
    KNOWN_BY,
    LINERS,
    OFFERS,
    ORIGINS,
    OTHER_FILLER,
    usual_end,
    usual_material,
    usual_origin,
)
from server.core.tube.shorten import GAP, Join, bead_advice
from server.core.tube.sizes import (
    MATERIALS,
    SIZE_LABELS,
    SIZES_OF,
    UNIT_OF_KIND,
    centre_line_length,
    is_hose,
    kind_of_size,
    size_text,
)
from server.core.units import Kind, System, show_text
from server.web.view import FormState, Quantity

if TYPE_CHECKING:
    from server.features.runs.store import RunRows
    from server.features.runs.tables import Joint, Piece

JOINT_SIZES = ("clamp_least", "clamp_most", "overlap", "holds", "old_diameter", "old_pressure")
JOINT_COLUMNS = (*JOINT_SIZES, "kind", "clamp", "holds_origin", "bracket", "filler", "typed")
"""Everything that describes a joint."""
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
    words: str
    """What of it is said, in short."""
    like: int
    """The number of the joint before it that it is likely to be the same as; 0 where there is none."""
    sizes: tuple[SizeField, ...]
    holds_origin: str
    bracket: bool
    filler: str
    filler_other: str
    screw: str
    screw_at: str
    form: FormState


@dataclass(frozen=True, slots=True)
class MoreFields:
    """What is rarely said of a piece: where it comes from, its part, how it was offered up, a flex's liner.

    `words`: what of it is said, in short. `turns`: None where a piece of its kind has none after its first.
    """

    origin: str
    origins: tuple[tuple[str, str], ...]
    offered_first: bool
    """A hose sold by length: nobody can buy it before it was offered up."""
    is_flex: bool
    words: str = ""
    part_id: str = ""
    offered: str = ""
    offered_note: str = ""
    liner: str = ""
    supported: bool = False
    wrap: str = ""
    ratings: str = ""
    turns: str | None = None


@dataclass(frozen=True, slots=True)
class CutFields:
    """The cut of a piece: whether a length can be taken out, and of what it was cut, if it was."""

    possible: bool
    length: str
    gap: str
    """How far apart the two ends stand in a coupler."""
    was_cut: str
    advice: str
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
    more: MoreFields
    cut: CutFields
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
    more: MoreFields
    form: FormState


@dataclass(frozen=True, slots=True)
class Choices:
    """The lists that the editor's forms offer."""

    materials: tuple[str, ...]
    known_by: tuple[tuple[str, str], ...]
    side_ports: tuple[tuple[str, str], ...]
    parts: tuple[tuple[str, str], ...]
    joins: tuple[str, ...]
    kinds: tuple[str, ...] = USUAL_KINDS
    ends: tuple[str, ...] = tuple(form.value for form in EndForm)
    fixings: tuple[str, ...] = tuple(item.value for item in Fixing)
    joints: tuple[str, ...] = tuple(item.value for item in JointKind)
    clamps: tuple[tuple[str, str], ...] = tuple((one.value, one.value or "none or not said") for one in Clamp)
    screws: tuple[tuple[str, str], ...] = tuple((one.value, one.value or "not looked at") for one in Screw)
    offers: tuple[tuple[str, str], ...] = tuple((item.value, words) for item, words in OFFERS.items())
    liners: tuple[tuple[str, str], ...] = tuple(LINERS.items())
    fillers: tuple[tuple[str, str], ...] = (
        ("", "not said"),
        *((name, name) for name in FILLERS),
        (OTHER_FILLER, "another, typed below"),
    )


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


def piece_editor(
    rows: "RunRows", piece: "Piece", number: int, system: System, forms: Mapping[str, FormState]
) -> PieceEditor:
    """The editor of one piece. `forms`: by section (`piece`, `bung`, `joint 7`), those that were refused."""
    kind = PieceKind(piece.kind)
    bungs = [bung for bung in rows.bungs if bung.piece_id == piece.id]
    long = partial(Quantity.of, kind=Kind.length, system=system)
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
            BungLine(bung.key, bung.name, long(bung.at), long(bung.bore), bung.fixing) for bung in bungs
        ),
        joints=_joint_editors(rows, piece, number, forms),
        more=_more(piece),
        cut=_cut(rows, piece, system, forms.get("cut", FormState())),
        first=number == 1,
        last=number == len(rows.pieces),
        form=forms.get("piece", FormState()),
        bung_form=forms.get("bung", FormState()),
    )


def _more(piece: "Piece") -> MoreFields:
    kind, origin = PieceKind(piece.kind), Origin(piece.origin)
    said = [origin.value] if origin is not usual_origin(kind) else []
    said += ["linked to a part"] if piece.part_id else []
    said += [OFFERS[Offered(piece.offered)]] if piece.offered else []
    said += (["wrapped"] if piece.wrap else []) + (["maker's table"] if piece.ratings else [])
    said += ["further turns"] if piece.turns else []
    return MoreFields(
        words=", ".join(said),
        origin=origin.value,
        origins=_origins(kind),
        part_id=str(piece.part_id or ""),
        offered=piece.offered,
        offered_note=piece.offered_note,
        offered_first=kind is PieceKind.HOSE,
        is_flex=kind is PieceKind.FLEX,
        liner=piece.liner,
        supported=piece.supported,
        wrap=piece.typed.get("wrap") or size_text("wrap", piece.wrap),
        ratings=piece.typed.get("ratings", ""),
        turns=piece.typed.get("turns", "") if kind in CUT_KINDS else None,
    )


def _origins(kind: PieceKind) -> tuple[tuple[str, str], ...]:
    """A salvaged pipe is not to be bought new."""
    return tuple(
        (origin.value, words)
        for origin, words in ORIGINS.items()
        if origin is not Origin.NEW or kind is not PieceKind.SALVAGED
    )


def _cut(rows: "RunRows", piece: "Piece", system: System, form: FormState) -> CutFields:
    whole = piece.whole_length
    long = None if piece.turns else centre_line_length(piece)
    straight = piece.length if piece.cut_from_id or not piece.bend_angle else piece.length_out
    end = piece.inlet_end if piece.cut_from_id else piece.outlet_end
    beaded = whole is not None and end == EndForm.BEAD and straight is not None
    return CutFields(
        possible=PieceKind(piece.kind) in CUT_KINDS and piece.origin != Origin.MOCK_UP and long is not None,
        length=show_text(long, Kind.length, system) if long is not None else "",
        gap=show_text(GAP, Kind.length, system),
        was_cut=show_text(whole, Kind.length, system) if whole is not None and _has_half(rows, piece) else "",
        advice=bead_advice(straight, system) if beaded and straight is not None else "",
        form=form,
    )


def _has_half(rows: "RunRows", piece: "Piece") -> bool:
    """The other half is there, so that the pipe can be made whole again."""
    every = (*rows.pieces, *rows.removed)
    return piece.cut_from_id is not None or any(one.cut_from_id == piece.id for one in every)


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
        _joint_editor(rows, joint, place, words, forms.get(f"joint {joint.id}", FormState()))
        for joint, place, words in shown
        if joint is not None
    )


def _joint_editor(
    rows: "RunRows", joint: "Joint", number: int, neighbour: str, form: FormState
) -> JointEditor:
    like = rows.joint_like(joint.key)
    return JointEditor(
        id=joint.key,
        version=joint.version,
        number=number,
        title=f"Joint {number}, to {neighbour}",
        kind=joint.kind,
        clamp=joint.clamp,
        words=_joint_words(joint),
        like=like[0] if like else 0,
        sizes=_size_fields(JOINT_SIZES, joint.typed, joint.model_dump()),
        holds_origin=joint.holds_origin,
        bracket=joint.bracket,
        filler=joint.filler if joint.filler in {"", *FILLERS} else OTHER_FILLER,
        filler_other="" if joint.filler in FILLERS else joint.filler,
        screw=joint.screw,
        screw_at=joint.screw_at,
        form=form,
    )


def _joint_words(joint: "Joint") -> str:
    """What a joint is, and what is still to be said of it, in one line for its fold."""
    if joint.kind == JointKind.HOSE_AND_CLAMP:
        said = joint.clamp or "no clamp said"
        return f"{joint.kind}, {said}" + ("" if joint.overlap is not None else ", no overlap said")
    if joint.kind == JointKind.WELD:
        return f"{joint.kind}, {joint.filler or 'no filler said'}"
    return joint.kind


def new_piece(kind: PieceKind, before: "Piece | None", form: FormState) -> NewPiece:
    """The form for one more piece after `before`, or at the start."""
    material = usual_material(kind)
    hose = is_hose(kind, material)
    if before is not None and is_hose(PieceKind(before.kind), before.material) == hose:
        material = before.material
    return NewPiece(
        kind=kind.value,
        after=str(before.id) if before is not None else "start",
        after_words=f"after piece {before.position + 1}" if before is not None else "at the start",
        material=material,
        inlet_end=_facing_end(kind, hose, before),
        outlet_end=usual_end(kind).value,
        is_hose=hose,
        sizes=_size_fields(SIZES_OF[kind], _carried(hose, before), {}),
        more=MoreFields(
            origin=usual_origin(kind).value,
            origins=_origins(kind),
            offered_first=kind is PieceKind.HOSE,
            is_flex=kind is PieceKind.FLEX,
        ),
        form=form,
    )


def _facing_end(kind: PieceKind, hose: bool, before: "Piece | None") -> str:
    """How a new piece ends where it meets the one before: a bead inside a hose, else as that one ends."""
    if hose or before is None:
        return usual_end(kind).value
    if is_hose(PieceKind(before.kind), before.material):
        return EndForm.BEAD.value
    return before.outlet_end if EndForm(before.outlet_end) in JOINT_OF_ENDS else usual_end(kind).value


def _carried(hose: bool, before: "Piece | None") -> dict[str, str]:
    """Sizes of a new piece as those of the one before, as typed. A hose's bore is a tube's outside."""
    if before is None:
        return {}
    if is_hose(PieceKind(before.kind), before.material) == hose:
        return {name: before.typed.get(name, "") for name in CARRIED}
    own, theirs = ("bore", "outside_diameter") if hose else ("outside_diameter", "bore")
    return {own: before.typed.get(f"{theirs}_out") or before.typed.get(theirs, "")}


def piece_choices(
    side_ports: Sequence[tuple[str, str]], parts: Sequence[tuple[str, str]], joins: Sequence[Join]
) -> Choices:
    return Choices(
        MATERIALS,
        tuple(KNOWN_BY.items()),
        tuple(side_ports),
        (("", "none"), *parts),
        tuple(join.value for join in joins),
    )
