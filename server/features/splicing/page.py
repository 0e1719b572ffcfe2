"""Splices of two salvaged pipes: what is asked, and each way to join them in words for the saw."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import ClassVar

import numpy as np

from server.core.tube.cutting.bench_drawing import clock_words
from server.core.tube.space.vectors import unit
from server.core.tube.splice.making import SQUARE
from server.core.tube.splice.problem import Problem, Splice
from server.core.tube.splice.sensitivity import Felt
from server.core.units import Kind, System, show
from server.features.builds.page import Face, heading
from server.features.verdicts.page import Subsystem
from server.web import urls
from server.web.route_sketch import Point, RouteSketch, route_sketch
from server.web.view import Caution, FormState, Link, Option, Page
from server.web.words import counted

AS_TABLE, AS_CORNERS = "bend table", "corners"
PIPES = ("fixed", "turning")
LABELS = {
    "start_port_id": "Fixed pipe stands on",
    "fixed_at": "Fixed pipe, middle of its flange",
    "fixed_faces": "Fixed pipe, where it goes out to",
    "fixed_as": "Fixed pipe, typed as",
    "fixed_rows": "Fixed pipe, centre line",
    "end_port_id": "Turning pipe stands on",
    "turning_at": "Turning pipe, middle of its flange",
    "turning_faces": "Turning pipe, where it goes out to",
    "turning_as": "Turning pipe, typed as",
    "turning_rows": "Turning pipe, centre line",
    "holes": "Bolt holes of its flange",
    "outside": "Outside diameter",
    "turning_outside": "Turning pipe's, where another",
    "wall": "Wall",
    "material": "Material",
    "most_pies": "Pie pieces at the most",
    "saw": "Greatest saw angle",
    "throat": "Shortest throat",
    "doubt": "Doubt of a corner",
}
AXES = ("forward", "to the left", "up")
TOLD = 3
"""So many readings that the fit hangs on most are told."""
STEPS = 6
"""Points by which an arc is drawn."""
FULL = 2.0 * math.pi
CAUTION = Caution(
    "WARNING",
    "Clamp the pipe on both sides of the saw, eyes and ears covered, no gloves at the blade; cut a pie piece"
    " off the long pipe while the vice can still hold it. Clean both pipes bare and dry before welding: never"
    " a chlorinated cleaner, no zinc, no oil, no fuel near. Tack with both flanges bolted to their mates and"
    " look lock to lock before it is welded out. Makers' instructions, local codes and licensed practice come"
    " first.",
)


@dataclass(frozen=True, slots=True)
class WeldLine:
    """One cut of a weld. template: the bench sum filled in, empty for a square cut."""

    name: str
    saw: str
    throat: str
    template: str


@dataclass(frozen=True, slots=True)
class PieLine:
    """One pie piece: lengths inside, along the middle, outside, and how its cuts are turned."""

    name: str
    throat: str
    centre: str
    back: str
    roll: str


@dataclass(frozen=True, slots=True)
class SpliceLine:
    """One way to join. mark: by which it is taken."""

    mark: str
    title: str
    facts: tuple[tuple[str, str], ...]
    welds: tuple[WeldLine, ...]
    pies: tuple[PieLine, ...]
    felt: tuple[str, ...]
    felt_together: str
    sketch: RouteSketch


@dataclass(frozen=True, slots=True)
class Made:
    """A design of this subsystem that salvaged pipes are joined in, and its sheets for the bench.

    pieces: the name of each pipe, and where it is trimmed.
    """

    name: str
    href: str
    cuts: str
    pieces: tuple[Link, ...]


def made(build_id: int, design_id: int, name: str, pipes: Sequence[tuple[int, str]]) -> Made:
    """pipes: those that are cut, by number and name."""
    # A name goes on with how it is sawn; what it is stands first.
    links = tuple(Link(urls.trims(build_id, design_id, key), text.partition(",")[0]) for key, text in pipes)
    return Made(name, urls.design(build_id, design_id), urls.cuts(build_id, design_id), links)


@dataclass(frozen=True, kw_only=True)
class SplicesPage(Page):
    """Ways to join two salvaged pipes of a subsystem."""

    template: ClassVar[str] = "splicing/splices.html"

    build_id: int
    subsystem_id: int
    subsystem: str
    ports: tuple[Option, ...]
    without: tuple[str, ...]
    """The likely ends that no pose is known of."""
    labels: dict[str, str]
    kinds: tuple[str, ...]
    materials: tuple[str, ...]
    values: dict[str, str]
    asked: bool
    splices: tuple[SpliceLine, ...]
    made: tuple[Made, ...]
    reason: str
    notes: tuple[str, ...]
    form: FormState
    taking: FormState
    caution: Caution = CAUTION


def splices_page(
    *,
    build: Face,
    subsystem: Subsystem,
    today: date,
    ports: Sequence[tuple[int, str]],
    without: Sequence[str],
    materials: Sequence[str],
    values: dict[str, str],
    asked: bool,
    splices: Sequence[SpliceLine],
    made: Sequence[Made],
    reason: str,
    notes: Sequence[str],
    form: FormState,
    taking: FormState,
) -> SplicesPage:
    """ports: every one that a run may end on, by number and name."""
    title = f"{subsystem.letter} · {subsystem.name}"
    return SplicesPage(
        **heading(build, title, today, within="Subsystems", note="Join two salvaged pipes"),
        build_id=build.id,
        subsystem_id=subsystem.id,
        subsystem=subsystem.name,
        ports=(Option("", "no port, typed below"), *(Option(str(key), name) for key, name in ports)),
        without=tuple(without),
        labels=LABELS,
        kinds=(AS_TABLE, AS_CORNERS),
        materials=tuple(materials),
        values=values,
        asked=asked,
        splices=tuple(splices),
        made=tuple(made),
        reason=reason,
        notes=tuple(notes),
        form=form,
        taking=taking,
    )


def splice_title(splice: Splice, place: int) -> str:
    """E.g. "2 · 2 welds, 1 pie piece"."""
    pies = f", {counted(len(splice.pies), 'pie piece')}" if splice.pies else ""
    return f"{place} · {counted(len(splice.joints), 'weld')}{pies}"


def splice_line(
    place: int, mark: str, problem: Problem, splice: Splice, wall: float, felt: Sequence[Felt], system: System
) -> SpliceLine:
    """wall: [m]; felt: what each reading does, none where that can't be told."""
    most = sorted(felt, key=lambda one: one.off, reverse=True)[:TOLD]
    return SpliceLine(
        mark=mark,
        title=splice_title(splice, place),
        facts=_facts(splice, system),
        welds=_welds(problem, splice, wall, system),
        pies=_pies(splice, system),
        felt=tuple(_felt(problem, splice, one, system) for one in most),
        felt_together=_together(felt, system),
        sketch=_sketch(splice, problem.outside),
    )


