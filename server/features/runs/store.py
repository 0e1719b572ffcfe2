"""Queries on the pieces of runs, and the way from rows to the plan of a run."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from sqlalchemy import bindparam, insert
from sqlmodel import Session, col, delete, select, update

from server.core.checks.levers import DIAMETERS, WALL_AS_SOLD
from server.core.measure.estimate import Estimate
from server.core.tube.run import (
    BungPlan,
    Clamp,
    EndForm,
    Fixing,
    JointKind,
    JointPlan,
    Offered,
    Origin,
    PieceKind,
    PiecePlan,
    Place,
    PortPlan,
    RunPlan,
    Screw,
    Turn,
)
from server.errors import NotFound
from server.features.parts.tables import OffCut
from server.features.runs.tables import Bung, Joint, Piece

LENGTHS = ("length", "length_out", "bend_radius", "travel")
WALL_RECKONED = 0.20
"""Relative standard uncertainty of a wall that somebody reckoned: the next usual one; common practice."""
RECKONED_ABOVE = 0.001
"""Diameters that are known no better than this were reckoned [m]."""
ANGLE_DOUBT = 0.0087
"""Half a degree [rad]: a bought bend's angle; common practice, no source."""
CLAMP_DOUBT = 0.0005
"""Standard uncertainty of a clamp's range as its maker prints it [m]; common practice, no source."""
OVERLAP_DOUBT = 0.002
"""Standard uncertainty of how far a spigot is pushed into a hose [m]; common practice, no source."""
HOLD_DOUBT = 0.10
"""Relative standard uncertainty of what bead and clamp hold, or held before; common practice, no source."""


WHOLE, COUPLER, OFF_CUT = "whole", "coupler", "off-cut"
CUT_NOTES = (WHOLE, COUPLER, OFF_CUT)
"""Kept among the texts of the half that was cut off: the pipe before, its coupler, what lies on the shelf."""


@dataclass(frozen=True, slots=True)
class RunRows:
    """Everything on a run. `removed` are the pieces that were taken out and may come back."""

    pieces: tuple[Piece, ...] = ()
    removed: tuple[Piece, ...] = ()
    bungs: tuple[Bung, ...] = ()
    joints: tuple[Joint, ...] = ()

    def joint_after(self, piece_id: int | None) -> Joint | None:
        """The joint after a piece, or (none) the one at the start."""
        return next((joint for joint in self.joints if joint.piece_id == piece_id), None)

    @property
    def along(self) -> tuple[Joint | None, ...]:
        """The joints in flow direction, from the one at the start."""
        after = {joint.piece_id: joint for joint in reversed(self.joints)}
        return tuple(after.get(number) for number in (None, *(piece.id for piece in self.pieces)))

    def joint_like(self, joint_id: int) -> tuple[int, Joint] | None:
        """The joint that another is likely to be the same as, with its number: the last one before it of its
        kind, else the one before it."""
        along = self.along
        place = next((place for place, one in enumerate(along) if one and one.key == joint_id), 0)
        before = [(number, one) for number, one in enumerate(along[:place], 1) if one]
        own = along[place]
        alike = [pair for pair in before if own is not None and pair[1].kind == own.kind]
        likely = alike or before
        return likely[-1] if likely else None


def runs_of(session: Session, design_ids: Sequence[int]) -> dict[int, RunRows]:
    """The runs of these designs, in two queries however many they are."""
    if not design_ids:
        return {}
    of_these = {"designs": list(design_ids)}
    pieces: dict[int, dict[int, Piece]] = {design_id: {} for design_id in design_ids}
    bungs: dict[int, list[Bung]] = {design_id: [] for design_id in design_ids}
    joints: dict[int, list[Joint]] = {design_id: [] for design_id in design_ids}
    for piece, bung in session.exec(PIECES, params=of_these):
        pieces[piece.design_id][piece.key] = piece
        if bung is not None:
            bungs[piece.design_id].append(bung)
    for joint in session.exec(JOINTS, params=of_these):
        joints[joint.design_id].append(joint)
    return {
        design_id: RunRows(
            tuple(row for row in pieces[design_id].values() if row.removed_at is None),
            tuple(row for row in pieces[design_id].values() if row.removed_at is not None),
            tuple(sorted(bungs[design_id], key=lambda bung: (bung.at, bung.key))),
            tuple(joints[design_id]),
        )
        for design_id in design_ids
    }


