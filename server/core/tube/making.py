"""How much work a run is: what is cut, beaded, welded and clamped, and about how long that takes."""

from dataclasses import dataclass

from server.core.tube.run import HOSES, EndForm, Fixing, JointKind, Origin, PieceKind, PiecePlan, RunPlan

CUT = 10.0
BEAD = 6.0
WELD = 25.0
BUNG = 20.0
CLAMP = 4.0
BOLTED = 12.0
CLEANED = 30.0
"""Minutes for one: cut and deburr, bead an end, tack and weld out a joint, drill and fix a side port, push
on and clamp an end, bolt a flange or V-band up, clean a salvaged pipe; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Making:
    """What has to be done to make and fit a run, counted.

    cuts: faces that are cut; clamped: hose ends pushed on and clamped; bolted: flanges and V-bands.
    """

    cuts: int
    beads: int
    welds: int
    bungs: int
    clamped: int
    bolted: int
    cleaned: int

    @property
    def minutes(self) -> float:
        """About how long it takes at the bench and on the car, without design and shopping [min]."""
        return (
            self.cuts * CUT
            + self.beads * BEAD
            + self.welds * WELD
            + self.bungs * BUNG
            + self.clamped * CLAMP
            + self.bolted * BOLTED
            + self.cleaned * CLEANED
        )


def making(plan: RunPlan) -> Making:
    """The work in a run. Source: counting; the times are common practice, no source.

    A tube is cut at both ends, a bend and a hose elbow come to length, a hose cut off a roll is cut once, and
    a salvaged pipe is cut where it is to end, taken as both ends. A joint is clamped where it is hose and
    clamp.
    """
    pieces = plan.pieces
    return Making(
        cuts=sum(_cuts(piece) for piece in pieces),
        beads=sum(_beads(piece) for piece in pieces),
        welds=sum(joint.kind is JointKind.WELD for joint in plan.joints),
        bungs=sum(bung.fixing is not Fixing.MOULDED for piece in pieces for bung in piece.bungs),
        clamped=sum(joint.kind is JointKind.HOSE_AND_CLAMP for joint in plan.joints),
        bolted=sum(joint.kind in {JointKind.V_BAND, JointKind.FLANGE} for joint in plan.joints),
        cleaned=sum(piece.kind is PieceKind.SALVAGED or piece.origin is Origin.SALVAGED for piece in pieces),
    )


def _cuts(piece: PiecePlan) -> int:
    if piece.kind in {PieceKind.TUBE, PieceKind.SALVAGED}:
        return 2
    return 1 if piece.kind is PieceKind.HOSE else 0


def _beads(piece: PiecePlan) -> int:
    """Ends that the builder beads: a meter, a filter and hoses come as they are."""
    if piece.kind in HOSES | {PieceKind.METER, PieceKind.FILTER, PieceKind.FLANGE}:
        return 0
    return sum(end is EndForm.BEAD for end in (piece.inlet_end, piece.outlet_end))
