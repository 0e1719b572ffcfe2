"""A run in space put on a sheet: seen from one side, its dimensions and balloons where there is room.

Every line keeps its points in space, in whole millimetres from the middle, so that a small script can turn
it: the sheet is as large as the run needs from any side.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.core.tube.centreline import Triple
from server.core.tube.isometric.looking import STANDS, Side, Stand, depth
from server.core.tube.isometric.scene import Head, Label, Leg, Path, Scene, dimension, inner, sideways
from server.core.tube.outline import number, spot
from server.core.tube.placing import Capsule, Ground, place_balloon, touch
from server.core.tube.view import Flat
from server.core.units import System

SIZE = 366.0
"""Side of the sheet, a phone's page wide [sheet units]."""
EDGE = 44.0
"""Room round the run from any side, for dimensions and balloons [sheet units]."""
BALLOON = 12.0
"""Radius of a balloon [sheet units]."""
LETTER, TALL = 7.6, 13.0
"""Room that a letter takes, and the height of a line of text [sheet units]."""
LIFT = 4.0
"""How far a dimension's words stand over its line [sheet units]."""
DISTANCES = (0.14, 0.24, 0.34, 0.46)
"""How far a dimension may stand from its leg, of the run's reach; the nearest with room is taken."""
SHORTEST = 14.0
"""A line seen shorter than this has no dimension on it from that side [sheet units]."""
HEADS = {"flow": (15.0, 4.5), "size": (8.0, 2.0)}
"""Length and half the width of arrowheads [sheet units]; ISO 128, filled (from memory)."""
CORNER, AXIS = 70.0, 22.0
"""Where the three axes stand from the left, and how long they are [sheet units]."""
UNDER = 34.0
"""How far their corner stands under everything else [sheet units]."""
END_ON = 14.0
"""The name of an axis nearer to their corner than this is left out [sheet units]."""
FRAME = 10.0
"""Room over and under all of it [sheet units]."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """A line or arrowhead: its class, its path now, its points in space; kind: `line` or that of a head."""

    css: str
    d: str
    points: str
    kind: str = "line"


@dataclass(frozen=True, slots=True)
class Word:
    """Words along a line in space: how they stand now, and that line's two points."""

    text: str
    transform: str
    points: str
    css: str = ""


@dataclass(frozen=True, slots=True)
class Balloon:
    """A piece's number: its point now, where the balloon stands from there, where its leader ends."""

    number: int
    transform: str
    points: str
    x: str
    y: str
    text_y: str
    leader: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A run's isometric drawing, ready to be written as SVG; turn and rise [°], scale [units to the mm]."""

    size: str
    top: str
    height: str
    middle: str
    corner: str
    scale: str
    turn: str
    rise: str
    title: str
    description: str
    ghosts: tuple[Drawn, ...]
    thin: tuple[Drawn, ...]
    runs: tuple[tuple[Drawn, Drawn], ...]
    """What blanks out the lines behind, and the line itself, the farthest first."""
    heads: tuple[Drawn, ...]
    words: tuple[Word, ...]
    balloons: tuple[Balloon, ...]
    axes: tuple[Drawn, ...]
    axis_words: tuple[Word, ...]


def sheet(
    scene: Scene, side: Side, axes: Sequence[str], system: System, title: str, description: str
) -> Sheet:
    """A run seen from a side. axes: a letter for each."""
    board = _Board(scene, STANDS[side])
    board.fill(system)
    triad = [Path("axis", ((0.0, 0.0, 0.0), tip)) for tip in board.tips()]
    corner = CORNER, board.ground.lowest() + UNDER
    top = board.ground.highest() - FRAME
    at = _Board(scene, STANDS[side], corner)
    far_first = sorted(scene.runs, key=lambda path: depth(board.view, path.points))
    return Sheet(
        size=number(SIZE),
        top=number(top),
        height=number(corner[1] + UNDER - top),
        corner=spot(corner),
        middle=number(SIZE / 2.0),
        scale=f"{board.scale / 1e3:.5f}",
        turn=f"{math.degrees(board.stand.turn):.3f}",
        rise=f"{math.degrees(board.stand.rise):.3f}",
        title=title,
        description=description,
        ghosts=tuple(board.drawn(scene.ghosts)),
        thin=tuple(board.thin),
        runs=tuple(zip(board.drawn(map(inner, far_first)), board.drawn(far_first), strict=True)),
        heads=tuple(board.heads),
        words=tuple(board.words),
        balloons=tuple(board.balloons),
        axes=tuple(at.drawn(triad, about=(0.0, 0.0, 0.0))),
        axis_words=tuple(
            at.word(Label(text, tip, tip), about=(0.0, 0.0, 0.0), css=_axis_class(at, tip))
            for text, tip in zip(axes, at.tips(1.7), strict=True)
        ),
    )


