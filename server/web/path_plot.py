"""Two curves along a path, one panel over the other: stations named on top, ends and extremes called out.

Machines stand as columns, runs between them; a stretch that is not known is dashed. Coordinates are those of
the drawing, y downward, ready for the template that draws them.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from math import ceil, floor

from server.web.plot import Scale, Tick, round_scale

WIDTH, HEIGHT = 400.0, 420.0
LEFT, RIGHT = 46.0, 390.0
UPPER_TOP, UPPER_BOTTOM = 62.0, 222.0
LOWER_TOP, LOWER_BOTTOM = 258.0, 388.0
MACHINE_ROW, RUN_ROW = 14.0, 31.0
Pair = tuple[float, float]
LETTER = 6.7
"""Width of a letter, as good as any guess: names are moved apart by it."""
BOLD_LETTER = 7.9
"""The same of a value that is called out."""
LINE = 15.0
"""Height of a line of text."""
ABOVE, BELOW = -9.0, 19.0
"""Where a value stands from its point."""
GAP = 8.0
HEADROOM = 0.2
"""Room over the highest point and under the lowest, for their values, of the span between them."""


@dataclass(frozen=True, slots=True)
class Leg:
    """One step of the path. share: of the whole width. upper, lower: values at its ends, in the units of
    their panel; their doubts likewise. sure: false where it is not known or taken; note: then why, in two or
    three words.
    """

    place: str
    machine: bool
    share: float
    upper: tuple[float, float]
    upper_doubt: tuple[float, float]
    lower: tuple[float, float]
    lower_doubt: tuple[float, float]
    sure: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class Named:
    """A name over the drawing, with a line down to what it names."""

    x: float
    y: float
    text: str
    at: float


@dataclass(frozen=True, slots=True)
class Upright:
    """Words that stand upright in a stretch; `anchor` is the end of them that is held."""

    x: float
    y: float
    anchor: str
    text: str


@dataclass(frozen=True, slots=True)
class Called:
    """A value written beside a point."""

    x: float
    y: float
    text_x: float
    text_y: float
    text: str


@dataclass(frozen=True, slots=True)
class Panel:
    """One curve over the path: solid and dashed lines, the band of its doubt, and points called out."""

    title: str
    top: float
    bottom: float
    zero: float | None
    ticks: tuple[Tick, ...]
    band: str
    solid: tuple[str, ...]
    dashed: tuple[str, ...]
    called: tuple[Called, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A machine's column."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class PathPlot:
    """Everything that the template draws."""

    title: str
    description: str
    columns: tuple[Column, ...]
    borders: tuple[float, ...]
    names: tuple[Named, ...]
    notes: tuple[Upright, ...]
    upper: Panel
    lower: Panel
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT


@dataclass(frozen=True, slots=True)
class Axis:
    """What a panel shows: its title, how a value is written out, and the least span of its scale.

    zero: whether a line stands at zero, which the scale then holds.
    """

    title: str
    unit: str
    decimals: int
    least_span: float
    zero: bool = False

    def write(self, value: float) -> str:
        """A value with its unit, e.g. "-2.5 kPa" with a proper minus."""
        text = f"{value:.{self.decimals}f}"
        text = "0" if float(text) == 0.0 else text
        return f"{text.replace('-', '−')} {self.unit}"


def draw_path(title: str, description: str, legs: Sequence[Leg], upper: Axis, lower: Axis) -> PathPlot:
    """legs: in flow direction, at least one; their shares add up to 1."""
    edges = [LEFT]
    for leg in legs:
        edges.append(edges[-1] + leg.share * (RIGHT - LEFT))
    spans = [(round(start, 1), round(end, 1)) for start, end in pairwise(edges)]
    groups = [
        (key, [spans[number] for number, _ in members])
        for key, members in groupby(enumerate(legs), key=lambda one: (one[1].place, one[1].machine))
    ]
    machines = [(name, of[0][0], of[-1][1]) for (name, machine), of in groups if machine]
    runs = [(name, of[0][0], of[-1][1]) for (name, machine), of in groups if not machine]
    upper_panel = _panel(
        upper, UPPER_TOP, UPPER_BOTTOM, spans, [(leg.upper, leg.upper_doubt, leg.sure) for leg in legs]
    )
    return PathPlot(
        title=title,
        description=description,
        columns=tuple(Column(start, round(end - start, 1)) for _, start, end in machines),
        borders=tuple(start for leg, (start, _) in zip(legs, spans, strict=True) if not leg.machine),
        names=(*_names(machines, MACHINE_ROW), *_names(runs, RUN_ROW)),
        notes=_notes(legs, spans, upper_panel),
        upper=upper_panel,
        lower=_panel(
            lower, LOWER_TOP, LOWER_BOTTOM, spans, [(leg.lower, leg.lower_doubt, True) for leg in legs]
        ),
    )


def _names(places: Sequence[tuple[str, float, float]], y: float) -> tuple[Named, ...]:
    """Names over the middles of their places, moved apart where they would run into each other."""
    middles = [round(0.5 * (start + end), 1) for _, start, end in places]
    halves = [0.5 * LETTER * len(name) for name, _, _ in places]
    at = list(middles)
    edge = 2.0
    for number, half in enumerate(halves):
        at[number] = max(at[number], edge + half)
        edge = at[number] + half + GAP
    edge = WIDTH - 2.0
    for number in reversed(range(len(halves))):
        at[number] = min(at[number], edge - halves[number])
        edge = at[number] - halves[number] - GAP
    return tuple(
        Named(round(x, 1), y, name, middle)
        for x, (name, _, _), middle in zip(at, places, middles, strict=True)
    )


def _notes(legs: Sequence[Leg], spans: Sequence[Pair], panel: Panel) -> tuple[Upright, ...]:
    """Each note in the middle of its stretch, in the half of the panel that the curve leaves free."""
    found = []
    lines = [spot for line in (*panel.solid, *panel.dashed) for spot in line.split()]
    at = {float(x): float(y) for x, y in (spot.split(",") for spot in lines)}
    half = 0.5 * (panel.top + panel.bottom)
    for leg, (start, end) in zip(legs, spans, strict=True):
        if leg.note:
            high = at[end] < half
            y, anchor = (panel.bottom - 8.0, "start") if high else (panel.top + 8.0, "end")
            found.append(Upright(round(0.5 * (start + end) + 4.0, 1), y, anchor, leg.note))
    return tuple(found)


def _panel(
    axis: Axis,
    top: float,
    bottom: float,
    spans: Sequence[Pair],
    curve: Sequence[tuple[Pair, Pair, bool]],
) -> Panel:
    reach = [
        value + side * doubt
        for pairs in curve
        for value, doubt in zip(*pairs[:2], strict=True)
        for side in (-1.0, 1.0)
    ]
    scale = _scale(axis, reach)

    def y(value: float) -> float:
        return round(bottom - (bottom - top) * min(max(scale.share(value), 0.0), 1.0), 1)

    def point(x: float, value: float) -> str:
        return f"{x:g},{y(value):g}"

    upper, lower = [], []
    for (start, end), (values, doubts, _) in zip(spans, curve, strict=True):
        for x, value, doubt in ((start, values[0], doubts[0]), (end, values[1], doubts[1])):
            upper.append(point(x, value + doubt))
            lower.append(point(x, value - doubt))
    lines: dict[bool, list[str]] = {True: [], False: []}
    for sure, members in groupby(zip(spans, curve, strict=True), key=lambda one: one[1][2]):
        drawn = [
            point(x, value) for span, (values, _, _) in members for x, value in zip(span, values, strict=True)
        ]
        lines[sure].append(" ".join(dict.fromkeys(drawn)))
    doubtful = any(max(doubts) > 0.0 for _, doubts, _ in curve)
    return Panel(
        title=axis.title,
        top=top,
        bottom=bottom,
        zero=y(0.0) if axis.zero else None,
        ticks=tuple(Tick(y(mark), f"{round(mark, 9):g}".replace("-", "−")) for mark in _marks(scale)),
        band=" ".join([*upper, *reversed(lower)]) if doubtful else "",
        solid=tuple(lines[True]),
        dashed=tuple(lines[False]),
        called=_called(axis, spans, [(values, sure) for values, _, sure in curve], y),
    )


def _marks(scale: Scale) -> tuple[float, ...]:
    """Round numbers on a scale that need not begin with one."""
    first, last = ceil(scale.low / scale.step), floor(scale.high / scale.step)
    return tuple(number * scale.step for number in range(first, last + 1))


def _scale(axis: Axis, values: Sequence[float]) -> Scale:
    """Just wide enough for the curve and the values called out on it; its marks stand at round numbers."""
    low, high = min(values), max(values)
    if axis.zero:
        low, high = min(low, 0.0), max(high, 0.0)
    short = max(axis.least_span - (high - low), 0.0)
    low, high = (low, high + short) if axis.zero else (low - 0.5 * short, high + 0.5 * short)
    room = HEADROOM * (high - low)
    return Scale(low - room, high + room, round_scale(low, high, 5).step)


def _called(
    axis: Axis, spans: Sequence[Pair], curve: Sequence[tuple[Pair, bool]], y: Callable[[float], float]
) -> tuple[Called, ...]:
    """The highest and the lowest point that is known, and both ends.

    A value that is told once is not told again.
    """
    spots = [
        (x, value)
        for span, (values, sure) in zip(spans, curve, strict=True)
        for x, value in zip(span, values, strict=True)
        if sure
    ]
    if not spots:
        return ()
    highest, lowest = max(spots, key=lambda spot: spot[1]), min(spots, key=lambda spot: spot[1])
    found: list[Called] = []
    for (x, value), above in ((highest, True), (lowest, False), (spots[-1], False), (spots[0], True)):
        text = axis.write(value)
        if any(text == one.text for one in found):
            continue
        at, half = y(value), 0.5 * BOLD_LETTER * len(text)
        held = round(min(max(x, LEFT + half + 6.0), RIGHT - half - 2.0), 1)
        for rise in (ABOVE, BELOW) if above else (BELOW, ABOVE):
            called = Called(x, at, held, round(at + rise, 1), text)
            if all(_apart(called, one) for one in found):
                found.append(called)
                break
    return tuple(found)


def _apart(called: Called, other: Called) -> bool:
    """Whether two values can be read beside each other."""
    wide = 0.5 * BOLD_LETTER * (len(called.text) + len(other.text))
    return abs(called.text_x - other.text_x) > wide or abs(called.text_y - other.text_y) > LINE
