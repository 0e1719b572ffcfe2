"""What is said of a piece beside its sizes, in words, and what is taken until somebody says otherwise."""

import math

from server.core.tube.run import HOSES, EndForm, JointKind, Offered, Origin, PieceKind, PiecePlan, Turn
from server.core.units import Kind, System, show_text

KNOWN_BY = {
    "as sold": "as sold",
    "measured": "measured with caliper and tape",
    "reckoned": "reckoned, not measured",
}
ORIGINS = {
    Origin.NEW: "to be bought",
    Origin.IN_GARAGE: "in the garage already",
    Origin.SALVAGED: "salvaged off another car",
    Origin.BORROWED: "borrowed, to be tried on",
    Origin.MOCK_UP: "mock-up, for now",
}
OFFERS = {
    Offered.NOT_YET: "not yet",
    Offered.FITS: "it fits",
    Offered.TOUCHES: "it touches",
    Offered.SHORT: "it is short",
}
LINERS = {
    "": "not said",
    "downstream": "points downstream",
    "upstream": "points upstream",
    "none": "no liner",
}
FILLERS = ("308L", "309L", "316L", "347", "ER70S-6", "ER70S-2", "4043", "5356", "ER Ti", "ENi-CI")
"""Usual filler metals; any other is typed."""
OTHER_FILLER = "other"
CUT_KINDS = frozenset({PieceKind.TUBE, PieceKind.BEND, PieceKind.SALVAGED})
"""Kinds that a middle length can be taken out of."""

USUAL_MATERIAL = {
    PieceKind.COUPLER: "silicone",
    PieceKind.HOSE_ELBOW: "silicone",
    PieceKind.HOSE: "EPDM",
    PieceKind.REDUCER: "silicone",
    PieceKind.FLEX: "304 stainless",
    PieceKind.METER: "plastic",
    PieceKind.FILTER: "plastic",
}


def usual_material(kind: PieceKind) -> str:
    """What a new piece of this kind is taken to be made of until somebody says otherwise."""
    return USUAL_MATERIAL.get(kind, "aluminium")


def usual_end(kind: PieceKind) -> EndForm:
    """How the ends of a new piece of this kind are taken to be until somebody says otherwise."""
    if kind in HOSES or kind is PieceKind.REDUCER:
        return EndForm.CUFF
    return EndForm.PLAIN


JOINT_OF_ENDS = {
    EndForm.WELD: JointKind.WELD,
    EndForm.V_BAND: JointKind.V_BAND,
    EndForm.FLANGE: JointKind.FLANGE,
    EndForm.THREAD: JointKind.THREAD,
}


def usual_joint(*ends: EndForm) -> JointKind:
    """What holds these facing ends, as far as they are known, until somebody says otherwise."""
    kinds = {JOINT_OF_ENDS.get(end, JointKind.HOSE_AND_CLAMP) for end in ends}
    return kinds.pop() if len(kinds) == 1 else JointKind.HOSE_AND_CLAMP


def usual_origin(kind: PieceKind) -> Origin:
    """Where a piece of a kind comes from until somebody says otherwise."""
    return Origin.SALVAGED if kind is PieceKind.SALVAGED else Origin.NEW


def parts_list_words(piece: PiecePlan, system: System) -> str:
    """A piece's sizes in one line, as a parts list would have them."""
    sizes = piece.sizes

    def text(name: str) -> str:
        kind = Kind.angle if name == "bend_angle" else Kind.length
        return show_text(sizes[name].value, kind, system)

    parts = [said] if (said := _origin_words(piece)) else []
    if "outside_diameter" in sizes and not piece.is_hose:
        wall = f" × {text('wall')} wall" if "wall" in sizes else ""
        parts.append(f"{text('outside_diameter')} outside{wall}")
    elif "bore" in sizes:
        outlet = f" to {text('bore_out')}" if "bore_out" in sizes else ""
        parts.append(f"bore {text('bore')}{outlet}")
    if "bend_angle" in sizes:
        parts.append(text("bend_angle"))
    parts += [show_text(turn.angle, Kind.angle, system) for turn in piece.turns if not turn.is_mitre]
    if "length" in sizes and not piece.has_arc:
        parts.append(f"{text('length')} long")
    parts += [f"side port: {bung.name}" for bung in piece.bungs]
    return ", ".join(parts) or "no sizes yet"


def turn_words(turn: Turn, system: System) -> str:
    """A turn after the first bend of a pipe in words."""
    angle = show_text(turn.angle, Kind.angle, system)
    if turn.is_mitre:
        return f"a mitre of {angle}"
    radius, straight = (show_text(size, Kind.length, system) for size in (turn.radius, turn.straight))
    roll = math.remainder(turn.roll, 2.0 * math.pi)
    way = "clockwise" if roll > 0.0 else "anticlockwise"
    turned = f", turned {show_text(abs(roll), Kind.angle, system)} {way} from the bend before" if roll else ""
    return f"{angle} on a radius of {radius}{turned}, then {straight} straight"


def _origin_words(piece: PiecePlan) -> str:
    """That a piece is not bought new, or how offering it up went. Empty where there is nothing to say."""
    said = []
    if piece.origin is Origin.BORROWED:
        said.append(f"borrowed{f' ({piece.tried})' if piece.tried else ''}")
    elif piece.origin is not Origin.NEW and piece.origin.value not in piece.name:
        said.append(piece.origin.value)
    if piece.offered:
        said.append(f"offered up: {OFFERS[piece.offered]}")
    if piece.cut_from_id is not None or piece.whole_length is not None:
        said.append("cut from a longer pipe")
    return ", ".join(said)
