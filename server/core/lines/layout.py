"""Where everything of a line map stands on its drawing.

Spaces of the engine are bars across the sheet, one under the other as the air passes them; from each bar
its lines hang down, side by side in a few columns, every line straight with its name beside it. A space that
is met again elsewhere is drawn once more, small. So nothing crosses, and the sheet is never wider than a
phone, however many lines there are. Source: definition (a forest of trees, each child under its parent).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache

from server.core.lines.chart import Chart, Edge

RAIL, COLUMN = 12.0, 180.0
"""The width of the rail that feeds further shelves of a bar, and of a column [sheet units]."""
STROKE, GAP = 30.0, 4.0
"""How far a line stands from its column's left edge, and boxes from its right [sheet units]."""
BAR, SHELF, BETWEEN, BELOW = 48.0, 8.0, 28.0, 16.0
"""Heights of a bar and of a further shelf; room between bars and under a shelf [sheet units]."""
LINE, DEVICE, PINS, BOX, AGAIN, STUB, END = 80.0, 60.0, 17.0, 48.0, 36.0, 20.0, 34.0
"""Heights of what hangs: line, device, the words of its pins, space, one met again, bare joint, open end."""
HUB = 4
"""A space or device where so many lines meet is a bar too."""
DEEPEST = 12
"""After so many lines, one under the other, what is next becomes a bar too."""


@dataclass(frozen=True, slots=True)
class Box:
    """A node's place. part: bar, rail, shelf, box or again. pins: of a device, the edges under it, as
    (edge, x); over: the edge that it hangs from, empty for a bar.
    """

    key: str
    part: str
    x: float
    y: float
    width: float
    height: float
    over: str = ""
    pins: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Run:
    """An edge's place: straight down from `top` to `bottom`. down: its first end is the upper one.

    left, right: of the column that its words stand in.
    """

    key: str
    x: float
    top: float
    bottom: float
    down: bool
    left: float
    right: float


@dataclass(frozen=True, slots=True)
class Laid:
    """A chart put on a sheet. passes: where one bar follows another: how far down, the upper, the lower.

    top: how far down it begins, where it is a piece of a longer one.
    """

    width: float
    height: float
    boxes: tuple[Box, ...]
    runs: tuple[Run, ...]
    passes: tuple[tuple[float, str, str], ...]
    top: float = 0.0


@dataclass(frozen=True, slots=True)
class _Branch:
    """An edge and what hangs from it. again: its node is drawn elsewhere, or anew at each line."""

    edge: Edge
    node: str
    again: bool = False
    hangs: tuple["_Branch", ...] = ()

    @property
    def width(self) -> int:
        return max(1, sum(one.width for one in self.hangs))

    @property
    def height(self) -> float:
        return _run(self.edge) + self.own + max((one.height for one in self.hangs), default=0.0)

    @property
    def own(self) -> float:
        """The height of its node."""
        if _is_end(self.node):
            return END
        if self.again:
            return AGAIN
        return BOX if self.node.startswith("region.") else DEVICE + (PINS if len(self.hangs) > 1 else 0.0)

    def ends(self) -> Iterator[str]:
        """The nodes at its lower ends that are drawn elsewhere."""
        if self.again:
            yield self.node
        for one in self.hangs:
            yield from one.ends()


@dataclass(frozen=True, slots=True)
class _Section:
    """A bar and what hangs from it."""

    node: str
    branches: list[_Branch] = field(default_factory=list)


def _is_end(node: str) -> bool:
    """Whether it is an open point or a loose end, not a thing."""
    return node.startswith(("loose.", "port."))


def _run(edge: Edge) -> float:
    return LINE if edge.key.startswith("line.") else STUB


@lru_cache(maxsize=256)
def lay_out(chart: Chart, columns: int = 2) -> Laid:
    """A chart in a few columns, always the same for the same chart. columns: at least 2. Definition."""
    sheet = _Sheet(columns)
    sections = _sections(chart, columns)
    for place, section in enumerate(sections):
        following = sections[place + 1].node if place + 1 < len(sections) else ""
        sheet.put(section, following)
    return sheet.laid()


def _sections(chart: Chart, columns: int) -> list[_Section]:
    forest = _Forest(chart, columns)
    ranked = sorted((node.rank, node.key) for node in chart.nodes if node.rank is not None)
    hubs = (node.key for node in chart.nodes if node.rank is None and node.key in forest.bars)
    for key in (*(key for _, key in ranked), *hubs):
        forest.section(key)
    forest.finish()
    for edge in chart.edges:  # what hangs on no bar
        if edge.key not in forest.used:
            forest.section(min(edge.one, edge.other, key=lambda end: (end in forest.anew, _is_end(end), end)))
            forest.finish()
    return forest.sections


