"""What the readings of places and facings are called."""

from collections.abc import Mapping
from math import pi

from server.core.tube.space.poses import Facing, Place, Tilt, dip_of, heading_of
from server.core.tube.space.siting import AXES, DATUM, TAPES, TYPED, Sight, Way
from server.core.units import Kind, System, show

WAYS = {
    Way.OFFSETS: "Offsets from the datum",
    Way.TAPES: "Three tapes",
    Way.BESIDE: "Beside another port",
    Way.WORDS: "In words, by eye",
    Way.GAUGE: "Angle gauge",
    Way.STICK: "A stick put in",
}
LABELS = {
    "forward": "Forward",
    "left": "Left",
    "up": "Up",
    "beside": "From which port",
    "side": "Which of the two places",
    "level": "Seen from above, it faces",
    "tilt": "Seen from the side",
    "heading": "Turned to the left of forward",
    "dip": "Below level",
    "instrument": "Measured with",
    "pose_note": "Note",
    "words": "The datum",
}
HINTS = {
    "forward": "rearward: with a minus",
    "left": "to the right: with a minus",
    "up": "below: with a minus",
}
TAPE_INSTRUMENTS = ("tape", "tape_hooked", "rule", "feel")
PLUMB_FROM = 1.55
"""A facing steeper than this is said to be straight up or down [rad]."""
LEVEL_TO = 0.005
"""An angle under this is said to be none [rad]."""
WORDS_OF_AXES = (("forward", "rearward"), ("left", "right"), ("up", "down"))
GONE = "a port that is gone"


def place_words(place: Place, system: System) -> str:
    """E.g. "310 mm forward, 220 mm left, 140 mm up", of the datum."""
    return ", ".join(
        f"{_length(abs(float(value)), system)} {more if value >= 0.0 else less}"
        for value, (more, less) in zip(place.point, WORDS_OF_AXES, strict=True)
    )


def doubt_words(place: Place, system: System) -> str:
    """E.g. "± 3 mm, ± 2 mm, ± 4 mm"."""
    return ", ".join(f"± {_length(float(one), system)}" for one in place.doubt)


def facing_words(facing: Facing, system: System) -> str:
    """E.g. "rearward, 20° to the left, 30° below level"."""
    dip, heading = dip_of(facing.way), heading_of(facing.way)
    if abs(dip) > PLUMB_FROM:
        return "straight down" if dip > 0.0 else "straight up"
    above = f"{_angle(abs(dip), system)} {'below' if dip > 0.0 else 'above'} level"
    return f"{_heading_words(heading, system)}, {above if abs(dip) > LEVEL_TO else 'level'}"


def _heading_words(heading: float, system: System) -> str:
    """Left, right, or off the nearer of forward and rearward."""
    turn, side = abs(heading), "left" if heading > 0.0 else "right"
    if abs(turn - pi / 2.0) < LEVEL_TO:
        return side
    base, off = ("forward", turn) if turn < pi / 2.0 else ("rearward", pi - turn)
    return f"{base}, {_angle(off, system)} to the {side}" if off > LEVEL_TO else base


def sight_words(sight: Sight, ports: Mapping[int, str], system: System) -> str:
    """What was read, in one line. ports: names by number."""
    numbers = sight.numbers
    if sight.way is Way.WORDS:
        tilt = sight.said["tilt"]
        return tilt if tilt in (Tilt.DOWN, Tilt.UP) else f"{sight.said['level']}, {tilt}"
    if sight.way is Way.GAUGE:
        heading, dip = (_angle(numbers[name].value, system) for name in ("heading", "dip"))
        return f"{heading} to the left of forward, {dip} below level"
    if sight.way is Way.TAPES:
        tapes = [
            f"{_length(numbers[f'tape{n}'].value, system)} from {_hook_words(sight, n, ports)}" for n in TAPES
        ]
        return ", ".join(tapes)
    offsets = ", ".join(f"{_length(numbers[axis].value, system)} {axis}" for axis in AXES)
    return f"{offsets} of {ports.get(sight.beside or 0, GONE)}" if sight.way is Way.BESIDE else offsets


def _hook_words(sight: Sight, tape: int, ports: Mapping[int, str]) -> str:
    at = sight.said.get(f"hook{tape}", DATUM)
    return {DATUM: "the datum", TYPED: "a point"}.get(at) or ports.get(int(at), GONE)


def _length(value: float, system: System) -> str:
    return show(value, Kind.length, system).text


def _angle(angle: float, system: System) -> str:
    return show(angle, Kind.angle, system).text
