"""What can be done with the pieces of a run. The caller has made sure that the design is there."""

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Any

from sqlmodel import Session

from server.core.tube.run import EndForm, JointKind, PieceKind
from server.core.tube.said import CUT_KINDS, usual_end, usual_joint, usual_material, usual_origin
from server.core.tube.shorten import (
    COUPLER_LENGTH,
    OVERLAP,
    Halves,
    Join,
    Pipe,
    SidePort,
    shorten,
    where_instead,
    why_not,
)
from server.core.tube.sizes import centre_line_length
from server.core.units import System
from server.errors import BadInput, Clash, FieldError, Stale
from server.features.parts import store as parts
from server.features.parts.tables import OffCut
from server.features.runs import forms, page, store
from server.features.runs.store import COUPLER, CUT_NOTES, OFF_CUT, WHOLE
from server.features.runs.tables import Bung, Joint, Piece
from server.features.shelf.forms import cut_form
from server.web.fields import Fields

MOST_PIECES = 40
LENGTH_TEXTS = ("length", "length_out", "bend_angle", "bend_radius", "roll")
CUT_COLUMNS = ("kind", *LENGTH_TEXTS, "outlet_end", "whole_length", "typed")
"""What a cut changes on the half that keeps the pipe's place."""


def start_run(session: Session, design_id: int) -> None:
    """Give a new design the joint at its start."""
    store.add(session, Joint(design_id=design_id, piece_id=None))


def add_piece(
    session: Session, design_id: int, after: str, typed: Mapping[str, str], parts: Sequence[int] = ()
) -> int:
    """A new piece after another (its number as text), at the `start`, or at the end of the run.

    `parts`: numbers of the parts that it may be linked to. Raises BadInput.
    """
    form = forms.piece_form(typed, parts)
    order = store.pieces_in_order(session, design_id)
    _refuse_too_many(len(order) + 1, "kind", typed)
    place = _place_after(order, after)
    origin = usual_origin(form.kind).value
    values = {"design_id": design_id, "position": place, "origin": origin, **form.values}
    piece = Piece.model_validate(values)
    store.add(session, piece)
    store.place_in_order(session, [*order[:place], piece, *order[place:]])
    store.add(session, Joint(design_id=design_id, piece_id=piece.key))
    _settle_joints(session, design_id)
    return piece.key


def _refuse_too_many(count: int, field: str, typed: Mapping[str, str]) -> None:
    if count > MOST_PIECES:
        message = f"A run of {MOST_PIECES} pieces is the longest that is kept."
        raise BadInput((FieldError(field, message, "fewer pieces"),), typed)


def _settle_joints(session: Session, design_id: int) -> None:
    """Make each joint of which nobody said anything what the ends beside it call for."""
    run = store.runs_of(session, [design_id])[design_id]
    for place, joint in enumerate(run.along):
        if joint is None or joint.typed:
            continue
        before, after = run.pieces[max(place - 1, 0) : place], run.pieces[place : place + 1]
        ends = [one.outlet_end for one in before] + [one.inlet_end for one in after]
        joint.kind = usual_joint(*map(EndForm, ends)).value
    session.flush()


def _place_after(order: Sequence[Piece], after: str) -> int:
    if after == "start":
        return 0
    return next((place for place, piece in enumerate(order, 1) if str(piece.id) == after), len(order))


def edit_piece(
    session: Session,
    design_id: int,
    piece_id: int,
    typed: Mapping[str, str],
    parts: Mapping[int, str] = MappingProxyType({}),
) -> None:
    """`parts`: names of those that it may be linked to. Raises NotFound, MissingVersion, BadInput, Stale."""
    piece = store.load_piece(session, design_id, piece_id)
    before, version = piece.model_dump(), Fields(typed).version()
    form = forms.piece_form({**typed, "kind": before["kind"]}, list(parts))
    kept = {name: before["typed"][name] for name in CUT_NOTES if name in before["typed"]}
    texts = {**form.texts, **kept, forms.FORMER: forms.former(before, form.values)}
    if not store.edit(session, piece, version, {**form.values, "typed": texts}):
        raise Stale(forms.piece_clashes(form.values, before, parts), typed)
    if any(form.values[end] != before[end] for end in ("inlet_end", "outlet_end")):
        _settle_joints(session, design_id)


