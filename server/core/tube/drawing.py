"""The numbered drawing of a run, to scale, as plain values ready to be written as SVG.

Lines are told apart by class, never by colour alone; the conventions are those of ISO 128 (thick to thin 2:1,
chain lines for axes, dashes for what is hidden) and ISO 6433 (numbers in balloons on leaders).
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from server.core.tube import leg_words, marks
from server.core.tube.centreline import Arc, Centreline, PieceLine, dot, lay_out
from server.core.tube.outline import Cut, Sheet, centre_path, cut, number, outline, polygon, sections, spot
from server.core.tube.placing import Capsule, Ground, disc, place_balloon, place_word
from server.core.tube.run import JointKind, Origin, RunPlan
from server.core.tube.view import Flat, Poses, choose_view, poses_along
from server.core.units import INCH, Kind, System, show_text

WIDTH = 366.0
"""Width of the sheet, that of a phone's page [sheet units]."""
SIDE = 36.0
"""Room kept on either side of the run for its ports and the flow arrow [sheet units]."""
HIGH = 280.0
"""Most height that a run is drawn in [sheet units]."""
MOST_SCALE = 1100.0
"""Sheet units per metre: a short run is not blown up over this."""
BALLOON = 13.0
"""Radius of a balloon [sheet units]."""
TEXT = 13.0
"""Size of text [sheet units]."""
LETTER_WIDTH = 8.4
"""Room that a letter of that size takes [sheet units]."""
LONGEST_NAME = 26
"""Letters of a port's name on the sheet; the whole name is in the description."""
MARGIN = 4.0
"""Room left at either side of words and balloons [sheet units]."""
EDGE = 8.0
"""Room left above and below what is drawn [sheet units]."""
EMPTY_HEIGHT = 96.0
"""Height of the sheet of a run without pieces [sheet units]."""

VERDICT_CLASSES = {"no-go": "nogo", "tight": "tight", "not measured": "unmeasured"}
"""The classes of pieces and balloons by the worst verdict on them; `go` and none have no class."""
SHAPES = {"nogo": "square", "tight": "house"}
"""The shape of a balloon by class; all else is a circle."""
SCALE_BARS = {
    System.metric: (0.02, 0.05, 0.1, 0.2, 0.5, 1.0),
    System.inch: tuple(INCH * length for length in (1.0, 2.0, 4.0, 8.0, 12.0, 24.0, 48.0)),
}
"""Lengths that a scale bar may have [m]."""


@dataclass(frozen=True, slots=True)
class Path:
    """An SVG path and its classes."""

    d: str
    css: str


@dataclass(frozen=True, slots=True)
class Word:
    """Text on the sheet: its baseline point [sheet units], what to align there (start, middle, end), its
    class.
    """

    x: str
    y: str
    text: str
    anchor: str
    css: str


@dataclass(frozen=True, slots=True)
class Balloon:
    """A piece's number: centre [sheet units], shape (circle, square, house) and class by the verdict, if
    any.
    """

    number: int
    x: str
    y: str
    text_y: str
    shape: str
    css: str


@dataclass(frozen=True, slots=True)
class Key:
    """What a letter on the drawing stands for."""

    letter: str
    words: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """A run's drawing: `width` by `height` [sheet units] from `top` down, `scale` sheet units to the metre (0
    for an empty run).

    title, description: the drawing in words; notes: what it can't show true; keys: its letters; length: the
    run's length in words; paths in the order to paint them, then words and balloons.
    """

    width: str
    top: str
    height: str
    scale: float
    title: str
    description: str
    length: str = ""
    paths: tuple[Path, ...] = ()
    words: tuple[Word, ...] = ()
    balloons: tuple[Balloon, ...] = ()
    notes: tuple[str, ...] = ()
    keys: tuple[Key, ...] = ()


