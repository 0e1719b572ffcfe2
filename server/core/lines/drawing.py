"""The line map drawn in one state: the layout filled with names, pressures, flow and marks.

Everything is told by the way a line is drawn and by a word beside it, nothing by colour. The same values are
written as SVG on a page and drawn on paper.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from server.core.lines.chart import AIR_PATH, Chart, Edge
from server.core.lines.layout import DEVICE, STROKE, Box, Laid, Run
from server.core.lines.ledger import Device, Line, LineMap, MeterPlace, Port, Valve
from server.core.lines.solve import Flow, LineFlow
from server.core.lines.states import Kind, Levels, level_words
from server.core.lines.symbols import DEVICES, SPACES, Sign, sign_of_check

NAME, SMALL, HEAD = 13.0, 12.0, 15.0
"""Heights of letters: of names, of words beside them, of a bar's name [sheet units]."""
LETTERS = {NAME: 0.62, SMALL: 0.56, HEAD: 0.62}
"""The width of a letter in its height, on the average of a wide typeface, bold and plain [-]."""
BALLOON = 14.0
"""Radius of the balloon with a line's number [sheet units]."""
MARK = 20.0
"""Side of the square with the letter of what is wrong [sheet units]."""
EDGE = 8.0


class Press(StrEnum):
    """How a line's pressure stands to the open air's; the value is the word beside it."""

    ABOVE = "pressure"
    BELOW = "vacuum"
    LEVEL = "as the open air"
    UNSURE = "pressure not known"


CLASS = {Press.ABOVE: "above", Press.BELOW: "below", Press.LEVEL: "level", Press.UNSURE: "unsure"}
"""How each is drawn."""
FLOWS = {
    Flow.FORWARD: "flows",
    Flow.BACKWARD: "flows",
    Flow.STILL: "still",
    Flow.EITHER: "either way",
    Flow.NOT_KNOWN: "flow not known",
}


