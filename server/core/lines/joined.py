"""What hangs together on a map, whichever way its valves pass."""

from server.core.lines.ledger import Device, LineMap
from server.core.lines.states import has_own_level


def neighbours(line_map: LineMap, without: frozenset[int] = frozenset()) -> dict[int, set[int]]:
    """The spaces next to each space, by lines joined at both ends and by valves.

    without: valves taken away.
    """
    found: dict[int, set[int]] = {}
    pairs = [
        (line_map.port_of[one].region, line_map.port_of[other].region)
        for one, other in (line.ends for line in line_map.lines)
        if one is not None and other is not None
    ]
    for valve in line_map.valves:
        if valve.id not in without and valve.kind is not Device.AIR_PUMP:
            pairs += [(valve.sides[0], side) for side in valve.sides[1:]]
    for one, other in pairs:
        found.setdefault(one, set()).add(other)
        found.setdefault(other, set()).add(one)
    return found


def branch(line_map: LineMap, start: int, without: frozenset[int] = frozenset()) -> frozenset[int]:
    """The spaces that hang together with one, up to and with those that have a pressure of their own."""
    beside = neighbours(line_map, without)
    seen, to_see = {start}, [start]
    while to_see:
        here = to_see.pop()
        if here != start and has_own_level(line_map.region_of[here].kind):
            continue
        for other in beside.get(here, ()):
            if other not in seen:
                seen.add(other)
                to_see.append(other)
    return frozenset(seen)