PIECES = (
    select(Piece, Bung)
    .join(Bung, col(Bung.piece_id) == Piece.id, isouter=True)
    .where(col(Piece.design_id).in_(bindparam("designs", expanding=True)))
    .order_by(col(Piece.position), col(Piece.id), col(Bung.at), col(Bung.id))
)
JOINTS = select(Joint).where(col(Joint.design_id).in_(bindparam("designs", expanding=True)))


def load_piece(session: Session, design_id: int, piece_id: int) -> Piece:
    """Raises NotFound."""
    piece = session.get(Piece, piece_id)
    if piece is None or piece.design_id != design_id:
        raise NotFound("There is no such piece in this design.")
    return piece


def load_joint(session: Session, design_id: int, joint_id: int) -> Joint:
    """Raises NotFound."""
    joint = session.get(Joint, joint_id)
    if joint is None or joint.design_id != design_id:
        raise NotFound("There is no such joint in this design.")
    return joint


def load_bung(session: Session, design_id: int, bung_id: int) -> Bung:
    """Raises NotFound."""
    if (bung := session.get(Bung, bung_id)) is None:
        raise NotFound("There is no such side port in this design.")
    load_piece(session, design_id, bung.piece_id)
    return bung


def pieces_in_order(session: Session, design_id: int) -> list[Piece]:
    query = (
        select(Piece)
        .where(Piece.design_id == design_id, col(Piece.removed_at).is_(None))
        .order_by(col(Piece.position), col(Piece.id))
    )
    return list(session.exec(query))


def add(session: Session, row: Piece | Bung | Joint) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def add_all(
    session: Session, table: type[Piece] | type[Bung] | type[Joint], rows: Sequence[Mapping[str, object]]
) -> None:
    """Store new rows by their columns, in one statement however many they are."""
    if rows:
        session.connection().execute(insert(table), [dict(row) for row in rows])


def set_all(session: Session, rows: Sequence[Mapping[str, object]]) -> None:
    """Change columns of several pieces, each by its `id`, in one statement."""
    if rows:
        session.execute(update(Piece), [dict(row) for row in rows])


def move_bungs(session: Session, bungs: Sequence[Bung], piece_id: int, by: float) -> None:
    """Put side ports on another piece, so much further from its inlet face [m]."""
    for bung in bungs:
        session.refresh(bung)
        bung.piece_id, bung.at = piece_id, bung.at + by
        session.add(bung)
    session.flush()


def move_joint(session: Session, design_id: int, after: int, to: int) -> None:
    """Let the joint after one piece stand after another."""
    session.exec(
        update(Joint)
        .where(col(Joint.design_id) == design_id, col(Joint.piece_id) == after)
        .values(piece_id=to, version=Joint.version + 1)
    )
    session.expire_all()


def drop_joint(session: Session, design_id: int, after: int) -> None:
    query = delete(Joint).where(col(Joint.design_id) == design_id, col(Joint.piece_id) == after)
    session.exec(query)


def make_whole(session: Session, piece: Piece, values: Mapping[str, object]) -> None:
    """Give a piece back what it was before it was cut."""
    for name, value in values.items():
        setattr(piece, name, value)
    piece.version, piece.removed_at = piece.version + 1, None
    session.add(piece)
    session.flush()


