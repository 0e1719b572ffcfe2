"""An isometric drawing in words, leg by leg, for who can't see it and for who saws by it."""

from server.core.tube.isometric.scene import LEAST, Leg, Scene
from server.core.units import Kind, System, show

CAR = ("forward", "left", "up")
"""What the axes are called where the run's place in the car is known (ISO 8855)."""
RUN = ("along", "left", "up")
"""Else: along the flow at the start, to the left of it, towards 12 o'clock."""
AGAINST = {"forward": "rearward", "along": "back", "left": "right", "up": "down"}


def described(scene: Scene, axes: tuple[str, str, str], system: System) -> str:
    """Every leg of a run in a sentence each."""
    return " ".join(f"{leg_words(leg, axes, system)}." for leg in scene.legs)


def leg_words(leg: Leg, axes: tuple[str, str, str], system: System) -> str:
    """A leg: its length, which way it goes, and the bend after it.

    >>> leg_words(Leg(1, (0.0, 0.0, 0.0), (0.0, -0.26, 0.0)), CAR, System.metric)
    'Leg 1: 260 mm, right'
    """
    parts = steps(leg, axes, system)
    way = parts[0][0] if len(parts) == 1 else ", ".join(f"{text} {name}" for name, text in parts)
    bend = ""
    if leg.turn > 0.0:
        turn, radius = show(leg.turn, Kind.angle, system).text, show(leg.radius, Kind.length, system).text
        bent = f"a bend of {turn} on a radius of {radius}" if leg.radius else f"a mitre of {turn}"
        bend = f", then {bent}"
    return f"Leg {leg.number}: {show(leg.length, Kind.length, system).text}, {way}{bend}"


def steps(leg: Leg, axes: tuple[str, str, str], system: System) -> list[tuple[str, str]]:
    """The components of a leg: which way, and how far; one that goes along an axis has one."""
    found = []
    for place, (part, name) in enumerate(zip(leg.step, axes, strict=True)):
        if abs(part) > LEAST and leg.axis in {None, place}:
            text = show(abs(part), Kind.length, system).text
            found.append((name if part > 0.0 else AGAINST[name], text))
    return found or [("nowhere", show(0.0, Kind.length, system).text)]
