"""What is asked of a splice and what is answered: frozen values, SI."""

from dataclasses import dataclass, field

import numpy as np

from server.core.tube.space.vectors import Vector
from server.core.tube.splice.piece import Piece

CLOSE = 1e-6
"""How far a limit may be passed by rounding [m] or [rad]: a thousandth of a millimetre."""
REACH = 0.2
"""Length that an angle past its limit is compared at [m/rad]: a turn moves the far end by about so much."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Two pipes to be joined by welds.

    fixed stands in the car; turning is on a flange of `holes` bolt holes and given as it stands at
    clocking 0; 0 holes turn freely (V-band). outside: outside diameter of both [m]. most_pies: pie pieces
    between them. saw: greatest angle from a square cut [rad]. throat: least inside length of a pie piece [m].
    gap: how far the two centre lines may be pulled together [m].
    """

    fixed: Piece
    turning: Piece
    holes: int
    outside: float
    most_pies: int
    saw: float
    throat: float
    gap: float

    @property
    def clockings(self) -> tuple[float, ...]:
        """Rotations that the bolt holes allow [rad]; none where the flange turns freely."""
        return tuple(2.0 * np.pi * hole / self.holes for hole in range(self.holes))


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to join, before it is written as cuts.

    fixed, turning: numbers of the straights that are cut. points: the corners of the joint [m]: where the
    fixed pipe is cut first, where the turning pipe is cut last; one where the centre lines meet. along_fixed,
    along_turning: from the start of each straight to its cut [m]. pull: from the fixed pipe's axis to the
    other's, at a direct joint [m].
    """

    fixed: int
    turning: int
    clocking: int | None
    rotation: float
    along_fixed: float
    along_turning: float
    points: tuple[Vector, ...]
    pull: Vector = field(default_factory=lambda: np.zeros(3))


@dataclass(frozen=True, slots=True)
class Joint:
    """A weld. saw: angle of the cut from square [rad]. mark: roll of the throat from the paint line that
    starts at 12 o'clock of the fixed flange, right-handed looking along the flow [rad].
    """

    saw: float
    mark: float


@dataclass(frozen=True, slots=True)
class PieCut:
    """A piece between two mitres. centre, throat: lengths [m]. roll: from the throat of its first cut to that
    of its second, right-handed along the flow [rad].
    """

    centre: float
    throat: float
    roll: float


@dataclass(frozen=True, slots=True)
class Splice:
    """Two pipes joined; the flow runs from the fixed flange to the turning one.

    cut_fixed, cut_turning: stations along each centre line, from its flange to the middle of its cut [m].
    corners: the whole joined centre line [m]. radii: at its inner corners, 0 at a joint [m]. turning_mark:
    roll of the last joint's throat from the turning pipe's own 12 o'clock, at clocking 0, along the flow
    [rad]. waste: what is cut off, less the pie pieces [m]. closure, closure_angle: what is left when the pipe
    is walked from its cuts alone, after the pull [m], [rad].
    """

    choice: Choice
    cut_fixed: float
    cut_turning: float
    corners: tuple[Vector, ...]
    radii: tuple[float, ...]
    pies: tuple[PieCut, ...]
    joints: tuple[Joint, ...]
    turning_mark: float
    waste: float
    closure: float
    closure_angle: float

    @property
    def pull(self) -> float:
        """How far the centre lines are pulled together [m]."""
        return float(np.linalg.norm(self.choice.pull))


@dataclass(frozen=True, slots=True)
class Miss:
    """A limit that would have to give way, all others held. needs: its least value that leaves an answer;
    over: how far that is beyond the limit [m], [rad]. pies: pie pieces of that answer.
    """

    limit: str
    needs: float
    over: float
    pies: int


SAW, THROAT, GAP, STRAIGHTS = "saw", "throat", "gap", "straights"
"""What may stand in the way; straights: length missing at the end of a straight."""


@dataclass(frozen=True, slots=True)
class Answer:
    """Splices, fewest welds first; or none, why, and which single limit would have to give way how far.

    together: where no single limit is enough: how far several are passed at once.
    """

    splices: tuple[Splice, ...]
    reason: str = ""
    misses: tuple[Miss, ...] = ()
    together: tuple[Miss, ...] = ()
    notes: tuple[str, ...] = ()