def draw(plan: RunPlan, verdicts: Mapping[int, str] | None = None, system: System = System.metric) -> Drawing:
    """The drawing of a run, to one scale, seen square on the plane it mostly lies in, flow from left to
    right.

    verdicts: the worst verdict word on a piece by its number; system: units of the amounts in words. Sizes
    that are missing are stood in for and said in `notes`; a run of no pieces gives an empty sheet that says
    so.
    """
    worst = {} if verdicts is None else verdicts
    line = lay_out(plan)
    title, description = leg_words.title(plan), leg_words.description(line, worst, system)
    if not line.pieces:
        word = Word(number(WIDTH / 2.0), number(EMPTY_HEIGHT / 2.0), "No pieces yet", "middle", "name")
        return Drawing(
            width=number(WIDTH),
            top="0",
            height=number(EMPTY_HEIGHT),
            scale=0.0,
            title=title,
            description=description,
            words=(word,),
        )
    poses = [poses_along(piece) for piece in line.pieces]
    sheet = _sheet(line, poses)
    board = _Board(plan, line, sheet, [sections(sheet, along) for along in poses], worst, system)
    board.fill()
    top, bottom = board.ground.highest() - EDGE, board.ground.lowest() + EDGE
    return Drawing(
        width=number(WIDTH),
        top=number(top),
        height=number(bottom - top),
        scale=sheet.scale,
        title=title,
        description=description,
        length=leg_words.length_words(line, system),
        paths=tuple(board.paths),
        words=tuple(board.words),
        balloons=tuple(board.balloons),
        notes=leg_words.notes(line, sheet.view),
        keys=tuple(Key(letter, leg_words.bung_words(at, letter)) for at, letter in leg_words.lettered(line)),
    )


def _sheet(line: Centreline, poses: Sequence[Poses]) -> Sheet:
    """The view at the largest scale that fits, mid-width, its top at y = 0; poses: along each piece."""
    wide = WIDTH - 2.0 * SIDE
    every = [pair for along in poses for pair in along]
    view, room = choose_view(line, every, wide, HIGH)
    scale = min(wide / max(room.width, 1e-6), HIGH / max(room.height, 1e-6), MOST_SCALE)
    left = (WIDTH - room.width * scale) / 2.0 - room.left * scale
    return Sheet(view, scale, (left, room.top * scale))


