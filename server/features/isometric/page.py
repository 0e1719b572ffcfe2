"""The isometric drawing of a design as a page: the drawing from a side, its legs as a table."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from math import degrees
from typing import ClassVar

from server.core.tube import leg_words
from server.core.tube.centreline import Centreline
from server.core.tube.isometric.looking import STANDS, Side
from server.core.tube.isometric.scene import Leg, Scene
from server.core.tube.isometric.sheet import Sheet, sheet
from server.core.tube.isometric.words import CAR, RUN, described, steps
from server.core.tube.run import RunPlan
from server.core.units import Kind, System, show
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import Page


@dataclass(frozen=True, slots=True)
class SideLink:
    """A side to look from; turn and rise in degrees, for the script that turns without asking."""

    href: str
    text: str
    here: bool
    turn: str
    rise: str


@dataclass(frozen=True, slots=True)
class LegRow:
    """A leg of the table: what the drawing says of it, in figures."""

    number: int
    length: str
    way: str
    bend: str
    radius: str


@dataclass(frozen=True, kw_only=True)
class IsometricPage(Page):
    """A run as a pipe fitter draws it. `drawing` is None where there are no pieces yet."""

    template: ClassVar[str] = "isometric/isometric.html"

    build_id: int
    design_id: int
    name: str
    from_port: str
    to_port: str
    sides: tuple[SideLink, ...]
    drawing: Sheet | None
    length: str
    legs: tuple[LegRow, ...]
    pieces: tuple[str, ...]
    notes: tuple[str, ...]


def isometric_page(
    *,
    build: Face,
    subsystem: str,
    design_id: int,
    name: str,
    plan: RunPlan,
    line: Centreline,
    scene: Scene | None,
    in_car: bool,
    ghosts: int,
    side: Side,
    today: date,
) -> IsometricPage:
    """in_car: the place of the start port is known; ghosts: how many keep-outs are drawn."""
    axes = CAR if in_car else RUN
    return IsometricPage(
        **heading(build, "Isometric", today, within="Subsystems", note=f"{subsystem} · {name}"),
        build_id=build.id,
        design_id=design_id,
        name=name,
        from_port=plan.start.name if plan.start else "",
        to_port=plan.end.name if plan.end else "",
        sides=_sides(build.id, design_id, side),
        drawing=drawn(plan, scene, side, in_car, build.system) if scene else None,
        length=leg_words.length_words(line, build.system) if scene else "",
        legs=tuple(_leg(leg, axes, build.system) for leg in scene.legs) if scene else (),
        pieces=tuple(f"{piece.number} {piece.name or piece.kind.value}" for piece in plan.pieces),
        notes=_notes(line, in_car, ghosts),
    )


def drawn(plan: RunPlan, scene: Scene, side: Side, in_car: bool, system: System) -> Sheet:
    """A run's drawing from a side. in_car: its axes are the car's."""
    axes = CAR if in_car else RUN
    title = f"{leg_words.title(plan)}, view: {STANDS[side].words.lower()}"
    return sheet(scene, side, axes, system, title, described(scene, axes, system))


def _sides(build_id: int, design_id: int, here: Side) -> tuple[SideLink, ...]:
    return tuple(
        SideLink(
            urls.isometric(build_id, design_id, side.value),
            stand.words,
            side is here,
            f"{degrees(stand.turn):.3f}",
            f"{degrees(stand.rise):.3f}",
        )
        for side, stand in STANDS.items()
    )


def _leg(leg: Leg, axes: tuple[str, str, str], system: System) -> LegRow:
    parts = steps(leg, axes, system)
    way = parts[0][0] if len(parts) == 1 else ", ".join(f"{text} {name}" for name, text in parts)
    bent = leg.turn > 0.0
    return LegRow(
        leg.number,
        show(leg.length, Kind.length, system).text,
        way,
        show(leg.turn, Kind.angle, system).text if bent else "",
        (show(leg.radius, Kind.length, system).text if leg.radius else "mitre") if bent else "",
    )


IN_CAR = "Drawn in the car's axes: forward, left and up, from where the start port is and faces."
BY_ITSELF = (
    "Drawn in the run's own axes: along the flow at its start, to the left of that, and 12 o'clock. Once the "
    "place of its start port is read it stands as in the car, among the keep-outs."
)
NOT_TO_SCALE = "Not to scale: the figures are true, corner to corner of the centre line; measure none here."

STROKES = "One stroke across the line is a weld, two are a joint that comes apart."


def _notes(line: Centreline, in_car: bool, ghosts: int) -> tuple[str, ...]:
    found = [NOT_TO_SCALE, STROKES, IN_CAR if in_car else BY_ITSELF]
    if ghosts:
        found.append(f"Thin outlines: {ghosts} keep-outs near it." if ghosts > 1 else "Thin: one keep-out.")
    found += [
        f"Piece {number} is drawn with a stand-in for a size that is missing." for number, _ in line.assumed
    ]
    return tuple(found)


def side_of(text: str) -> Side:
    """The side named in an address; anything else is the isometric one."""
    known: Mapping[str, Side] = {side.value: side for side in Side}
    return known.get(text, Side.ISOMETRIC)