def drop_pieces(session: Session, pieces: Sequence[Piece]) -> None:
    """Take pieces away for good, with the joints after them and their side ports."""
    ids = [piece.key for piece in pieces]
    session.exec(delete(Joint).where(col(Joint.piece_id).in_(ids)))
    session.exec(delete(Bung).where(col(Bung.piece_id).in_(ids)))
    session.exec(delete(Piece).where(col(Piece.id).in_(ids)))
    session.expire_all()


def drop_off_cut(session: Session, off_cut_id: int) -> None:
    """Take what came out of a pipe off the shelf again, unless it was used meanwhile."""
    session.exec(delete(OffCut).where(col(OffCut.id) == off_cut_id, col(OffCut.used_at).is_(None)))


def remove_bung(session: Session, row: Bung) -> None:
    session.delete(row)
    session.flush()


def edit(session: Session, row: Piece | Joint, version: int, values: Mapping[str, object]) -> bool:
    """Change a row made on `version`; false when somebody else changed it meanwhile.

    What stands already is not written again. The row is read anew when it is asked for again, and no other.
    """
    table = type(row)
    changed = {name: value for name, value in values.items() if getattr(row, name) != value}
    session.flush()
    result = session.connection().execute(
        update(table)
        .where(col(table.id) == row.id, col(table.version) == version)
        .values(version=version + 1, **changed)
    )
    session.expire(row)
    return bool(result.rowcount)


def place_in_order(session: Session, order: Sequence[Piece]) -> None:
    for position, piece in enumerate(order):
        piece.position = position
        session.add(piece)
    session.flush()


def set_removed(session: Session, piece: Piece, at: datetime | None) -> None:
    piece.removed_at = at
    session.add(piece)
    session.flush()


def copy_run(session: Session, run: RunRows, design_id: int) -> dict[int, int]:
    """Give a design all of another's run, in a fixed number of queries; of each piece its copy, by number."""
    add_all(
        session,
        Piece,
        [
            _copied(piece, design_id=design_id, position=place, cut_from_id=None)
            for place, piece in enumerate(run.pieces)
        ],
    )
    made = pieces_in_order(session, design_id)
    new = {piece.key: copy.key for piece, copy in zip(run.pieces, made, strict=True)}
    set_all(session, [_link(piece, new) for piece in run.pieces if piece.cut_from_id in new])
    add_all(
        session,
        Bung,
        [_copied(bung, piece_id=new[bung.piece_id]) for bung in run.bungs if bung.piece_id in new],
    )
    add_all(
        session,
        Joint,
        [
            _copied(joint, design_id=design_id, piece_id=new.get(joint.piece_id or 0))
            for joint in run.joints
            if joint.piece_id is None or joint.piece_id in new
        ],
    )
    return new


def _link(piece: Piece, new: Mapping[int, int]) -> dict[str, object]:
    """What ties the copy of a cut-off half to the copies of its other half and its coupler."""
    coupler = new.get(int(piece.typed.get(COUPLER, 0)))
    typed = {name: text for name, text in piece.typed.items() if name not in {COUPLER, OFF_CUT}}
    typed |= {COUPLER: str(coupler)} if coupler else {}
    return {"id": new[piece.key], "cut_from_id": new[piece.cut_from_id or 0], "typed": typed}


def _copied(row: Piece | Bung | Joint, **values: object) -> dict[str, object]:
    return {**row.model_dump(exclude={"id", "version"}), **values}


def run_plan(
    rows: RunRows,
    place: Place,
    start: PortPlan | None,
    end: PortPlan | None,
    side_ports: Sequence[PortPlan],
    meter_rescaled: bool,
    tried: Mapping[int, str] = MappingProxyType({}),
) -> RunPlan:
    """The plan of a run from its rows and the ports it joins.

    `tried`: of each borrowed part, how trying it on went, by its number.
    """
    standing = {piece.id for piece in rows.pieces}
    return RunPlan(
        place=place,
        start=start,
        end=end,
        pieces=tuple(
            _piece_plan(piece, number, rows.bungs, tried, standing)
            for number, piece in enumerate(rows.pieces, 1)
        ),
        joints=tuple(_joint_plan(joint, -number) for number, joint in enumerate(rows.along, 1)),
        side_ports=tuple(side_ports),
        meter_rescaled=meter_rescaled,
    )