class _Board:
    """The sheet while it is being drawn: what was painted, and what room is left."""

    def __init__(
        self,
        plan: RunPlan,
        line: Centreline,
        sheet: Sheet,
        cuts: Sequence[Sequence[Cut]],
        worst: Mapping[int, str],
        system: System,
    ) -> None:
        """cuts: the sections along each piece."""
        self.plan, self.line, self.sheet, self.worst, self.system = plan, line, sheet, worst, system
        self.cuts = cuts
        self.ground = Ground(MARGIN, WIDTH - MARGIN, drawn=[part for along in cuts for part in _room(along)])
        self.paths: list[Path] = []
        self.words: list[Word] = []
        self.balloons: list[Balloon] = []
        self.tips = {index: marks.tip(plan, line, index) for index in range(len(line.pieces) + 1)}

    def fill(self) -> None:
        """Paint everything, the run itself first, then what needs to find room round it."""
        self._ports()
        self._pieces()
        self._joints()
        self._bungs()
        self._centre()
        spans = self._span()
        self._names()
        self._number()
        self._dimension(spans)
        self._foot()

    def _paint(self, css: str, *texts: str) -> None:
        text = "".join(texts)
        if text:
            self.paths.append(Path(text, css))

    def _ports(self) -> None:
        for index, port in ((0, self.plan.start), (len(self.line.pieces), self.plan.end)):
            if port is not None:
                stub, room = marks.port_stub(self.sheet, self.tips[index])
                self._paint("port", stub)
                self.ground.drawn.append(room)

    def _pieces(self) -> None:
        """What goes inside first, hoses over it, each from the far side of the view to the near."""

        def depth(seen: tuple[PieceLine, Sequence[Cut]]) -> tuple[bool, float]:
            piece, _ = seen
            near = dot(piece.pose_at(piece.length / 2.0).point, self.sheet.view.towards)
            return piece.piece.is_hose, round(near, 6)

        for piece, cuts in sorted(zip(self.line.pieces, self.cuts, strict=True), key=depth):
            names = ["wall"]
            names += ["hose"] if piece.piece.is_hose else []
            mock_up = piece.piece.origin is Origin.MOCK_UP
            names += ["mock-up"] if mock_up else ["assumed"] if piece.assumed else []
            verdict = VERDICT_CLASSES.get(self.worst.get(piece.piece.number, ""), "")
            names += [verdict] if verdict == "nogo" else []
            self._paint(" ".join(names), outline(self.sheet, piece, cuts))
            if marks.ribbed(piece.piece):
                sizes = piece.sizes
                self._paint(
                    "thin",
                    marks.ribs(self.sheet, piece.start, piece.length, sizes.outside_in, piece.piece.kind),
                )

    def _joints(self) -> None:
        beads, bands, plates, hidden = [], [], [], []
        for index, end in self.tips.items():
            joint = self.plan.joints[index] if index < len(self.plan.joints) else None
            if end.beaded and end.overlap > 0.0:
                beads.append(marks.bead(self.sheet, end))
            if end.overlap > 0.0 and end.hose_outside > 0.0:
                hidden.append(marks.tip_line(self.sheet, end))
            if joint is not None and marks.has_clamp(joint, end):
                band, room = marks.clamp(self.sheet, end)
                bands.append(band)
                self.ground.drawn.append(room)
            if joint is not None and joint.kind in {JointKind.FLANGE, JointKind.V_BAND}:
                plates.append(marks.plate(self.sheet, end, joint.kind))
        self._paint("hidden", *hidden)
        self._paint("bead", *beads)
        self._paint("clamp", *bands)
        self._paint("plate", *plates)

    def _bungs(self) -> None:
        outside = {piece.piece.number: piece.sizes.outside_in for piece in self.line.pieces}
        found = [
            (marks.bung_mark(self.sheet, place, outside[place.piece_number]), letter)
            for place, letter in leg_words.lettered(self.line)
        ]
        self._paint("bung", *(mark.d for mark, _ in found if not mark.hidden))
        self._paint("bung away", *(mark.d for mark, _ in found if mark.hidden))
        self.ground.drawn += [mark.room for mark, _ in found]
        for mark, letter in found:
            self._write(letter, mark.letter_spots, "letter")

    def _centre(self) -> None:
        before, after = (
            self.tips[index].overlap + (marks.STUB + 4.0) / self.sheet.scale
            for index in (0, len(self.line.pieces))
        )
        self._paint("centre", centre_path(self.sheet, self.line.pieces, before, after))
        arrow, room = marks.flow_arrow(self.sheet, self.tips[0])
        self._paint("flow", arrow)
        self.ground.solid.append(room)

    def _write(self, text: str, spots: Iterable[Flat], css: str) -> None:
        x, y = place_word(self.ground, spots, _word_length(text), TEXT + 2.0)
        self.words.append(Word(number(x), number(y + TEXT * 0.36), text, "middle", css))

    def _names(self) -> None:
        for index, port in ((0, self.plan.start), (len(self.line.pieces), self.plan.end)):
            if port is None:
                continue
            name = port.name if len(port.name) <= LONGEST_NAME else port.name[: LONGEST_NAME - 1] + "…"
            self._write(name, marks.name_spots(self.sheet, self.tips[index], _word_length(name)), "name")

    def _number(self) -> None:
        leaders, dots = [], []
        for piece in self.line.pieces:
            anchor, normal, clear = self._anchor(piece)
            found = place_balloon(self.ground, anchor, normal, clear, BALLOON)
            leaders.append(f"M{spot(anchor)}L{spot(found.edge)}")
            dots.append(f"M{spot(anchor)}h0")
            css = VERDICT_CLASSES.get(self.worst.get(piece.piece.number, ""), "")
            x, y = found.centre
            shape, text_y = SHAPES.get(css, "circle"), number(y + TEXT * 0.36)
            self.balloons.append(Balloon(piece.piece.number, number(x), number(y), text_y, shape, css))
        self._paint("leader", *leaders)
        self._paint("dot", *dots)

    def _anchor(self, piece: PieceLine) -> tuple[Flat, Flat, float]:
        """A point in the middle of what shows of a piece, the unit direction out of its bend or up, its
        radius.
        """
        low = 0.0 if piece.piece.is_hose else min(piece.overlap_in, piece.length / 2.0)
        high = piece.length - (0.0 if piece.piece.is_hose else min(piece.overlap_out, piece.length / 2.0))
        middle = (low + high) / 2.0
        at = cut(self.sheet, piece.pose_at(middle), piece.sizes.outside_in / 2.0)
        up = at.point(0.0, 1.0)
        normal = (up[0] - at.centre[0], up[1] - at.centre[1])
        arc = next((part for part in piece.stretches if isinstance(part, Arc)), None)
        if arc is not None:
            centre = self.sheet.at(arc.centre)
            outward = (at.centre[0] - centre[0]) * normal[0] + (at.centre[1] - centre[1]) * normal[1]
            normal = normal if outward >= 0.0 else (-normal[0], -normal[1])
        elif normal[1] > 0.0:
            normal = (-normal[0], -normal[1])
        return at.centre, normal, at.radius

    def _span(self) -> tuple[Flat, Flat] | None:
        """The two port faces, with room kept for the thin lines that run down from them to the dimension."""
        first = self.sheet.at(self.tips[0].pose.point)
        last = self.sheet.at(self.line.end.point)
        if last[0] - first[0] < 40.0:
            return None
        return first, last

    def _dimension(self, span: tuple[Flat, Flat] | None) -> None:
        """How far apart the ports' faces stand across the sheet, under everything else."""
        if span is None:
            return
        first, last = span
        y = self.ground.lowest() + 23.0
        a, b = first[0], last[0]
        flat = abs(first[1] - last[1]) < 0.5 and abs(b - a - self.line.length * self.sheet.scale) < 0.5
        text = show_text((b - a) / self.sheet.scale, Kind.length, self.system)
        about = "about " if self.line.assumed else ""
        text = leg_words.length_words(self.line, self.system) if flat else f"{about}{text} across"
        self._paint("thin", f"M{number(a)} {number(y - 9.0)}v13", f"M{number(b)} {number(y - 9.0)}v13")
        self._paint("thin", f"M{number(a)} {number(y)}H{number(b)}")
        heads = [
            polygon([(x + s * 8.0, y - 2.6), (x, y), (x + s * 8.0, y + 2.6)])
            for x, s in ((a, 1.0), (b, -1.0))
        ]
        self._paint("flow", *heads)
        self._write(text, [((a + b) / 2.0, y - 8.0)], "size")

    def _foot(self) -> None:
        """The scale bar at the left, the length along the centre line at the right."""
        y = self.ground.lowest() + 26.0
        along = f"centre line {leg_words.length_words(self.line, self.system)}"
        left = 8.0
        # Both stand on one line, with room for the longest words that a bar has.
        most = min(WIDTH * 0.3, WIDTH - 4.0 * left - _word_length(along) - _word_length("200.0 mm"))
        lengths = SCALE_BARS[self.system]
        fits = [length for length in lengths if length * self.sheet.scale <= most]
        length = fits[-1] if fits else lengths[0]
        long = length * self.sheet.scale
        self._paint("scale", f"M{number(left)} {number(y - 5.0)}v5h{number(long)}v-5")
        words = show_text(length, Kind.length, self.system)
        self.words.append(Word(number(left + long + 6.0), number(y), words, "start", "size"))
        self.words.append(Word(number(WIDTH - 8.0), number(y), along, "end", "size"))
        self.ground.solid.append(Capsule((left, y - 6.0), (WIDTH - left, y - 6.0), TEXT / 2.0))


