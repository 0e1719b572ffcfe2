"""Rules of the turbocharger on its compressor's map: far enough from surge, and within its right edge."""

from collections.abc import Callable
from dataclasses import replace
from math import ceil, pi

import numpy as np

from server.core.air.compressor_map import STANDARD_INLET, CompressorMap, InletState, MapPoint
from server.core.air.demand import EngineSheet
from server.core.air.map_line import OperatingPoint, moved_line, operating_line
from server.core.air.map_shape import shape
from server.core.checks.facts import Facts
from server.core.checks.figures import MAP
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import About, Caution, Findings, Found, Rule, RuleClass, SignalWord, plain
from server.core.measure.many import either, greatest
from server.core.phrase import Amount, Phrase, percent
from server.core.sources import source
from server.core.tube.run import Place
from server.core.units import Kind

TURBO = frozenset({Place.TURBO})
_FAR = 0.30
"""So far from an edge, no doubt that the engine sheet may have is in question, [-]."""
_STEP = 1000.0
"""Between the engine speeds at which the map is looked at, [1/min]."""

_SURGE = Caution(
    SignalWord.WARNING,
    "A compressor in surge hammers its bearing and may shed its wheel; one beyond its map is driven too fast."
    " Do not hold the engine there to hear it; the turbo maker's map and limits come first.",
)


def map_of(facts: Facts) -> CompressorMap:
    """The map as typed. Raises NotMeasured where there is none, or its points enclose nothing."""
    return facts.kept("compressor map", lambda: _map_of(facts))


def _map_of(facts: Facts) -> CompressorMap:
    rows = facts.table(MAP)
    pressure = facts.figure_or_none("turbo.map_pressure")
    temperature = facts.figure_or_none("turbo.map_temperature")
    reference = InletState(
        STANDARD_INLET.pressure if pressure is None else pressure,
        STANDARD_INLET.temperature if temperature is None else temperature,
    )
    found = CompressorMap(tuple(MapPoint(*row) for row in rows), reference)
    try:
        shape(found)
    except ValueError as fault:
        raise NotMeasured(Phrase("{fault}", {"fault": str(fault)}), f"figure.{MAP}") from fault
    return found


def line_of(facts: Facts) -> tuple[OperatingPoint, ...]:
    """The engine on the map over its speeds; source: `air.map_line`. Raises NotMeasured.

    Doubts are carried at the efficiencies found for the best estimates.
    """
    return facts.kept("operating line", lambda: _line_of(facts))


def _line_of(facts: Facts) -> tuple[OperatingPoint, ...]:
    sheet, values = facts.sheet, facts.values
    points = tuple(
        replace(
            point,
            volumetric_efficiency=point.volumetric_efficiency * values["engine.efficiency"],
            boost=greatest(point.boost + values["engine.boost"], 0.0) if point.boost > 0.0 else point.boost,
        )
        for point in sheet.points
    )
    moved = replace(sheet, points=points)
    if facts.best is not facts:
        best = line_of(facts.best)
        near = moved_line(moved, map_of(facts.best), [point for point in best if _in_question(point)])
        by_speed = {point.demand.rpm: point for point in near}
        return tuple(by_speed.get(point.demand.rpm, point) for point in best)
    return operating_line(moved, speeds_of(sheet), map_of(facts))


def speeds_of(sheet: EngineSheet) -> tuple[float, ...]:
    """Whole steps of engine speed from the lowest typed one on, and the redline [1/min]."""
    lowest = min(point.rpm for point in sheet.points)
    steps = range(ceil(lowest / _STEP), ceil(sheet.redline / _STEP))
    return (*(number * _STEP for number in steps), sheet.redline)


def _in_question(point: OperatingPoint) -> bool:
    """Whether doubt could move a point over an edge of the map, or its limit."""
    margins = (point.surge_margin, point.choke_margin)
    return any(margin is None or margin <= _FAR for margin in margins)


_ABOVE = "The engine asks for pressure ratios above the whole map, which ends at {top}."
_LOWER = Phrase("Less boost, or a compressor whose map reaches higher.")