def _piece_plan(
    piece: Piece,
    number: int,
    bungs: Sequence[Bung],
    tried: Mapping[int, str],
    standing: Collection[int | None],
) -> PiecePlan:
    """`standing`: numbers of the run's pieces; a half whose other half was taken out stands for the pipe."""
    sizes: dict[str, Estimate] = {}
    doubts = (
        (DIAMETERS, piece.doubt),
        (("wall",), _thin_doubt(piece, piece.wall)),
        (("wrap",), _thin_doubt(piece, piece.wrap)),
        (LENGTHS, piece.length_doubt),
        (("bend_angle",), ANGLE_DOUBT),
    )
    for names, doubt in doubts:
        for name in names:
            value: float | None = getattr(piece, name)
            if value is not None:
                sizes[name] = Estimate(value, doubt)
    return PiecePlan(
        id=piece.key,
        number=number,
        kind=PieceKind(piece.kind),
        name=piece.name or piece.kind,
        material=piece.material,
        sizes=sizes,
        inlet_end=EndForm(piece.inlet_end),
        outlet_end=EndForm(piece.outlet_end),
        roll=piece.roll,
        rated_pressure=piece.rated_pressure,
        rated_temperature=piece.rated_temperature,
        reinforced=piece.reinforced,
        bungs=tuple(
            BungPlan(row.key, row.name, row.port_id, Fixing(row.fixing), row.at, row.bore, row.clock)
            for row in bungs
            if row.piece_id == piece.id
        ),
        origin=Origin(piece.origin),
        offered=Offered(piece.offered),
        offered_note=piece.offered_note,
        liner=piece.liner,
        supported=piece.supported,
        tried=tried.get(piece.part_id or 0, ""),
        part_id=piece.part_id,
        cut_from_id=piece.cut_from_id if piece.cut_from_id in standing else None,
        whole_length=piece.whole_length,
        ratings=tuple((at, stands) for at, stands in piece.ratings),
        turns=tuple(Turn(*turn) for turn in piece.turns),
    )


def _thin_doubt(piece: Piece, thickness: float | None) -> float:
    """Standard uncertainty of a wall or wrap [m]: as of the diameters, but it can't be out by so much."""
    share = WALL_RECKONED if piece.doubt > RECKONED_ABOVE else WALL_AS_SOLD
    return min(piece.doubt, share * (thickness or 0.0))


def _joint_plan(joint: Joint | None, stand_in_id: int) -> JointPlan:
    """The plan of a joint; one that nobody described yet is taken as hose and clamp without figures."""
    if joint is None:
        return JointPlan(stand_in_id, JointKind.HOSE_AND_CLAMP)
    sizes: dict[str, Estimate] = {}
    for name, value, doubt in (
        ("clamp_least", joint.clamp_least, CLAMP_DOUBT),
        ("clamp_most", joint.clamp_most, CLAMP_DOUBT),
        ("overlap", joint.overlap, OVERLAP_DOUBT),
        ("holds", joint.holds, HOLD_DOUBT * (joint.holds or 0.0)),
        ("old_diameter", joint.old_diameter, CLAMP_DOUBT),
        ("old_pressure", joint.old_pressure, HOLD_DOUBT * (joint.old_pressure or 0.0)),
    ):
        if value is not None:
            sizes[name] = Estimate(value, doubt)
    said = joint.holds_origin, joint.bracket, joint.filler, Screw(joint.screw), joint.screw_at
    return JointPlan(joint.key, JointKind(joint.kind), Clamp(joint.clamp), sizes, *said)