def _length(value: float, system: System) -> str:
    return show(value, Kind.length, system).text


def _angle(value: float) -> str:
    return f"{math.degrees(value):.1f}°"


def _facts(splice: Splice, system: System) -> tuple[tuple[str, str], ...]:
    along = "from its flange, along the middle"
    hole = splice.choice.clocking
    turned = "as it stands" if splice.choice.rotation == 0.0 else _turned(splice, hole)
    pull = (
        f"{_length(splice.pull, system)}, pulled together before tacking"
        if splice.pull > 1e-5
        else "none: the middles meet"
    )
    return (
        ("Cut the fixed pipe", f"{_length(splice.cut_fixed, system)} {along}"),
        ("Cut the turning pipe", f"{_length(splice.cut_turning, system)} {along}"),
        ("Turn its flange", turned),
        ("Middles apart", pull),
        ("Waste", _length(splice.waste, system)),
    )


def _turned(splice: Splice, hole: int | None) -> str:
    way = "clockwise as one looks out of it along the pipe"
    angle = _angle(splice.choice.rotation % FULL)
    return f"{angle} {way}" if hole is None else f"{counted(hole, 'hole')} on ({angle}), {way}"


def _welds(problem: Problem, splice: Splice, wall: float, system: System) -> tuple[WeldLine, ...]:
    """Each weld from the fixed pipe's paint line, then the turning pipe's cut from its own.

    Its flow leaves that cut, so that its template counts the other way.
    """
    names = [f"Weld {at}" for at in range(1, len(splice.joints) + 1)]
    own = splice.turning_mark
    marks = [*((one.saw, one.mark, one.mark) for one in splice.joints), (splice.joints[-1].saw, own, -own)]
    return tuple(
        WeldLine(
            name,
            "square" if saw < SQUARE else _angle(saw),
            "none" if saw < SQUARE else clock_words(round(mark % FULL, 4), system),
            "" if saw < SQUARE else urls.mitre(problem.outside, 2.0 * saw, wall, towards),
        )
        for name, (saw, mark, towards) in zip([*names, "Turning pipe's own"], marks, strict=True)
    )


