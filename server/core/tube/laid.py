"""From a route to the pieces of a run: tubes, bends with their legs and roll marks, what joins the ports."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import degrees

import numpy as np

from server.core.measure.estimate import Estimate
from server.core.tube.route.problem import Route
from server.core.tube.run import EndForm, JointKind, JointPlan, PieceKind, PiecePlan, Turn
from server.core.tube.said import JOINT_OF_ENDS, usual_material
from server.core.tube.shorten import COUPLER_LENGTH, GAP, OVERLAP
from server.core.tube.space.poses import run_axes
from server.core.tube.space.vectors import Vector, rolled

BEAD = 0.012
"""Straight that a bead takes behind the hose's end [m]; common practice, no source."""
FLANGE = 0.010
"""Thickness of a flange that is welded to a pipe [m]; common practice, no source."""
HOSE_WALL = 0.005
"""Wall of a silicone coupler as sold [m]; common practice, no source."""
ONE_SIZE = 0.001
"""Diameters that differ by less take one straight coupler [m]; common practice, no source."""
NO_TUBE = 0.0005
"""A straight shorter than this beyond the bends' legs is no piece of its own: a leg has it [m]."""


@dataclass(frozen=True, slots=True)
class Tube:
    """What the run is made of. outside, wall: [m]."""

    outside: float
    wall: float
    material: str


@dataclass(frozen=True, slots=True)
class Fit:
    """How a run joins a port. outside: of the port's spigot [m], None where not known."""

    joint: JointKind
    outside: float | None = None

    @property
    def taken(self) -> float:
        """How far the pipe itself begins from the port's face [m]."""
        return {JointKind.HOSE_AND_CLAMP: GAP, JointKind.WELD: 0.0}.get(self.joint, FLANGE)

    @property
    def straight(self) -> float:
        """The least straight of the pipe there [m]: under the clamp and for the bead, else a weld's room."""
        return OVERLAP + BEAD if self.joint is JointKind.HOSE_AND_CLAMP else BEAD


def fit_of(end_form: EndForm, outside: float | None) -> Fit:
    """How a run joins a port that ends so. outside: [m]."""
    return Fit(JOINT_OF_ENDS.get(end_form, JointKind.HOSE_AND_CLAMP), outside)


@dataclass(frozen=True, slots=True)
class LaidPiece:
    """One piece of the run, and the joint after it. sizes: by name [m, rad]; turns: after its legs."""

    kind: PieceKind
    name: str
    material: str
    inlet: EndForm
    outlet: EndForm
    joint: JointKind
    sizes: Mapping[str, float] = field(default_factory=dict)
    turns: tuple[Turn, ...] = ()


@dataclass(frozen=True, slots=True)
class LaidRun:
    """A run from port to port: the joint at its start, and its pieces."""

    joint: JointKind
    pieces: tuple[LaidPiece, ...]


def laid_run(route: Route, flow: Vector, tube: Tube, start: Fit, end: Fit) -> LaidRun:
    """The pieces that a route is made of.

    route: between the places that lie `taken` and `straight` off the two ports. flow: at its start. A bend
    keeps the legs that it is sold with; what is left of a straight is a tube. The first roll is counted from
    12 o'clock as `run_axes` has it, the others from the bend before. Source: geometry.
    """
    straights = [*(row.straight for row in route.table.rows), route.table.last_straight]
    straights[0] += start.straight
    straights[-1] += end.straight
    pipe = _pipe(route, straights, _first_roll(route, flow), tube)
    first, last = (_end_form(one.joint) for one in (start, end))
    pipe = [_with_ends(piece, at, len(pipe), first, last) for at, piece in enumerate(pipe)]
    before = _before(tube, start)
    after = _after(tube, end)
    if pipe and after:
        last_joint = JointKind.HOSE_AND_CLAMP if end.joint is JointKind.HOSE_AND_CLAMP else JointKind.WELD
        pipe[-1] = replace(pipe[-1], joint=last_joint)
    elif pipe:
        pipe[-1] = replace(pipe[-1], joint=end.joint)
    return LaidRun(start.joint, (*before, *pipe, *after))


def _first_roll(route: Route, flow: Vector) -> float:
    if not route.kinds:
        return 0.0
    up = run_axes(flow)[2]
    normal = np.cross(flow, route.corners[2] - route.corners[1])
    return rolled(flow, up, normal)


def _pipe(route: Route, straights: Sequence[float], roll: float, tube: Tube) -> list[LaidPiece]:
    made: list[LaidPiece] = []
    tubes = 0
    outs = [0.0, *(kind.leg_out for kind in route.kinds)]
    ins = [*(kind.leg_in for kind in route.kinds), 0.0]
    rest = [max(s - out - into, 0.0) for s, out, into in zip(straights, outs, ins, strict=True)]
    spare = [length if length <= NO_TUBE else 0.0 for length in rest]
    for at, length in enumerate(rest):
        if length > NO_TUBE:
            tubes += 1
            made.append(_metal(PieceKind.TUBE, f"Tube {tubes}", tube, {"length": length}))
        if at < len(route.kinds):
            row, kind = route.table.rows[at], route.kinds[at]
            bent = {"bend_angle": row.angle, "bend_radius": row.radius, "roll": row.rotation if at else roll}
            last = spare[-1] if at == len(route.kinds) - 1 else 0.0
            legs = {"length": kind.leg_in + spare[at], "length_out": kind.leg_out + last}
            made.append(_metal(PieceKind.BEND, f"Bend {at + 1}", tube, bent | legs))
    return made