def _word_length(text: str) -> float:
    return len(text) * LETTER_WIDTH + 4.0


def _room(cuts: Sequence[Cut]) -> list[Capsule]:
    """The room a piece takes: capsules along it that stop short of its faces, and one across each face."""
    found = [
        Capsule(first.centre, last.centre, max(first.radius, last.radius))
        for first, last in pairwise(cuts)
        if first.centre != last.centre
    ]
    if not found:
        return [disc(cuts[0].centre, cuts[0].radius)]
    found[0] = Capsule(_short(found[0].a, found[0]), found[0].b, found[0].radius)
    found[-1] = Capsule(found[-1].a, _short(found[-1].b, found[-1]), found[-1].radius)
    return found + [
        Capsule(face.point(0.0, face.radius), face.point(0.0, -face.radius), 1.0)
        for face in (cuts[0], cuts[-1])
    ]


def _short(end: Flat, stretch: Capsule) -> Flat:
    """One end of a stretch drawn in by its radius, but no further than its middle."""
    (ax, ay), (bx, by) = stretch.a, stretch.b
    middle = ((ax + bx) / 2.0, (ay + by) / 2.0)
    half = math.dist(end, middle)
    part = min(1.0, stretch.radius / half) if half > 0.0 else 0.0
    return end[0] + (middle[0] - end[0]) * part, end[1] + (middle[1] - end[1]) * part