def swap_piece(session: Session, design_id: int, piece_id: int, typed: Mapping[str, str]) -> None:
    """Make a piece one of another kind. Sizes that both kinds have stay, the others are no longer known.

    Where it is to be bought (`anew`) it is no longer the one that is there already.

    Raises NotFound, MissingVersion, BadInput, Stale.
    """
    piece = store.load_piece(session, design_id, piece_id)
    version = Fields(typed).version()
    before, kind = piece.model_dump(), forms.piece_kind(typed)
    values, texts = forms.swapped(kind, PieceKind(piece.kind), piece.material), dict(piece.typed)
    if Fields(typed).flag("anew"):
        values |= forms.bought(kind)
        texts["known_by"] = "as sold"
    values["typed"] = {**texts, forms.FORMER: forms.former(before, values)}
    if not store.edit(session, piece, version, values):
        raise Stale(forms.piece_clashes(values, before), typed)
    _settle_joints(session, design_id)


def undo_piece(session: Session, design_id: int, piece_id: int, typed: Mapping[str, str]) -> None:
    """Give a piece back what it was before its last save. Raises NotFound, MissingVersion, Stale."""
    piece = store.load_piece(session, design_id, piece_id)
    before, version = piece.model_dump(), Fields(typed).version()
    values = forms.former_values(before)
    if values is None:
        raise Stale((), {})
    values["typed"][forms.FORMER] = forms.former(before, values)
    if not store.edit(session, piece, version, values):
        raise Stale((), {})
    _settle_joints(session, design_id)


def last_save(piece: Piece, parts: Mapping[int, str]) -> tuple[Clash, ...] | None:
    """Every field that the last save of a piece changed, before and now; None where it can't be undone."""
    stands = piece.model_dump()
    values = forms.former_values(stands)
    return None if values is None else forms.piece_clashes(stands, {**stands, **values}, parts)


def move_piece(session: Session, design_id: int, piece_id: int, where: str) -> None:
    """One place `earlier` or `later` along the run. Raises NotFound."""
    piece = store.load_piece(session, design_id, piece_id)
    order = [item for item in store.pieces_in_order(session, design_id) if item.id != piece_id]
    step = -1 if where == "earlier" else 1
    place = min(max(piece.position + step, 0), len(order))
    store.place_in_order(session, [*order[:place], piece, *order[place:]])
    _settle_joints(session, design_id)


def remove_piece(session: Session, design_id: int, piece_id: int, now: datetime) -> None:
    """Take a piece out of the run; it can be put back. Raises NotFound."""
    store.set_removed(session, store.load_piece(session, design_id, piece_id), now)
    store.place_in_order(session, store.pieces_in_order(session, design_id))
    _settle_joints(session, design_id)


def return_piece(session: Session, design_id: int, piece_id: int) -> None:
    """Put a removed piece back where it was, with its side ports and joint. Raises NotFound."""
    piece = store.load_piece(session, design_id, piece_id)
    if piece.removed_at is None:
        return
    order = store.pieces_in_order(session, design_id)
    place = min(piece.position, len(order))
    store.set_removed(session, piece, None)
    store.place_in_order(session, [*order[:place], piece, *order[place:]])
    _settle_joints(session, design_id)


def add_bung(
    session: Session,
    design_id: int,
    piece_id: int,
    side_ports: Mapping[int, str],
    typed: Mapping[str, str],
) -> None:
    """A side port on a piece. `side_ports`: names of the lines by number. Raises NotFound, BadInput."""
    piece = store.load_piece(session, design_id, piece_id)
    form = forms.bung_form(typed, side_ports, centre_line_length(piece))
    store.add(
        session,
        Bung(
            piece_id=piece_id,
            port_id=form.port_id,
            name=form.name,
            fixing=form.fixing,
            at=form.at,
            bore=form.bore,
            clock=form.clock,
        ),
    )


def remove_bung(session: Session, design_id: int, bung_id: int) -> int:
    """Returns the number of the piece it stood on. Raises NotFound."""
    bung = store.load_bung(session, design_id, bung_id)
    store.remove_bung(session, bung)
    return bung.piece_id


def copy_joint_before(session: Session, design_id: int, joint_id: int, typed: Mapping[str, str]) -> None:
    """Give a joint everything that the last one of its kind before it has, else the one before it.

    Raises NotFound, MissingVersion, Stale; BadInput for the first joint, which has none before it.
    """
    joint, version = store.load_joint(session, design_id, joint_id), Fields(typed).version()
    run = store.runs_of(session, [design_id])[design_id]
    like = run.joint_like(joint_id)
    if like is None:
        message = "No joint stands before this one."
        raise BadInput((FieldError("kind", message, "a later joint of the run"),), typed)
    values = {name: getattr(like[1], name) for name in page.JOINT_COLUMNS}
    if not store.edit(session, joint, version, values):
        raise Stale((), typed)