def surge_kept_off(facts: Facts) -> Findings:
    """How far right of the surge line the engine runs. Source: `air.map_shape.surge_margin`."""
    least = facts.limit("map.surge")
    text = (
        "At {speed} the compressor passes {flow} at a pressure ratio of {ratio}: {margin} right of its surge"
        " line, {least} is asked."
    )
    move = Phrase("Less boost at that speed, a later rise of boost, or a smaller compressor.")
    return _judged(facts, least, lambda point: point.surge_margin, text, move)


def edge_kept_off(facts: Facts) -> Findings:
    """How far left of the map's right edge the engine runs. Source: `air.map_shape.choke_margin`."""
    least = facts.limit("map.edge")
    text = (
        "At {speed} the compressor passes {flow} at a pressure ratio of {ratio}: {margin} left of its map's"
        " right edge, {least} is asked."
    )
    move = Phrase("Less boost at that speed, or a larger compressor.")
    return _judged(facts, least, lambda point: point.choke_margin, text, move)


def _judged(
    facts: Facts,
    least: float,
    margin_of: Callable[[OperatingPoint], float | None],
    text: str,
    move: Phrase,
) -> Findings:
    """One item for each speed at which the map has the engine's pressure ratio, or lies under it."""
    highest = max(point.ratio for point in map_of(facts.best).points)
    found = []
    for best, point in zip(line_of(facts.best), line_of(facts), strict=True):
        margin = margin_of(best)
        if margin is None and best.demand.pressure_ratio <= highest:
            continue  # under the map's foot, where boost has hardly begun
        if margin is not None and margin > _FAR:
            found.append(plain(_item(best), True, _about(best, margin, least, highest, text, move)))
            continue
        about = _about(best, margin, least, highest, text, move)
        found.append(Found(_item(best), _or_beyond(margin_of(point)) - least, about))
    if not found:
        raise NotMeasured(
            Phrase("The engine's pressure ratios lie under the map at every speed: look at map and boost.")
        )
    return tuple(found)


def _or_beyond(margin: float | None) -> float:
    """A margin; where the map has no such ratio, the whole of an edge beyond it."""
    return -1.0 if margin is None else either(np.isnan(margin), -1.0, margin)


def _item(point: OperatingPoint) -> str:
    return f"{point.demand.rpm:.0f}"


def _about(
    point: OperatingPoint, margin: float | None, least: float, top: float, text: str, move: Phrase
) -> Callable[[], About]:
    """margin: None where the map, which ends at `top`, has no pressure ratio so high."""

    def about() -> About:
        amounts = {
            "speed": Amount(point.demand.rpm * pi / 30.0, Kind.rotation),
            "flow": Amount(point.flow, Kind.mass_flow),
            "ratio": Amount(point.demand.pressure_ratio, Kind.ratio),
            "margin": percent(margin or 0.0),
            "least": percent(least),
        }
        if margin is None:
            # The same words at every such speed, so that pages tell it once.
            above = Phrase(_ABOVE, {}, {"top": Amount(top, Kind.ratio)})
            return About(above, limit=least, kind=Kind.ratio, moves=(_LOWER,))
        phrase = Phrase(text, {}, amounts)
        return About(phrase, value=margin, limit=least, kind=Kind.ratio, tight_margin=margin, moves=(move,))

    return about


RULES = (
    Rule(
        "map-surge",
        "Far enough from surge",
        TURBO,
        RuleClass.PERFORMANCE,
        "(ṁ − ṁ(surge)) / ṁ(surge) at the same pressure ratio, ṁ corrected to the map's inlet",
        "At every speed; right of the line and nearer than that is tight.",
        ("map.surge",),
        (source("compressor-map"), source("practice")),
        _SURGE,
        surge_kept_off,
        on_figures=True,
    ),
    Rule(
        "map-edge",
        "Within the compressor's map",
        TURBO,
        RuleClass.PERFORMANCE,
        "(ṁ(edge) − ṁ) / ṁ(edge) at the same pressure ratio, ṁ corrected to the map's inlet",
        "At every speed; left of the right edge and nearer than that is tight.",
        ("map.edge",),
        (source("compressor-map"), source("practice")),
        _SURGE,
        edge_kept_off,
        on_figures=True,
    ),
)
