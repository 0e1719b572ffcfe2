"""Which way through lines and valves lies open: the map as a net of directed ways, and what reaches what
in it.

A space with a pressure of its own ends every search: what lies beyond it is asked about from there. Source:
definition (reachability in a directed graph).
"""

from collections import deque
from collections.abc import Iterable
from enum import StrEnum
from math import inf
from typing import NamedTuple

from server.core.lines.ledger import (
    DRIVEN,
    OPEN_AT_TIMES,
    Device,
    Family,
    LineMap,
    Valve,
    family_of,
)
from server.core.lines.states import RUNNING, Kind, Levels, State, has_own_level, level_of

PUMP_SUCTION, PUMP_DELIVERY, BLOW_BY = -1, -2, -3
"""Numbers of what has a pressure and is no space of the map: the two sides of a running air pump, and
blow-by.
"""

_FORCED: dict[int, Levels] = {PUMP_SUCTION: (-9, -9), PUMP_DELIVERY: (4, 4), BLOW_BY: (1, 1)}

SPRING = 3
"""By how many places a bypass valve's charge side must stand above its signal chamber before it opens.

Under boost both stand within one place; with the throttle shut far apart. Source: common practice, no source.
"""


class By(StrEnum):
    """What a way leads through."""

    LINE = "line"
    VALVE = "valve"
    OPENING = "opening"
    INSIDE = "inside"


class Step(NamedTuple):
    """One way from a space: where to, whether it surely lies open, and through which thing of the map."""

    to: int
    sure: bool
    by: By
    number: int


Ways = dict[int, list[Step]]


class Base(NamedTuple):
    """The ways that lie open in every state: lines, open ports, hanging hoses, restrictors. out: from a
    space; into: towards it, each step naming where it comes from.
    """

    out: Ways
    into: Ways


def base_of(line_map: LineMap) -> Base:
    """The ways of a map that no valve decides on."""
    base = Base({}, {})
    for line in line_map.lines:
        joined = [line_map.port_of[end] for end in line.ends if end is not None]
        if len(joined) == 2:
            _both(base, joined[0].region, joined[1].region, By.LINE, line.id)
        elif joined and family_of(line.medium) is Family.GAS:
            _both(base, joined[0].region, line_map.outside, By.LINE, line.id)
    for port in line_map.ports:
        if (
            port.id not in line_map.line_at
            and line_map.is_open(port)
            and family_of(port.medium) is Family.GAS
        ):
            _both(base, port.region, line_map.outside, By.OPENING, port.id)
    for valve in line_map.valves_of(Device.RESTRICTOR, Device.JACKET, Device.HEATER, Device.RAIL):
        _both(base, valve.sides[0], valve.sides[1], By.VALVE, valve.id)
    return base


def _both(base: Base, one: int, other: int, by: By, number: int) -> None:
    if one != other:
        _join(base.out, base.into, one, Step(other, True, by, number))
        _join(base.out, base.into, other, Step(one, True, by, number))


def _join(out: Ways, into: Ways, start: int, step: Step) -> None:
    out.setdefault(start, []).append(step)
    into.setdefault(step.to, []).append(step._replace(to=start))