def edit_joint(session: Session, design_id: int, joint_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    joint = store.load_joint(session, design_id, joint_id)
    before, version = joint.model_dump(), Fields(typed).version()
    form = forms.joint_form(typed)
    if not store.edit(session, joint, version, form.values):
        raise Stale(forms.joint_clashes(form.values, before), typed)


# Shortening a pipe


def shorten_piece(
    session: Session,
    design_id: int,
    piece_id: int,
    typed: Mapping[str, str],
    joins: Sequence[Join],
    system: System,
    now: datetime,
) -> None:
    """Take a middle length out of a pipe: it becomes two, joined by a weld or by a coupler that is put in.

    What comes out of a part of the list goes on the shelf where the builder says that it is cut.
    `joins`: how they may be joined here. Raises NotFound, MissingVersion, Stale; BadInput with where it could
    be cut instead.
    """
    piece = store.load_piece(session, design_id, piece_id)
    version = Fields(typed).version()
    form = cut_form(typed, joins)
    run = store.runs_of(session, [design_id])[design_id]
    pipe = _pipe(piece, [bung for bung in run.bungs if bung.piece_id == piece_id], typed)
    answer = shorten(pipe, form.cut, form.taken_out, form.join)
    if answer.halves is None:
        message = why_not(answer, form.join, system)
        raise BadInput((FieldError("cut_at", message, where_instead(answer, system)),), typed)
    _refuse_too_many(len(run.pieces) + (1 if form.join is Join.WELD else 2), "cut_at", typed)
    end = form.cut + form.taken_out
    before = {name: getattr(piece, name) for name in CUT_COLUMNS}
    values, half = _cut_in_two(piece, answer.halves, form.join)
    half.whole_length = pipe.length
    half.typed[WHOLE] = json.dumps({**before, "end": end})
    if form.to_shelf and piece.part_id is not None:
        note = f"out of {piece.name or piece.kind}"
        row = OffCut(part_id=piece.part_id, length=form.taken_out, note=note, put_at=now)
        half.typed[OFF_CUT] = str(parts.add(session, row))
    if not store.edit(session, piece, version, values):
        raise Stale((), typed)
    moved = [port.id for port in answer.halves.second.side_ports]
    _put_in(session, design_id, piece_id, half, form.join)
    store.move_bungs(session, [bung for bung in run.bungs if bung.id in moved], half.key, -end)


def _pipe(piece: Piece, bungs: Sequence[Bung], typed: Mapping[str, str]) -> Pipe:
    """A piece as what can be shortened. Raises BadInput where it can't."""
    long = centre_line_length(piece)
    if PieceKind(piece.kind) not in CUT_KINDS or long is None or piece.length is None or piece.turns:
        message = "Only a tube, bend or salvaged pipe of known length with one bend at most can be cut."
        raise BadInput((FieldError("cut_at", message, "a pipe with its length"),), typed)
    ports = tuple(SidePort(bung.key, bung.name, bung.at, bung.bore) for bung in bungs)
    if piece.bend_angle is None or piece.bend_radius is None:
        return Pipe(piece.length, side_ports=ports)
    return Pipe(piece.length, piece.bend_angle * piece.bend_radius, piece.length_out or 0.0, ports)


def _cut_in_two(piece: Piece, halves: Halves, join: Join) -> tuple[dict[str, object], Piece]:
    """What changes on the piece, which becomes the first half, and the second half as a new piece."""
    end = EndForm.WELD if join is Join.WELD else EndForm.BEAD
    texts = {name: text for name, text in piece.typed.items() if name not in (*LENGTH_TEXTS, *CUT_NOTES)}
    notes = {name: piece.typed[name] for name in CUT_NOTES if name in piece.typed}
    values = {
        **_shape(piece, halves.first),
        "outlet_end": end.value,
        "whole_length": piece.whole_length or centre_line_length(piece),
        "typed": texts | notes,
    }
    like = piece.model_dump(exclude={"id", "version", "offered", "offered_note"})
    named = f"{piece.name}, after the cut"[:80] if piece.name else ""
    own = {"name": named, "inlet_end": end.value, "cut_from_id": piece.key, "typed": texts}
    bends_on = {"roll": 0.0} if halves.first.arc > 0.0 else {}
    return values, Piece(**(like | _shape(piece, halves.second) | bends_on | own))


def _shape(piece: Piece, half: Pipe) -> dict[str, Any]:
    """Columns of one half: a bend where it has the arc, else a straight tube."""
    if half.arc > 0.0:
        angle = half.arc / piece.bend_radius if piece.bend_radius else None
        return {"length": half.leg, "length_out": half.leg_out, "bend_angle": angle}
    straight = PieceKind.TUBE if piece.kind == PieceKind.BEND else PieceKind(piece.kind)
    bent = dict.fromkeys(("length_out", "bend_angle", "bend_radius"))
    return {"kind": straight.value, "length": half.leg, "roll": 0.0, **bent}


def _put_in(session: Session, design_id: int, piece_id: int, half: Piece, join: Join) -> None:
    """Put the second half after the first, with the joint that stood there, and what joins the two."""
    order = store.pieces_in_order(session, design_id)
    place = next(place for place, one in enumerate(order, 1) if one.id == piece_id)
    first = order[place - 1]
    store.add(session, half)
    store.move_joint(session, design_id, piece_id, half.key)
    new = [half]
    if join is Join.WELD:
        store.add(session, Joint(design_id=design_id, piece_id=piece_id, kind=JointKind.WELD.value))
    else:
        coupler = _coupler(design_id, first)
        store.add(session, coupler)
        for one in (piece_id, coupler.key):
            text = {"overlap": f"{OVERLAP * 1000:g} mm"}
            store.add(session, Joint(design_id=design_id, piece_id=one, overlap=OVERLAP, typed=text))
        half.typed = {**half.typed, COUPLER: str(coupler.key)}
        new = [coupler, half]
    store.place_in_order(session, [*order[:place], *new, *order[place:]])


def _coupler(design_id: int, first: Piece) -> Piece:
    kind = PieceKind.COUPLER
    diameter, length = forms.AS_SOLD
    return Piece(
        design_id=design_id,
        position=first.position + 1,
        kind=kind.value,
        material=usual_material(kind),
        bore=first.outside_diameter,
        length=COUPLER_LENGTH,
        inlet_end=usual_end(kind).value,
        outlet_end=usual_end(kind).value,
        doubt=diameter,
        length_doubt=length,
    )


def make_whole(session: Session, design_id: int, piece_id: int, typed: Mapping[str, str]) -> int:
    """Undo the cut of a pipe, from either half; the number of the piece that is whole again.

    Side ports come back to where they were; a coupler that was put in goes. Raises NotFound, MissingVersion,
    Stale; BadInput where it was cut again since.
    """
    piece = store.load_piece(session, design_id, piece_id)
    version = Fields(typed).version()
    run = store.runs_of(session, [design_id])[design_id]
    every = {one.key: one for one in (*run.pieces, *run.removed)}
    half = _latest_half(every.values(), piece_id) or piece
    if half.cut_from_id is None or WHOLE not in half.typed:
        raise BadInput((FieldError("cut", "This piece is whole.", "a piece that was cut"),), typed)
    latest = _latest_half(every.values(), half.cut_from_id)
    if latest is not half or _latest_half(every.values(), half.key):
        message = "It was cut once more since: make the later cut whole first."
        raise BadInput((FieldError("cut", message, "the last cut first"),), typed)
    if not store.edit(session, piece, version, {}):
        raise Stale((), typed)
    store.drop_off_cut(session, int(half.typed.get(OFF_CUT, 0)))
    first, half_id, coupler = half.cut_from_id, half.key, every.get(int(half.typed.get(COUPLER, 0)))
    before = json.loads(half.typed[WHOLE])
    end = before.pop("end")
    store.move_bungs(session, [bung for bung in run.bungs if bung.piece_id == half_id], first, end)
    store.make_whole(session, every[first], before)
    store.drop_joint(session, design_id, first)
    store.move_joint(session, design_id, half_id, first)
    store.drop_pieces(session, [half] if coupler is None else [half, coupler])
    store.place_in_order(session, store.pieces_in_order(session, design_id))
    return first


def _latest_half(pieces: Iterable[Piece], piece_id: int) -> Piece | None:
    """Of what was cut off a piece, the one that was cut last."""
    halves = [piece for piece in pieces if piece.cut_from_id == piece_id]
    return max(halves, key=lambda piece: piece.key, default=None)