@dataclass(frozen=True, slots=True)
class Stroke:
    """A path with its class, round the point x, y."""

    css: str
    d: str
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True, slots=True)
class Word:
    """Words from a point: their class, which says how large they are and how they stand to it."""

    css: str
    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Item:
    """One thing of the drawing. key: as on the chart. area: of a line, where a tap means it."""

    key: str
    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]
    area: tuple[float, float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Picture:
    """A family's drawing, or a piece of it that begins at `top`."""

    title: str
    width: float
    height: float
    items: tuple[Item, ...]
    top: float = 0.0


@dataclass(frozen=True, slots=True)
class Seen:
    """What a map is in one state. levels: of its spaces. marks: the letter of what is wrong with a thing, by
    its key.
    """

    map: LineMap
    levels: Mapping[int, Levels]
    flows: Mapping[int, LineFlow]
    marks: Mapping[str, str]


def press_of(line_map: LineMap, levels: Mapping[int, Levels], line: Line) -> Press:
    """How a line's pressure stands to the open air's, by the spaces at both its ends. Definition."""
    ends = [line_map.outside if end is None else line_map.port_of[end].region for end in line.ends]
    least, most = (pick(levels[end][place] for end in ends) for place, pick in ((0, min), (1, max)))
    return _press((least, most))


def _press(levels: Levels) -> Press:
    least, most = levels
    if least == most == 0:
        return Press.LEVEL
    if least >= 0:
        return Press.ABOVE
    return Press.BELOW if most <= 0 else Press.UNSURE


def draw(chart: Chart, laid: Laid, seen: Seen) -> Picture:
    """A chart's drawing in one state. Definition."""
    pen = _Pen(chart, seen)
    items = [pen.passed(y, upper, lower) for y, upper, lower in laid.passes]
    items += [pen.box(box) for box in laid.boxes]
    items += [pen.run(run) for run in laid.runs]
    return Picture(str(chart.family), laid.width, laid.height, tuple(items), laid.top)


def fitted(text: str, room: float, size: float, lines: int = 1) -> tuple[str, ...]:
    """Words broken into lines that have room [sheet units]; what is too much ends with a dot row."""
    most = max(int(room / (LETTERS[size] * size)), 2)
    found: list[str] = []
    for word in text.split() or [""]:
        if found and len(found[-1]) + 1 + len(word) <= most:
            found[-1] += f" {word}"
        else:
            found.append(word)
    kept = found[:lines]
    if len(found) > lines:
        kept[-1] = f"{kept[-1]}…"
    return tuple(one if len(one) <= most else f"{one[: most - 1].rstrip('…')}…" for one in kept)


class _Pen:
    """Draws one chart's things."""

    def __init__(self, chart: Chart, seen: Seen) -> None:
        self.seen, self.map = seen, seen.map
        self.lines: dict[str, Line] = {f"line.{one.id}": one for one in self.map.lines}
        self.valves: dict[str, Valve] = {f"valve.{one.id}": one for one in self.map.valves}
        self.edges: dict[str, Edge] = {one.key: one for one in chart.edges}

    # bars and boxes

    def box(self, box: Box) -> Item:
        outline = Stroke(box.part, f"M{box.x:g} {box.y:g}h{box.width:g}v{box.height:g}h{-box.width:g}z")
        if box.part in {"rail", "shelf"}:
            return Item(box.key, (outline,), ())
        sort = box.key.partition(".")[0]
        if sort in {"loose", "port"}:
            return self._end(box)
        if box.part == "box" and sort == "valve":
            return self._device(box, outline)
        return self._space(box, outline)

    def _space(self, box: Box, outline: Stroke) -> Item:
        x, mark = box.x + EDGE, self._mark(box.key, box.x + box.width - MARK - EDGE, box.y + 6.0)
        strokes = [outline, *mark[0]]
        words = list(mark[1])
        kind = self._kind(box.key)
        sign = SPACES.get(kind) if box.part == "box" and kind is not None else None
        if sign is not None:
            strokes += _signed(sign, box.x + STROKE, box.y + box.height / 2.0)
            x = box.x + STROKE + 24.0
        room = box.x + box.width - x - EDGE - (MARK if mark[0] else 0.0)
        if box.part == "again":
            where = fitted(self.name(box.key), room, NAME)[0]
            return Item(box.key, (outline,), (Word("name", x, box.y + 23.0, where),))
        css, size = ("head", HEAD) if box.part == "bar" else ("name", NAME)
        words.append(Word(css, x, box.y + 20.0, fitted(self.name(box.key), room, size)[0]))
        words.append(Word("small", x, box.y + 38.0, self._stands(box.key, room)))
        return Item(box.key, tuple(strokes), tuple(words))

    def _stands(self, key: str, room: float) -> str:
        """Where a space's pressure stands, in as many words as there is room for."""
        sort, _, number = key.partition(".")
        if sort != "region":
            return self._device_words(key)
        levels = self.seen.levels[int(number)]
        words = level_words(levels)
        return words if len(words) * LETTERS[SMALL] * SMALL <= room else _press(levels).value

    def _device(self, box: Box, outline: Stroke) -> Item:
        valve = self.valves[box.key]
        middle = box.y + DEVICE / 2.0
        marked, letter = self._mark(box.key, box.x + box.width - MARK - EDGE, box.y + 6.0)
        sign = self._sign(valve, box)
        strokes = [outline, *marked, *(_signed(sign, box.x + STROKE, middle) if sign else ())]
        x = box.x + (STROKE + 24.0 if sign else EDGE)
        room = box.x + box.width - x - EDGE
        words = [
            *letter,
            Word("name", x, box.y + 18.0, fitted(valve.name, room - len(marked) * MARK, NAME)[0]),
        ]
        told = (valve.kind.value, self._fitting(valve, box))
        words += [
            Word("small", x, box.y + 34.0 + 15.0 * row, fitted(text, room, SMALL)[0])
            for row, text in enumerate(told)
            if text
        ]
        if len(box.pins) > 1:
            words += [
                Word(
                    "small", at + 6.0, box.y + box.height - 5.0, _side_words(valve, self._side(edge, box.key))
                )
                for edge, at in box.pins
            ]
        return Item(box.key, tuple(strokes), tuple(words))

    def _sign(self, valve: Valve, box: Box) -> Sign | None:
        if valve.kind is not Device.CHECK:
            return DEVICES.get(valve.kind)
        return sign_of_check(self._passes_down(valve, box))

    def _passes_down(self, valve: Valve, box: Box) -> bool:
        return (self._side(box.over, box.key) == 0) is not (valve.forward is False)

    def _fitting(self, valve: Valve, box: Box) -> str:
        """How a device is fitted, where its symbol does not say so."""
        if valve.forward is None:
            return "way not known"
        if valve.kind is Device.CHECK:
            return f"passes {'down' if self._passes_down(valve, box) else 'up'}"
        if len(box.pins) > 1:
            return f"above: {_side_words(valve, self._side(box.over, box.key))}"
        return "" if valve.forward else "turned round"

    def _side(self, edge: str, node: str) -> int | None:
        """The side of a device at which an edge ends."""
        found = self.edges[edge]
        return found.sides[0] if found.one == node else found.sides[1]

    def _end(self, box: Box) -> Item:
        """An open point, or an end that hangs loose: a line with its end in the air."""
        x, y = box.x + STROKE, box.y
        loose = box.key.startswith("loose.")
        marked, letter = ([], []) if loose else self._mark(box.key, box.x + 1.0, y + 8.0)
        text = "hangs loose" if loose else f"open: {self.name(box.key)}"
        room = box.width - STROKE - 16.0
        rows = fitted(text, room, NAME, 2)
        words = [Word("name", x + 16.0, y + 14.0 + 15.0 * row, one) for row, one in enumerate(rows)]
        return Item(
            box.key, (Stroke("thin", f"M{x - 8:g} {y:g}l8 8l8-8m-16 5l8 8l8-8"), *marked), (*letter, *words)
        )

    # lines

    def run(self, run: Run) -> Item:
        line = self.lines.get(run.key)
        if line is None:
            css = "worked" if run.key.startswith("worked.") else "level"
            return Item(run.key, (Stroke(css, f"M{run.x:g} {run.top:g}V{run.bottom:g}"),), ())
        press = press_of(self.map, self.seen.levels, line)
        flow = self.seen.flows[line.id].flow
        path = f"M{run.x:g} {run.top:g}V{run.bottom:g}"
        marked, letter = self._mark(run.key, run.left + 1.0, run.top + 46.0)
        strokes = [Stroke("bad", path)] if marked else []
        strokes += [Stroke(CLASS[press], path), *marked, *_arrows(flow, run)]
        words = [*letter, *self._told(line, press, flow, run)]
        if line.tag:
            strokes.append(
                Stroke(
                    "balloon", f"M{-BALLOON:g} 0a14 14 0 1 0 28 0a14 14 0 1 0 -28 0z", run.x, run.top + 23.0
                )
            )
            words.append(Word("number", run.x, run.top + 28.0, str(line.tag)))
        area = (run.left, run.top, run.right - run.left, min(run.bottom - run.top, 80.0))
        return Item(run.key, tuple(strokes), tuple(words), area)

    def _told(self, line: Line, press: Press, flow: Flow, run: Run) -> list[Word]:
        x = run.x + BALLOON + 6.0
        name = fitted(line.name, run.right - x, NAME, 2)
        rows = [("name", one) for one in name]
        rows += [("small", press.value), ("small", FLOWS[flow])]
        return [Word(css, x, run.top + 18.0 + 15.0 * row, text) for row, (css, text) in enumerate(rows)]

    # words

    def _mark(self, key: str, x: float, y: float) -> tuple[list[Stroke], list[Word]]:
        """The square with the letter of what is wrong; nothing where nothing is."""
        letter = self.seen.marks.get(key)
        if letter is None:
            return [], []
        return (
            [Stroke("mark", f"M{x:g} {y:g}h{MARK:g}v{MARK:g}h{-MARK:g}z")],
            [Word("letter", x + MARK / 2.0, y + 15.0, letter)],
        )

    def passed(self, y: float, upper: str, lower: str) -> Item:
        """What the engine's air passes between two bars; nothing where it does not go that way."""
        text = _between(self._kind(upper), self._kind(lower), self.map.meter)
        if not text:
            return Item("", (), ())
        arrow = Stroke("flow", "M-6 4h4v8h-4l6 10l6 -10h-4v-8h-4z", 8.0, y)
        return Item("", (arrow,), (Word("passed", 364.0, y + 19.0, text),))

    def _kind(self, key: str) -> Kind | None:
        sort, _, number = key.partition(".")
        return self.map.region_of[int(number)].kind if sort == "region" else None

    def name(self, key: str) -> str:
        """What a node is called."""
        sort, _, number = key.partition(".")
        if sort == "region":
            return self.map.region_of[int(number)].name.removeprefix("the ")
        if sort == "valve":
            return self.valves[key].name
        if sort == "port":
            port: Port = self.map.port_of[int(number)]
            return port.name
        return "a loose end"

    def _device_words(self, key: str) -> str:
        valve = self.valves.get(key)
        return valve.kind.value if valve is not None else ""


def _between(upper: Kind | None, lower: Kind | None, meter: MeterPlace | None) -> str:
    if upper not in AIR_PATH or lower not in AIR_PATH:
        return ""
    if lower is Kind.INTAKE:
        return "filter" if meter is not MeterPlace.BEFORE_COMPRESSOR else "air meter"
    return {
        Kind.CHARGE: "compressor",
        Kind.AFTER_METER: "air meter",
        Kind.MANIFOLD: "throttle",
        Kind.EXHAUST: "cylinders",
    }.get(lower, "")


def _side_words(valve: Valve, side: int | None) -> str:
    if side == -1:
        return "signal"
    words = ("common", "at rest", "driven") if valve.kind is Device.THREE_WAY else ("inlet", "outlet")
    return words[side] if side is not None and side < len(words) else ""


def _signed(sign: Sign, x: float, y: float) -> list[Stroke]:
    lines = Stroke("thin", sign.lines, x, y)
    return [lines, Stroke("flow", sign.filled, x, y)] if sign.filled else [lines]


def _arrows(flow: Flow, run: Run) -> list[Stroke]:
    """Which way a line flows, under its balloon: a head, two, a bar for still, an open ring for not known."""
    y = run.top + 58.0
    down = "M-8 -7h16l-8 14z"
    up = "M-8 7h16l-8 -14z"
    if flow is Flow.STILL:
        return [Stroke("stop", "M-8 0h16", run.x, y)]
    if flow is Flow.NOT_KNOWN:
        return [Stroke("ring", "M-6 0a6 6 0 1 0 12 0a6 6 0 1 0 -12 0z", run.x, y)]
    if flow is Flow.EITHER:
        return [Stroke("flow", up, run.x, y - 8.0), Stroke("flow", down, run.x, y + 8.0)]
    goes_down = (flow is Flow.FORWARD) is run.down
    return [Stroke("flow", down if goes_down else up, run.x, y)]