def _metal(kind: PieceKind, name: str, tube: Tube, sizes: Mapping[str, float]) -> LaidPiece:
    every = {"outside_diameter": tube.outside, "wall": tube.wall} | dict(sizes)
    return LaidPiece(kind, name, tube.material, EndForm.WELD, EndForm.WELD, JointKind.WELD, every)


def _end_form(joint: JointKind) -> EndForm:
    return EndForm.BEAD if joint is JointKind.HOSE_AND_CLAMP else EndForm.WELD


def _with_ends(piece: LaidPiece, at: int, count: int, first: EndForm, last: EndForm) -> LaidPiece:
    inlet = first if at == 0 else piece.inlet
    return replace(piece, inlet=inlet, outlet=last if at == count - 1 else piece.outlet)


def _before(tube: Tube, fit: Fit) -> tuple[LaidPiece, ...]:
    if fit.joint is JointKind.HOSE_AND_CLAMP:
        return (_coupler("at the start", fit.outside or tube.outside, tube.outside),)
    return (_flange(tube, fit, starts=True),) if fit.joint is not JointKind.WELD else ()


def _after(tube: Tube, fit: Fit) -> tuple[LaidPiece, ...]:
    if fit.joint is JointKind.HOSE_AND_CLAMP:
        return (_coupler("at the end", tube.outside, fit.outside or tube.outside),)
    return (_flange(tube, fit, starts=False),) if fit.joint is not JointKind.WELD else ()


def _coupler(where: str, before: float, after: float) -> LaidPiece:
    one = abs(before - after) < ONE_SIZE
    kind = PieceKind.COUPLER if one else PieceKind.REDUCER
    sizes = {"bore": before, "wall": HOSE_WALL, "length": COUPLER_LENGTH}
    sizes |= {} if one else {"bore_out": after}
    name = f"{'Coupler' if one else 'Reducer'} {where}"
    cuff = EndForm.CUFF
    return LaidPiece(kind, name, usual_material(kind), cuff, cuff, JointKind.HOSE_AND_CLAMP, sizes)


def _flange(tube: Tube, fit: Fit, *, starts: bool) -> LaidPiece:
    face = EndForm.V_BAND if fit.joint is JointKind.V_BAND else EndForm.FLANGE
    inlet, outlet = (face, EndForm.WELD) if starts else (EndForm.WELD, face)
    joint = JointKind.WELD if starts else fit.joint
    sizes = {"bore": tube.outside - 2.0 * tube.wall, "length": FLANGE}
    name = "V-band flange" if face is EndForm.V_BAND else "Flange"
    return LaidPiece(PieceKind.FLANGE, name, tube.material, inlet, outlet, joint, sizes)


def plans_of(run: LaidRun) -> tuple[tuple[PiecePlan, ...], tuple[JointPlan, ...]]:
    """The same as a plan that can be checked; sizes without doubt. Numbers are their places, from 1."""
    pieces = tuple(
        PiecePlan(
            id=at,
            number=at,
            kind=one.kind,
            name=one.name,
            material=one.material,
            sizes={name: Estimate(size) for name, size in one.sizes.items() if name != "roll"},
            inlet_end=one.inlet,
            outlet_end=one.outlet,
            roll=one.sizes.get("roll", 0.0),
            turns=one.turns,
        )
        for at, one in enumerate(run.pieces, 1)
    )
    kinds = (run.joint, *(one.joint for one in run.pieces))
    overlap = {"overlap": Estimate(OVERLAP)}
    hose = JointKind.HOSE_AND_CLAMP
    return pieces, tuple(
        JointPlan(at, kind, sizes=overlap if kind is hose else {}) for at, kind in enumerate(kinds, 1)
    )


def typed_piece(piece: LaidPiece) -> dict[str, str]:
    """The same as a form takes it: lengths to a tenth of a millimetre, angles to a hundredth of a degree."""
    texts = {
        name: f"{degrees(size):.2f}°" if name in {"bend_angle", "roll"} else f"{size * 1000.0:.1f} mm"
        for name, size in piece.sizes.items()
    }
    return texts | {
        "kind": piece.kind.value,
        "name": piece.name,
        "material": piece.material,
        "inlet_end": piece.inlet.value,
        "outlet_end": piece.outlet.value,
        "known_by": "as sold",
        "turns": turns_text(piece.turns),
    }


def turns_text(turns: Sequence[Turn]) -> str:
    """Turns as a form takes them, a line each: roll; angle; radius; straight after it, in degrees and mm."""
    return "\n".join(
        f"{degrees(turn.roll) % 360.0:.2f}; {degrees(turn.angle):.2f}; {turn.radius * 1000.0:.1f};"
        f" {turn.straight * 1000.0:.1f}"
        for turn in turns
    )