class Net:
    """The ways of a map in one state, with its three-way solenoids in one position."""

    def __init__(self, line_map: LineMap, base: Base, state: State, driven: frozenset[int]) -> None:
        self.state = state
        self.levels = _levels(line_map, state)
        self._base = base
        self._out: Ways = {}
        self._into: Ways = {}
        self._found: dict[tuple[int, bool, bool], frozenset[int]] = {}
        self.all_sure = True
        """Whether every way of it surely lies open, so that what may be reached surely is."""
        self.bypass_open: dict[int, bool | None] = {}
        """Whether each bypass valve stands open; None where that is not known."""
        self._fill(line_map, driven)

    def _fill(self, line_map: LineMap, driven: frozenset[int]) -> None:
        if self.state in RUNNING:
            for region in line_map.of_kind(Kind.CRANKCASE):
                self._add(BLOW_BY, region.id, True, By.INSIDE, region.id)
        for valve in line_map.valves:
            for one, other, sure in _passes(valve, self.state, valve.id in driven):
                self._add(one, other, sure, By.VALVE, valve.id)
        for valve in line_map.valves_of(Device.BYPASS):
            opens = self.bypass_open[valve.id] = self._bypass_opens(valve)
            if opens is not False:
                self._add(valve.sides[0], valve.sides[1], opens is True, By.VALVE, valve.id)
        self._found.clear()

    def _add(self, start: int, to: int, sure: bool, by: By, number: int) -> None:
        _join(self._out, self._into, start, Step(to, sure, by, number))
        self.all_sure = self.all_sure and sure

    def _bypass_opens(self, valve: Valve) -> bool | None:
        """Whether its charge side stands far enough above its signal; None where that is not known."""
        charge = valve.sides[0]
        if valve.signal is None:
            return None
        if self.sources(valve.signal) == self.sources(charge):
            return False
        (least, most), (low, high) = self.bounds(charge), self.bounds(valve.signal)
        if least - high > SPRING:
            return True
        return None if most - low > SPRING else False

    def is_anchor(self, number: int) -> bool:
        """Whether a space has its pressure from the engine."""
        return number in self.levels

    def steps(self, number: int, back: bool = False) -> Iterable[Step]:
        """The ways from a space, or those towards it."""
        fixed, set_here = (self._base.into, self._into) if back else (self._base.out, self._out)
        yield from fixed.get(number, ())
        yield from set_here.get(number, ())

    def sources(self, number: int, sure: bool = False) -> frozenset[int]:
        """The spaces with a pressure of their own from which a space can be reached; itself where it is one.

        sure: by ways that surely lie open only.
        """
        return self._reached(number, sure, back=True)

    def sinks(self, number: int, sure: bool = False) -> frozenset[int]:
        """The spaces with a pressure of their own that can be reached from a space; itself where it is
        one.
        """
        return self._reached(number, sure, back=False)

    def _reached(self, number: int, sure: bool, back: bool) -> frozenset[int]:
        key = (number, sure, back)
        if key not in self._found:
            self._found[key] = self.reached(number, sure, back)
        return self._found[key]

    def reached(
        self, number: int, sure: bool, back: bool, without: frozenset[tuple[By, int]] = frozenset()
    ) -> frozenset[int]:
        """As `sources` (back) and `sinks`, with some things of the map taken away.

        Asked about a space with a pressure of its own it answers that space.
        """
        return frozenset((number,)) if number in self.levels else self.beyond(number, sure, back, without)

    def beyond(
        self, number: int, sure: bool, back: bool = False, without: frozenset[tuple[By, int]] = frozenset()
    ) -> frozenset[int]:
        """The spaces with a pressure of their own next to a space, by ways through others that have none."""
        found: set[int] = set()
        seen, to_see = {number}, [number]
        while to_see:
            for step in self.steps(to_see.pop(), back):
                if step.to in seen or (sure and not step.sure) or (step.by, step.number) in without:
                    continue
                seen.add(step.to)
                if step.to in self.levels:
                    found.add(step.to)
                else:
                    to_see.append(step.to)
        return frozenset(found)

    def path(
        self, start: int, end: int, sure: bool, without: frozenset[tuple[By, int]] = frozenset()
    ) -> tuple[Step, ...]:
        """The shortest way from one space to another, through none with a pressure of its own; () for
        none.
        """
        came: dict[int, tuple[int, Step]] = {}
        to_see = deque((start,))
        while to_see:
            here = to_see.popleft()
            for step in self.steps(here):
                if step.to in came or step.to == start or (sure and not step.sure):
                    continue
                if (step.by, step.number) in without:
                    continue
                came[step.to] = (here, step)
                if step.to == end:
                    return _walked(came, start, end)
                if step.to not in self.levels:
                    to_see.append(step.to)
        return ()

    def bounds(self, number: int, most_ever: float = inf, least_ever: float = -inf) -> Levels:
        """The least and the most a space may stand at, as places in the order of pressures.

        Gas that can come in holds it up, gas that can leave lets it down; what can do neither keeps what
        it had, so `most_ever` and `least_ever` are what its sources and sinks come to in any state.
        Source: conservation of mass at rest.
        """
        if number in self.levels:
            return self.levels[number]
        inward, outward = self.sources(number), self.sinks(number)
        sure_in, sure_out = self.sources(number, sure=True), self.sinks(number, sure=True)
        most_in = max((self.levels[one][1] for one in inward), default=-inf)
        least_out = min((self.levels[one][0] for one in outward), default=inf)
        drained = min((*(self.levels[one][1] for one in sure_out), most_ever))
        filled = max((*(self.levels[one][0] for one in sure_in), least_ever))
        most = max(most_in, drained if drained < inf else -inf)
        least = min(least_out, filled if filled > -inf else inf)
        # Shut off on all sides: it stands where it was left, at the open air's pressure.
        return (int(least) if least < inf else 0, int(most) if most > -inf else 0)


def _walked(came: dict[int, tuple[int, Step]], start: int, end: int) -> tuple[Step, ...]:
    steps: list[Step] = []
    here = end
    while here != start:
        here, step = came[here]
        steps.append(step)
    return tuple(reversed(steps))


def _levels(line_map: LineMap, state: State) -> dict[int, Levels]:
    own = {
        region.id: level_of(region.kind, state) for region in line_map.regions if has_own_level(region.kind)
    }
    return own | _FORCED


def _passes(valve: Valve, state: State, driven: bool) -> Iterable[tuple[int, int, bool]]:
    """The ways that a valve leaves open in a state: from, to, and whether surely so."""
    sides = valve.sides
    if valve.kind in {Device.CHECK, Device.BEARING}:
        if valve.forward is not False:
            yield (sides[0], sides[1], valve.forward is True)
        if valve.forward is not True:
            yield (sides[1], sides[0], valve.forward is False)
    elif valve.kind is Device.THREE_WAY:
        joined = 1 if (valve.forward is not False) is not driven else 2
        for side in (1, 2):
            if side == joined or valve.forward is None:
                yield (sides[0], sides[side], valve.forward is not None)
                yield (sides[side], sides[0], valve.forward is not None)
    elif valve.kind is Device.AIR_PUMP:
        if state in OPEN_AT_TIMES[valve.kind]:
            yield (sides[0], PUMP_SUCTION, True)
            yield (PUMP_DELIVERY, sides[1], True)
    elif valve.kind in OPEN_AT_TIMES and state in OPEN_AT_TIMES[valve.kind]:
        yield (sides[0], sides[1], True)
        yield (sides[1], sides[0], True)


def settings(line_map: LineMap, state: State) -> tuple[frozenset[int], ...]:
    """Which three-way solenoids may be driven in a state: each by itself, none, and all of them."""
    solenoids = [valve.id for valve in line_map.valves_of(Device.THREE_WAY)] if state in DRIVEN else []
    several = [frozenset(solenoids)] if len(solenoids) > 1 else []
    return (frozenset(), *(frozenset((one,)) for one in solenoids), *several)