def _pies(splice: Splice, system: System) -> tuple[PieLine, ...]:
    return tuple(
        PieLine(
            f"Pie piece {at}",
            _length(pie.throat, system),
            _length(pie.centre, system),
            _length(2.0 * pie.centre - pie.throat, system),
            _roll(pie.roll),
        )
        for at, pie in enumerate(splice.pies, 1)
    )


def _roll(roll: float) -> str:
    """Where the second throat of a piece stands from its first."""
    if abs(roll) < math.radians(0.05):
        return "both throats in one line"
    way = "clockwise" if roll > 0.0 else "anticlockwise"
    return f"second throat {_angle(abs(roll))} {way} from the first"


def _felt(problem: Problem, splice: Splice, felt: Felt, system: System) -> str:
    """What the doubt of one reading does, in words."""
    reading = felt.reading
    piece = problem.turning if reading.turning else problem.fixed
    name = "Turning pipe" if reading.turning else "Fixed pipe"
    last = len(piece.corners) - 1
    corner = {0: "its flange", last: "its far end"}.get(reading.corner, f"corner {reading.corner}")
    doubt = _length(reading.doubt, system)
    told = [f"{name}, {corner}, {AXES[reading.axis]}: {doubt} there"]
    if splice.pies:
        told.append(
            f"changes a pie piece by {_length(felt.pie, system)} and a saw angle by {_deg(felt.saw)};"
        )
    else:
        cuts = [_length(abs(cut), system) for cut in (felt.cut_fixed, felt.cut_turning)]
        told.append(f"moves the cuts by {cuts[0]} and {cuts[1]}, the saw by {_deg(felt.saw)};")
    told.append(
        f"cut as planned, the flange is missed by {_length(felt.off, system)}, {_deg(felt.off_angle)}."
    )
    return " ".join(told)


def _deg(angle: float) -> str:
    return f"{math.degrees(abs(angle)):.2f}°"


def _together(felt: Sequence[Felt], system: System) -> str:
    """All readings at once, as independent ones; source: JCGM 100:2008, 5.1.2."""
    if not felt:
        return "How much it hangs on the readings can't be told: a straight is as short as its doubt."
    off, angle = (
        math.hypot(*parts) for parts in zip(*((one.off, one.off_angle) for one in felt), strict=True)
    )
    return (
        f"All {len(felt)} readings together, cut as planned: the flange is missed by about"
        f" {_length(round(off, 4), system)} and {_deg(angle)}, one standard uncertainty."
    )


def _sketch(splice: Splice, across: float) -> RouteSketch:
    """The joined pipe drawn small: arcs as smooth curves, mitres as corners."""
    corners = splice.corners
    points = [corners[0]]
    radii = (0.0, *splice.radii, 0.0)
    for at in range(1, len(corners) - 1):
        (_, before), (_, after) = ((a, unit(b - a)) for a, b in pairwise(corners[at - 1 : at + 2]))
        half = 0.5 * math.acos(max(-1.0, min(1.0, float(before @ after))))
        off = radii[at] * math.tan(half)
        start, end = corners[at] - off * before, corners[at] + off * after
        steps = np.linspace(0.0, 1.0, STEPS + 1) if off else (0.5,)
        points += [(1 - t) ** 2 * start + 2 * t * (1 - t) * corners[at] + t**2 * end for t in steps]
    line: list[Point] = [(float(x), float(y), float(z)) for x, y, z in (*points, corners[-1])]
    return route_sketch(line, across, ())
