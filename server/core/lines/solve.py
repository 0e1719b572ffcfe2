"""A line map solved in every engine state: where each space stands, and which way each line flows.

No flow is computed: a line flows one way where everything that can feed it from that side stands above
something that it can leave to on the other, and nothing can push it back. Where the order of two pressures
decides and is not known, the line's flow is not known, and those two are named.
Source: conservation of mass and energy in a net whose parts flow more the greater the difference across them.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from server.core.lines.ledger import Line, LineMap
from server.core.lines.states import Levels, State
from server.core.lines.ways import By, Net, base_of, settings


class Flow(StrEnum):
    """Which way a line flows; the value is the word pages show."""

    FORWARD = "from its first end to its second"
    BACKWARD = "from its second end to its first"
    STILL = "carries pressure, nothing flows"
    EITHER = "changes with a solenoid's position"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class LineFlow:
    """A line's flow in one state. between: where it is not known, the two spaces whose order decides."""

    flow: Flow
    between: tuple[int, int] | None = None


class Solved:
    """A map in every state. Solving is done piece by piece, as it is asked for."""

    def __init__(self, line_map: LineMap) -> None:
        self.map = line_map
        base = base_of(line_map)
        self._nets = {
            state: tuple(Net(line_map, base, state, driven) for driven in settings(line_map, state))
            for state in State
        }

    def nets(self, state: State) -> tuple[Net, ...]:
        """The map in one state, once for each position its three-way solenoids may have."""
        return self._nets[state]

    @cached_property
    def _all_nets(self) -> tuple[Net, ...]:
        return tuple(net for nets in self._nets.values() for net in nets)

    def level(self, region: int, state: State) -> Levels:
        """The least and the most a space may stand at in a state, over all solenoid positions.

        Places in the order of pressures; 0 is the open air, where every space begins.
        """
        fed = max((net.levels[one][1] for net in self._all_nets for one in net.sources(region)), default=0)
        drawn = min((net.levels[one][0] for net in self._all_nets for one in net.sinks(region)), default=0)
        found = [net.bounds(region, max(fed, 0), min(drawn, 0)) for net in self.nets(state)]
        return (min(least for least, _ in found), max(most for _, most in found))

    def sources(self, region: int, state: State) -> frozenset[int]:
        """The spaces with a pressure of their own that may feed a space in a state, in any position."""
        return frozenset().union(*(net.sources(region) for net in self.nets(state)))

    def flow(self, line: Line, state: State) -> LineFlow:
        """Which way a line flows in a state.

        One that hangs loose is told as if the open air were its far end.
        """
        one, other = (self._region(end) for end in line.ends)
        if one == other:
            return LineFlow(Flow.STILL)
        found = [_line_flow(net, one, other, line.id) for net in self.nets(state)]
        if len({each.flow for each in found}) == 1:
            return found[0]
        unknown = [each for each in found if each.flow is Flow.NOT_KNOWN]
        return unknown[0] if unknown else LineFlow(Flow.EITHER)

    def _region(self, end: int | None) -> int:
        """The space behind an end of a line; the open air where it hangs loose."""
        return self.map.outside if end is None else self.map.port_of[end].region


def _line_flow(net: Net, one: int, other: int, number: int) -> LineFlow:
    without = frozenset({(By.LINE, number)})
    ahead, doubt = _pushed(net, one, other, without)
    back, other_doubt = _pushed(net, other, one, without)
    if ahead is None and back is None:
        return LineFlow(Flow.STILL)
    if ahead and back is None:
        return LineFlow(Flow.FORWARD)
    if back and ahead is None:
        return LineFlow(Flow.BACKWARD)
    return LineFlow(Flow.NOT_KNOWN, doubt or other_doubt)


def _pushed(
    net: Net, start: int, end: int, without: frozenset[tuple[By, int]]
) -> tuple[bool | None, tuple[int, int] | None]:
    """Whether something surely pushes from one side to the other: True, False for perhaps, None for nothing.

    Also the two spaces whose order decides, where it is perhaps.
    """
    feeds = net.reached(start, False, True, without)
    leaves = net.reached(end, False, False, without) if feeds else feeds
    pairs = [(a, b) for a in feeds for b in leaves if a != b and net.levels[a][1] > net.levels[b][0]]
    if not pairs:
        return (None, None)
    sure_feeds = feeds if net.all_sure else net.reached(start, True, True, without)
    sure_leaves = leaves if net.all_sure else net.reached(end, True, False, without)
    if any(net.levels[a][0] > net.levels[b][1] for a in sure_feeds for b in sure_leaves):
        return (True, min(pairs))
    return (False, min(pairs))
