"""What differs between two runs, piece by piece: an old part as it was, and the design begun from it."""

from dataclasses import dataclass
from fractions import Fraction
from math import degrees

from server.core.tube.run import PieceKind, PiecePlan

COMPARED = (
    "outside_diameter",
    "outside_diameter_out",
    "wall",
    "bore",
    "bore_out",
    "length",
    "bend_angle",
    "bend_radius",
    "length_out",
    "roll",
)
"""Sizes that are compared, in the order they are told."""
SAME = {"bend_angle": 1e-4, "roll": 1e-4}
SAME_LENGTH = 1e-5
"""Angles [rad] and lengths [m] this close are the same."""
LEFT_OUT = Fraction(1_000_001, 1_000_000)
"""What leaving a piece out weighs: of two ways that weigh the same else, the one that leaves out less."""


@dataclass(frozen=True, slots=True)
class SizeChange:
    """A size that differs [SI]; none where it is not known."""

    name: str
    before: float | None
    after: float | None


@dataclass(frozen=True, slots=True)
class WordChange:
    """Something other than a size that differs, in words: material, ends, side ports."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class PieceChange:
    """One step of the way from one run to the other: numbers of the piece in both (none where it is in one
    only), its kind and name, and what differs on it.
    """

    before: int | None
    after: int | None
    kind: PieceKind
    name: str
    sizes: tuple[SizeChange, ...] = ()
    words: tuple[WordChange, ...] = ()

    @property
    def same(self) -> bool:
        """The piece stands in both runs and nothing differs on it."""
        return self.before is not None and self.after is not None and not self.sizes and not self.words


def difference(before: tuple[PiecePlan, ...], after: tuple[PiecePlan, ...]) -> tuple[PieceChange, ...]:
    """The shortest way from one run to the other that keeps the order: pieces of one kind are taken for the
    same piece, changed, where that leaves the least else to change.

    Source: the edit distance of two sequences by dynamic programming (Wagner and Fischer, 1974); from
    memory.
    """
    rows, columns = len(before), len(after)
    cost = [[Fraction(0)] * (columns + 1) for _ in range(rows + 1)]
    for row in range(rows + 1):
        for column in range(columns + 1):
            if row and column:
                cost[row][column] = min(
                    cost[row - 1][column] + LEFT_OUT,
                    cost[row][column - 1] + LEFT_OUT,
                    cost[row - 1][column - 1] + _cost(before[row - 1], after[column - 1]),
                )
            else:
                cost[row][column] = (row + column) * LEFT_OUT
    steps: list[PieceChange] = []
    row, column = rows, columns
    while row or column:
        if row and column:
            one, other = before[row - 1], after[column - 1]
            kept = cost[row - 1][column - 1] + _cost(one, other)
            if one.kind is other.kind and cost[row][column] == kept:
                steps.append(_change(one, other))
                row, column = row - 1, column - 1
                continue
        if column and cost[row][column] == cost[row][column - 1] + LEFT_OUT:
            piece = after[column - 1]
            steps.append(PieceChange(None, piece.number, piece.kind, piece.name))
            column -= 1
        else:
            piece = before[row - 1]
            steps.append(PieceChange(piece.number, None, piece.kind, piece.name))
            row -= 1
    return tuple(reversed(steps))


def _cost(one: PiecePlan, other: PiecePlan) -> Fraction:
    """Of taking two pieces for one: less than to leave either out, the less the fewer things differ; as much
    as leaving out both where their kinds differ.
    """
    if one.kind is not other.kind:
        return 2 * LEFT_OUT
    change = _change(one, other)
    differs = len(change.sizes) + len(change.words)
    return Fraction(differs, differs + 4)


def _change(one: PiecePlan, other: PiecePlan) -> PieceChange:
    sizes = []
    for name in COMPARED:
        was, now = _size(one, name), _size(other, name)
        if was is None and now is None:
            continue
        if was is None or now is None or abs(was - now) > SAME.get(name, SAME_LENGTH):
            sizes.append(SizeChange(name, was, now))
    told = (
        ("material", one.material, other.material),
        ("inlet end", one.inlet_end.value, other.inlet_end.value),
        ("outlet end", one.outlet_end.value, other.outlet_end.value),
        ("further turns", _turns(one), _turns(other)),
        ("side ports", _side_ports(one), _side_ports(other)),
    )
    words = tuple(WordChange(name, was, now) for name, was, now in told if was != now)
    return PieceChange(one.number, other.number, other.kind, other.name, tuple(sizes), words)


def _size(piece: PiecePlan, name: str) -> float | None:
    if name == "roll":
        return piece.roll if piece.has_arc else None
    size = piece.sizes.get(name)
    return None if size is None else size.value


def _turns(piece: PiecePlan) -> str:
    return ", ".join(f"{degrees(turn.angle):.1f}°" for turn in piece.turns)


def _side_ports(piece: PiecePlan) -> str:
    return ", ".join(sorted(f"{bung.name} at {bung.at * 1000:.0f} mm" for bung in piece.bungs))
