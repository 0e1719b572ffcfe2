"""Patterns at full size of what was asked, and the sums on cuts and flanges."""

from collections.abc import Callable, Mapping
from datetime import datetime
from math import degrees, radians, tan
from typing import Any

from server.core.tube.cutting import bolt_circle, mitre
from server.core.tube.cutting.bolt_circle import BoltCircle, drilling
from server.core.tube.cutting.compound import compound_cut
from server.core.tube.cutting.pattern import Pattern, degree, mm
from server.core.tube.cutting.wrapped import Slant, lobster_back, wrapped
from server.errors import NotFound
from server.features.bench import service as bench
from server.features.bench.forms import Asked, typed_sum
from server.features.patterns import forms, page
from server.features.pipe_sums import service as pipes
from server.features.pipe_sums.forms import MitreIn
from server.web.handout import File, file_name
from server.web.paper_pattern import pattern_pdf
from server.web.pattern_dxf import pattern_dxf
from server.web.pattern_svg import pattern_svg
from server.web.words import date_text

MM = 1e-3
TYPES = {
    "a4.pdf": "application/pdf",
    "letter.pdf": "application/pdf",
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
}
"""The media type of each form of a pattern."""


def flange(asked: forms.FlangeIn) -> page.FlangeOut:
    """Where the holes of a flange stand; a reason where they run into something."""
    found = _circle(asked)
    why = bolt_circle.fault(found)
    if why is not None:
        return page.FlangeOut(reason=why)
    return page.FlangeOut(
        pitch_mm=found.pitch / MM if found.holes > 1 else None,
        holes_mm=tuple((x / MM, y / MM) for x, y in found.centres),
        notes=bolt_circle.notes(found),
    )


def _circle(asked: forms.FlangeIn) -> BoltCircle:
    return BoltCircle(
        asked.holes,
        asked.circle_mm * MM,
        asked.hole_mm * MM,
        asked.bore_mm * MM,
        asked.outside_mm * MM,
        radians(asked.first_deg),
    )


def compound(asked: forms.CompoundIn) -> page.CompoundOut:
    """A joint that turns a pipe sideways and up; a reason where no saw cuts it."""
    found = compound_cut(radians(asked.left_deg), radians(asked.up_deg))
    if found.saw > mitre.STEEPEST_SAW:
        return page.CompoundOut(
            reason="The saw would stand over 60° from square. Share the turn between cuts."
        )
    if found.saw == 0.0:
        return page.CompoundOut(reason="The pipe goes straight on: nothing to cut but square.")
    return page.CompoundOut(
        turn_deg=degrees(found.turn),
        saw_angle_deg=degrees(found.saw),
        mark_deg=degrees(found.mark),
        cut_back_mm=asked.outside_diameter_mm * tan(found.saw),
    )


BENCH: Mapping[str, bench.Answering] = {
    "flange": (forms.FlangeIn, flange),
    "compound-cut": (forms.CompoundIn, compound),
}
"""For each sum: what it is asked, and how it answers."""


# Patterns


def _mitre_pattern(asked: MitreIn) -> Pattern:
    outside, saw = asked.outside_diameter_mm * MM, mitre.saw_angle(radians(asked.bend_deg), asked.cuts)
    made = mitre.mitred_bend(outside, radians(asked.bend_deg), asked.cuts, asked.centreline_radius_mm * MM)
    slant = Slant(
        outside,
        saw,
        asked.paper_mm * MM,
        None if asked.wall_mm is None else asked.wall_mm * MM,
        asked.ordinates,
        None if asked.mark_deg is None else radians(asked.mark_deg),
    )
    bend = degree(asked.bend_deg)
    what = f"Mitred bend {bend}, {asked.cuts} cuts" if asked.cuts > 1 else f"Mitre of {bend}"
    alike = ", one template for all" if asked.cuts > 1 else ""
    return wrapped(slant, f"{what}, pipe {mm(outside)}{alike}", lobster_back(made))


def _compound_pattern(asked: forms.CompoundIn) -> Pattern:
    cut = compound_cut(radians(asked.left_deg), radians(asked.up_deg))
    outside = asked.outside_diameter_mm * MM
    wall = None if asked.wall_mm is None else asked.wall_mm * MM
    slant = Slant(outside, cut.saw, asked.paper_mm * MM, wall, mark=cut.mark)
    title = f"Compound cut, {degree(asked.left_deg)} left and {degree(asked.up_deg)} up, pipe {mm(outside)}"
    return wrapped(slant, title)


def _flange_pattern(asked: forms.FlangeIn) -> Pattern:
    found = _circle(asked)
    return drilling(found, f"Flange, {found.holes} holes on {mm(found.circle)}")


PATTERNS: Mapping[str, tuple[bench.Answering, Callable[[Any], Pattern]]] = {
    "mitre": (pipes.BENCH["mitre"], _mitre_pattern),
    "flange": (BENCH["flange"], _flange_pattern),
    "compound-cut": (BENCH["compound-cut"], _compound_pattern),
}
"""Sums that have a pattern, each with its answer and how the pattern is drawn."""


def pattern_file(name: str, form: str, typed: Mapping[str, str], now: datetime) -> tuple[File, str] | None:
    """The pattern of what was typed, with its media type; None where that sum has no answer.

    Raises NotFound for what has no pattern or no such form, BadInput for what can't be read.
    """
    if name not in PATTERNS or form not in TYPES:
        raise NotFound("There is no such pattern.")
    (model, answer), draw = PATTERNS[name]
    asked: Asked = typed_sum(model, typed)
    if answer(asked).reason is not None:
        return None
    pattern = draw(asked)
    kind, _, ending = form.rpartition(".")
    return File(file_name(name, kind, now.date(), ending), _content(pattern, form, now)), TYPES[form]


def _content(pattern: Pattern, form: str, now: datetime) -> bytes:
    if form == "svg":
        return pattern_svg(pattern)
    if form == "dxf":
        return pattern_dxf(pattern)
    return pattern_pdf(pattern, date_text(now), letter=form == "letter.pdf")
