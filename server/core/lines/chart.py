"""What the drawing of a line map is made of: a chart of nodes and edges for each family of media.

Only what hangs on what, no names and no states, so that one layout serves every state of the engine and
every change of a word. A junction at one side of one device is no node of its own: its lines end at the
device. Source: definition.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from server.core.lines.ledger import Device, Family, LineMap, Port, Valve, family_of
from server.core.lines.states import Kind

AIR_PATH = (
    Kind.BEFORE_METER,
    Kind.INTAKE,
    Kind.CHARGE,
    Kind.AFTER_METER,
    Kind.MANIFOLD,
    Kind.EXHAUST,
)
"""The spaces that the engine's air passes, in its order."""
BARS = (
    *AIR_PATH,
    Kind.OIL_GALLERY,
    Kind.SUMP,
    Kind.PUMP_OUT,
    Kind.PUMP_IN,
    Kind.FUEL_SUPPLY,
    Kind.FUEL_RETURN,
    Kind.HARNESS,
)
"""Kinds of space that are drawn as bars with lines hanging from them, from top to bottom."""

_OF_DEVICE = {
    Device.BEARING: Family.OIL,
    Device.JACKET: Family.COOLANT,
    Device.HEATER: Family.COOLANT,
    Device.RAIL: Family.FUEL,
}


@dataclass(frozen=True, slots=True)
class Node:
    """A space, a device, an open point or a loose end.

    key: "region.3", "valve.2", "port.7", or "loose.5.1" for the second end of line 5. rank: its place among
    `BARS`, None for another. anew: drawn once more at each line that ends there, as the open air is.
    """

    key: str
    rank: int | None = None
    anew: bool = False


@dataclass(frozen=True, slots=True)
class Edge:
    """What joins two nodes.

    key: "line.5"; "fitted.2.0" where side 0 of device 2 opens into a space; "worked.2" for the signal of
    one; "open.7" for an open point. one, other: nodes; sides: of the device at either end, None for another
    node, -1 for its signal.
    """

    key: str
    one: str
    other: str
    sides: tuple[int | None, int | None] = (None, None)

    def far(self, node: str) -> str:
        """The node at its other end."""
        return self.other if node == self.one else self.one


@dataclass(frozen=True, slots=True)
class Chart:
    """The nodes and edges of one family."""

    family: Family
    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]

    @property
    def keys(self) -> tuple[str, ...]:
        """Of everything that is drawn."""
        return (*(node.key for node in self.nodes), *(edge.key for edge in self.edges))


def charts(line_map: LineMap) -> tuple[Chart, ...]:
    """A chart for each family that has anything to draw. Definition."""
    drawing = _Drawing(line_map)
    found = (_chart(line_map, family, tuple(drawing.edges(family))) for family in Family)
    return tuple(chart for chart in found if chart.edges)


def _chart(line_map: LineMap, family: Family, edges: tuple[Edge, ...]) -> Chart:
    keys = dict.fromkeys(end for edge in edges for end in (edge.one, edge.other))
    return Chart(family, tuple(_node(line_map, key) for key in keys), edges)


def _node(line_map: LineMap, key: str) -> Node:
    sort, _, number = key.partition(".")
    if sort != "region":
        return Node(key)
    kind = line_map.region_of[int(number)].kind
    return Node(key, BARS.index(kind) if kind in BARS else None, kind is Kind.ATMOSPHERE)


class _Drawing:
    """Finds the edges of a map."""

    def __init__(self, line_map: LineMap) -> None:
        self.map = line_map
        touching: dict[int, list[tuple[Valve, int]]] = {}
        for valve in line_map.valves:
            for place, side in enumerate(valve.sides):
                touching.setdefault(side, []).append((valve, place))
        self.held = {
            region.id: touching[region.id][0]
            for region in line_map.of_kind(Kind.JUNCTION)
            if len(touching.get(region.id, ())) == 1
        }
        """The device, and its side, that each junction is nothing but the mouth of."""

    def edges(self, family: Family) -> Iterator[Edge]:
        yield from self._lines(family)
        for port in self.map.ports:
            if family_of(port.medium) is family and self._is_bare(port):
                key, side = self._at(port.region)
                yield Edge(f"open.{port.id}", key, f"port.{port.id}", (side, None))
        for valve in self.map.valves:
            if _OF_DEVICE.get(valve.kind, Family.GAS) is family:
                yield from self._of_device(valve)

    def _is_bare(self, port: Port) -> bool:
        return port.id not in self.map.line_at and self.map.is_open(port)

    def _lines(self, family: Family) -> Iterable[Edge]:
        for line in self.map.lines:
            if family_of(line.medium) is not family or line.ends == (None, None):
                continue  # off at both ends it joins nothing
            ends = [
                (f"loose.{line.id}.{place}", None) if end is None else self._at(self.map.port_of[end].region)
                for place, end in enumerate(line.ends)
            ]
            (one, side), (other, other_side) = ends
            yield Edge(f"line.{line.id}", one, other, (side, other_side))

    def _of_device(self, valve: Valve) -> Iterable[Edge]:
        here = f"valve.{valve.id}"
        for place, side in enumerate(valve.sides):
            if side not in self.held:
                yield Edge(f"fitted.{valve.id}.{place}", here, f"region.{side}", (place, None))
        if valve.kind is Device.BYPASS and valve.signal is not None:
            key, side_there = self._at(valve.signal)
            yield Edge(f"worked.{valve.id}", here, key, (-1, side_there))

    def _at(self, region: int) -> tuple[str, int | None]:
        """The node that a space is drawn as, and the side where it is a device."""
        if region in self.held:
            valve, place = self.held[region]
            return f"valve.{valve.id}", place
        return f"region.{region}", None