class _Board:
    """The sheet while it is filled: what was drawn from this side, and what room is left."""

    def __init__(self, scene: Scene, stand: Stand, middle: Flat = (SIZE / 2.0, SIZE / 2.0)) -> None:
        self.scene, self.stand, self.view, self.middle = scene, stand, stand.view, middle
        self.scale = (SIZE / 2.0 - EDGE) / scene.reach
        self.ground = Ground(4.0, SIZE - 4.0)
        self.thin: list[Drawn] = []
        self.heads: list[Drawn] = []
        self.words: list[Word] = []
        self.balloons: list[Balloon] = []

    def fill(self, system: System) -> None:
        """Each leg's length first, then components where they meet no other word, then the balloons.

        A component that is left out stands in the table of legs.
        """
        self.thin += self.drawn(self.scene.thin)
        self.heads += [self.head(head) for head in self.scene.heads]
        for path in self.scene.runs:
            flat = [self.at(point) for point in (path.points[0], path.points[-1])]
            self.ground.drawn.append(Capsule(flat[0], flat[1], 2.0))
        for leg in self.scene.legs:
            self._dimension(leg, system)
        for label in self.scene.labels:
            taken = self.room(label)
            long = self.seen(label.start, label.end) >= SHORTEST
            if long and not any(touch(taken, one) for one in self.ground.solid):
                self.put(label)
        for tag in self.scene.tags:
            self._balloon(tag.number, tag.at)

    def at(self, point: Triple, about: Triple | None = None) -> Flat:
        """A point in space [m] on the sheet [units]."""
        centre = self.scene.centre if about is None else about
        x, y = self.view.flat((point[0] - centre[0], point[1] - centre[1], point[2] - centre[2]))
        return self.middle[0] + x * self.scale, self.middle[1] - y * self.scale

    def tips(self, share: float = 1.0) -> list[Triple]:
        """Ends of the three axes in the corner [m], so that each is as long on the sheet at every scale."""
        long = AXIS * share / self.scale
        return [(long, 0.0, 0.0), (0.0, long, 0.0), (0.0, 0.0, long)]

    def seen(self, start: Triple, end: Triple) -> float:
        """How long a line is from this side [units]."""
        return math.dist(self.at(start), self.at(end))

    def drawn(self, paths: Iterable[Path], about: Triple | None = None) -> list[Drawn]:
        found = []
        for path in paths:
            steps = "L".join(spot(self.at(point, about)) for point in path.points)
            found.append(Drawn(path.css, f"M{steps}", self.data(path.points, about)))
        return found

    def data(self, points: Iterable[Triple], about: Triple | None = None) -> str:
        """Points in whole millimetres from the middle."""
        centre = self.scene.centre if about is None else about
        return " ".join(
            f"{round((part - middle) * 1e3)}"
            for point in points
            for part, middle in zip(point, centre, strict=True)
        )

    def head(self, head: Head) -> Drawn:
        """A filled arrowhead; none where the line is seen end on."""
        d = _triangle(self.at(head.tip), self.at(head.tail), *HEADS[head.css])
        return Drawn("head", d, self.data((head.tip, head.tail)), head.css)

    def word(self, label: Label, about: Triple | None = None, css: str = "") -> Word:
        start, end = self.at(label.start, about), self.at(label.end, about)
        x, y = (start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0
        transform = f"translate({spot((x, y))})rotate({number(_reading(start, end))})"
        return Word(label.text, transform, self.data((label.start, label.end), about), css)

    def room(self, label: Label) -> Capsule:
        """The room that a word takes over its line."""
        start, end = self.at(label.start), self.at(label.end)
        turn = math.radians(_reading(start, end))
        lift = LIFT + TALL / 2.0 - 2.0
        x = (start[0] + end[0]) / 2.0 + math.sin(turn) * lift
        y = (start[1] + end[1]) / 2.0 - math.cos(turn) * lift
        half = max(0.0, len(label.text) * LETTER - TALL) / 2.0
        dx, dy = math.cos(turn) * half, math.sin(turn) * half
        return Capsule((x - dx, y - dy), (x + dx, y + dy), TALL / 2.0)

    def put(self, label: Label) -> None:
        self.words.append(self.word(label))
        self.ground.solid.append(self.room(label))

    def _dimension(self, leg: Leg, system: System) -> None:
        """A leg's length where its words meet nothing, or else where they meet least."""
        if self.seen(leg.start, leg.end) < SHORTEST:
            return
        best: tuple[int, Triple] | None = None
        for away in self._places(leg):
            _, _, label = dimension(leg, away, system)
            taken = self.room(label)
            hits = 0 if self.ground.free(taken) else 1 + sum(touch(taken, one) for one in self.ground.solid)
            if best is None or hits < best[0]:
                best = hits, away
            if hits == 0:
                break
        if best is None:
            return
        paths, heads, label = dimension(leg, best[1], system)
        self.thin += self.drawn(paths)
        self.heads += [self.head(head) for head in heads]
        self.put(label)

    def _places(self, leg: Leg) -> list[Triple]:
        """Where a leg's dimension may stand, near ones and those away from the middle first."""
        half = tuple((a + b) / 2.0 for a, b in zip(leg.start, leg.end, strict=True))
        middle = self.at((half[0], half[1], half[2]))
        out = middle[0] - self.middle[0], middle[1] - self.middle[1]
        a, b = self.at(leg.start), self.at(leg.end)
        long = math.dist(a, b)
        found: list[tuple[float, Triple]] = []
        for place, share in enumerate(DISTANCES):
            for way in sideways(leg):
                size = share * self.scene.reach
                away = (way[0] * size, way[1] * size, way[2] * size)
                x, y = self.view.flat(away)
                dx, dy = x * self.scale, -y * self.scale
                clear = abs(dx * (b[1] - a[1]) - dy * (b[0] - a[0])) / long
                if clear < 9.0:
                    continue
                found.append((60.0 * place - (dx * out[0] + dy * out[1]) / math.hypot(dx, dy), away))
        return [away for _, away in sorted(found)]

    def _balloon(self, figure: int, point: Triple) -> None:
        anchor = self.at(point)
        out = anchor[0] - self.middle[0], anchor[1] - self.middle[1]
        far = math.hypot(*out)
        normal = (out[0] / far, out[1] / far) if far > 1.0 else (0.0, -1.0)
        found = place_balloon(self.ground, anchor, normal, 4.0, BALLOON)
        x, y = found.centre[0] - anchor[0], found.centre[1] - anchor[1]
        self.balloons.append(
            Balloon(
                figure,
                f"translate({spot(anchor)})",
                self.data((point,)),
                number(x),
                number(y),
                number(y + 4.5),
                spot((found.edge[0] - anchor[0], found.edge[1] - anchor[1])),
            )
        )


def _axis_class(board: _Board, tip: Triple) -> str:
    """An axis that is seen end on has no room for its name."""
    return "end-on" if math.dist(board.at(tip, (0.0, 0.0, 0.0)), board.middle) < END_ON else ""


def _reading(start: Flat, end: Flat) -> float:
    """The turn at which words along a line are read from below or from the right [degrees]; ISO 129-1."""
    if math.dist(start, end) < 1.0:
        return 0.0
    turn = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    if turn > 89.9:
        return turn - 180.0
    return turn + 180.0 if turn < -90.1 else turn


def _triangle(tip: Flat, tail: Flat, length: float, half: float) -> str:
    far = math.dist(tip, tail)
    if far < 1.0:
        return ""
    x, y = (tail[0] - tip[0]) / far, (tail[1] - tip[1]) / far
    left = tip[0] + x * length - y * half, tip[1] + y * length + x * half
    right = tip[0] + x * length + y * half, tip[1] + y * length - x * half
    return f"M{spot(tip)}L{spot(left)}L{spot(right)}Z"