class _Forest:
    """Takes a chart apart into trees."""

    def __init__(self, chart: Chart, columns: int) -> None:
        self.columns = columns
        self.anew = {node.key for node in chart.nodes if node.anew}
        self.at: dict[str, list[Edge]] = {}
        for edge in chart.edges:
            for end in {edge.one, edge.other}:
                self.at.setdefault(end, []).append(edge)
        self.bars = {
            node.key
            for node in chart.nodes
            if not node.anew and (node.rank is not None or len(self.at[node.key]) >= HUB)
        }
        self.drawn: set[str] = set(self.bars)
        self.used: set[str] = set()
        self.deep: list[str] = []
        self.sections: list[_Section] = []

    def section(self, node: str) -> None:
        """A bar with all that hangs from it and is not drawn yet."""
        self.drawn.add(node)
        found = _Section(node)
        self.sections.append(found)
        found.branches.extend(self._hanging(node))

    def finish(self) -> None:
        """A bar for each space that hung too deep."""
        while self.deep:
            self.section(self.deep.pop(0))

    def _hanging(self, node: str, depth: int = 0) -> list[_Branch]:
        return [self._grown(edge, node, depth) for edge in self.at[node] if edge.key not in self.used]

    def _grown(self, edge: Edge, node: str, depth: int) -> _Branch:
        self.used.add(edge.key)
        far = edge.far(node)
        if far in self.anew or far in self.drawn:
            return _Branch(edge, far, again=True)
        self.drawn.add(far)
        if depth == DEEPEST and not _is_end(far):
            self.deep.append(far)
            return _Branch(edge, far, again=True)
        return self._fitted(_Branch(edge, far, hangs=tuple(self._hanging(far, depth + 1))))

    def _fitted(self, branch: _Branch) -> _Branch:
        """No wider than the sheet: the widest of what hangs becomes a bar of its own."""
        while branch.width > self.columns:
            widest = max(branch.hangs, key=lambda one: one.width)
            self.sections.append(_Section(widest.node, list(widest.hangs)))
            short = _Branch(widest.edge, widest.node, again=True)
            hangs = tuple(short if one is widest else one for one in branch.hangs)
            branch = _Branch(branch.edge, branch.node, hangs=hangs)
        return branch


class _Sheet:
    """Puts sections one under the other."""

    def __init__(self, columns: int) -> None:
        self.columns = columns
        self.width = RAIL + columns * COLUMN
        self.y = 0.0
        self.boxes: list[Box] = []
        self.runs: list[Run] = []
        self.passes: list[tuple[float, str, str]] = []

    def put(self, section: _Section, following: str) -> None:
        """A bar, its shelves, and the room to the next bar. following: that bar's node, empty for none."""
        top = self.y
        self.boxes.append(Box(section.node, "bar", 0.0, top, self.width, BAR))
        self.y += BAR
        shelves = _shelves(section.branches, self.columns, following)
        for place, shelf in enumerate(shelves):
            if place:
                self.boxes.append(Box(section.node, "shelf", RAIL, self.y, self.width - RAIL, SHELF))
                self.y += SHELF
            last = place == len(shelves) - 1
            self._shelf(shelf, following if last else "")
        if len(shelves) > 1:
            foot = max(box.y + box.height for box in self.boxes if box.part == "shelf")
            self.boxes.append(Box(section.node, "rail", 0.0, top + BAR, RAIL, foot - top - BAR))
        if following:
            self.passes.append((self.y, section.node, following))
            self.y += BETWEEN

    def _shelf(self, shelf: list[_Branch], following: str) -> None:
        """following: the bar that stands under this shelf, on which lines may end."""
        foot = self.y + max((one.height for one in shelf), default=0.0) + BELOW
        column = 0
        for branch in shelf:
            self._branch(branch, column, self.y, following, foot + BETWEEN)
            column += branch.width
        self.y = foot

    def _branch(self, branch: _Branch, column: int, top: float, following: str, bar_at: float) -> None:
        left = RAIL + column * COLUMN
        right = left + branch.width * COLUMN - GAP
        ends_on_bar = branch.again and branch.node == following
        bottom = bar_at if ends_on_bar else top + _run(branch.edge)
        down = branch.edge.other == branch.node
        self.runs.append(Run(branch.edge.key, left + STROKE, top, bottom, down, left, left + COLUMN - GAP))
        if ends_on_bar:
            return
        pins, place = [], column
        for one in branch.hangs:
            pins.append((one.edge.key, RAIL + place * COLUMN + STROKE))
            self._branch(one, place, bottom + branch.own, following, bar_at)
            place += one.width
        part = "again" if branch.again else "box"
        self.boxes.append(
            Box(branch.node, part, left, bottom, right - left, branch.own, branch.edge.key, tuple(pins))
        )

    def laid(self) -> Laid:
        return Laid(self.width, self.y, tuple(self.boxes), tuple(self.runs), tuple(self.passes))


def _shelves(branches: Iterable[_Branch], columns: int, following: str) -> list[list[_Branch]]:
    """What hangs from a bar, high ones first, those that end on the next bar in the last shelf."""
    ordered = sorted(branches, key=lambda one: (following in one.ends(), -one.height))
    shelves: list[list[_Branch]] = []
    free = 0
    for branch in ordered:
        if branch.width > free:
            shelves.append([])
            free = columns
        shelves[-1].append(branch)
        free -= branch.width
    return shelves
