"""What can be done with the pieces of a run. The caller has made sure that the design is there."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlmodel import Session

from server.core.tube.run import PieceKind
from server.errors import BadInput, FieldError, Stale
from server.features.runs import forms, page, store
from server.features.runs.tables import Bung, Joint, Piece
from server.web.fields import Fields

MOST_PIECES = 40


def start_run(session: Session, design_id: int) -> None:
    """Give a new design the joint at its start."""
    store.add(session, Joint(design_id=design_id, piece_id=None))


def add_piece(session: Session, design_id: int, after: str, typed: Mapping[str, str]) -> int:
    """A new piece after another (its number as text), at the `start`, or at the end of the run.

    Raises BadInput.
    """
    form = forms.piece_form(typed)
    order = store.pieces_in_order(session, design_id)
    if len(order) >= MOST_PIECES:
        message = f"A run of {MOST_PIECES} pieces is the longest that is kept."
        raise BadInput((FieldError("kind", message, "fewer pieces"),), typed)
    place = _place_after(order, after)
    piece = Piece.model_validate({"design_id": design_id, "position": place, **form.values})
    store.add(session, piece)
    store.place_in_order(session, [*order[:place], piece, *order[place:]])
    store.add(session, Joint(design_id=design_id, piece_id=piece.key))
    return piece.key


def _place_after(order: Sequence[Piece], after: str) -> int:
    if after == "start":
        return 0
    return next((place for place, piece in enumerate(order, 1) if str(piece.id) == after), len(order))


def edit_piece(session: Session, design_id: int, piece_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    before = store.load_piece(session, design_id, piece_id).model_dump()
    version = Fields(typed).version()
    form = forms.piece_form({**typed, "kind": before["kind"]})
    if not store.edit(session, Piece, piece_id, version, form.values):
        raise Stale(page.piece_clashes(form.values, before), typed)


def swap_piece(session: Session, design_id: int, piece_id: int, typed: Mapping[str, str]) -> None:
    """Make a piece one of another kind. Sizes that both kinds have stay, the others are no longer known.

    Raises NotFound, MissingVersion, BadInput, Stale.
    """
    piece = store.load_piece(session, design_id, piece_id)
    version = Fields(typed).version()
    before = piece.model_dump()
    values = forms.swapped(forms.piece_kind(typed), PieceKind(piece.kind), piece.material)
    if not store.edit(session, Piece, piece_id, version, values):
        raise Stale(page.piece_clashes(values, before), typed)


def move_piece(session: Session, design_id: int, piece_id: int, where: str) -> None:
    """One place `earlier` or `later` along the run. Raises NotFound."""
    piece = store.load_piece(session, design_id, piece_id)
    order = [item for item in store.pieces_in_order(session, design_id) if item.id != piece_id]
    step = -1 if where == "earlier" else 1
    place = min(max(piece.position + step, 0), len(order))
    store.place_in_order(session, [*order[:place], piece, *order[place:]])


def remove_piece(session: Session, design_id: int, piece_id: int, now: datetime) -> None:
    """Take a piece out of the run; it can be put back. Raises NotFound."""
    store.set_removed(session, store.load_piece(session, design_id, piece_id), now)
    store.place_in_order(session, store.pieces_in_order(session, design_id))


def return_piece(session: Session, design_id: int, piece_id: int) -> None:
    """Put a removed piece back where it was, with its side ports and joint. Raises NotFound."""
    piece = store.load_piece(session, design_id, piece_id)
    if piece.removed_at is None:
        return
    order = store.pieces_in_order(session, design_id)
    place = min(piece.position, len(order))
    store.set_removed(session, piece, None)
    store.place_in_order(session, [*order[:place], piece, *order[place:]])


def add_bung(
    session: Session,
    design_id: int,
    piece_id: int,
    side_ports: Mapping[int, str],
    typed: Mapping[str, str],
) -> None:
    """A side port on a piece. `side_ports`: names of the lines by number. Raises NotFound, BadInput."""
    piece = store.load_piece(session, design_id, piece_id)
    form = forms.bung_form(typed, side_ports, page.centre_line_length(piece))
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
    """Give a joint everything that the joint before it along the run has.

    Raises NotFound, MissingVersion, Stale; BadInput for the first joint, which has none before it.
    """
    store.load_joint(session, design_id, joint_id)
    version = Fields(typed).version()
    run = store.runs_of(session, [design_id])[design_id]
    order = [run.joint_after(None), *(run.joint_after(piece.id) for piece in run.pieces)]
    place = next((place for place, joint in enumerate(order) if joint and joint.id == joint_id), 0)
    before = order[place - 1] if place else None
    if before is None:
        message = "No joint stands before this one."
        raise BadInput((FieldError("kind", message, "a later joint of the run"),), typed)
    values = {name: getattr(before, name) for name in page.JOINT_COLUMNS}
    if not store.edit(session, Joint, joint_id, version, values):
        raise Stale((), typed)


def edit_joint(session: Session, design_id: int, joint_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    before = store.load_joint(session, design_id, joint_id).model_dump()
    version = Fields(typed).version()
    form = forms.joint_form(typed)
    if not store.edit(session, Joint, joint_id, version, form.values):
        raise Stale(page.joint_clashes(form.values, before), typed)
