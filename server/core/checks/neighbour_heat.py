"""Rules of the heat that a hot run gives to what stands near it."""

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import partial
from typing import TypeVar

from server.core.air.radiant import Neighbour, across_the_gap, neighbour
from server.core.air.surface import Layer, Surface, hot_pipe, still_film
from server.core.checks.facts import Facts
from server.core.checks.gaps import piece_beside
from server.core.checks.layout import End, piece_label
from server.core.checks.missing import NotMeasured
from server.core.checks.near import BARE_METAL, STANDS, material_of, nature_of
from server.core.checks.rule import (
    HOT,
    About,
    Caution,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
)
from server.core.measure.many import greatest, plain, together
from server.core.phrase import Amount, Phrase, length, temperature
from server.core.sources import source
from server.core.tube.run import NeighbourPlan, PiecePlan, Place, Protection
from server.core.units import Kind

Thing = TypeVar("Thing", PiecePlan, NeighbourPlan)

PIPE_EMISSIVITY = 0.80
"""Of a used steel pipe, [-]. Source: emissivity tables, oxidised steel."""

DULL = 0.90
"""Emissivity of wrap, rubber, paint and plastic of any colour, [-]; common practice, no source."""

WRAP_CONDUCTIVITY = 0.15
"""Of glass or basalt wrap when hot, on the high side, [W/(m K)]; common practice, no source."""

LEAST_WARMER = 10.0
"""The air about a neighbour moves as if it were warmer than the air by this at least, [K]."""


def line_heat(facts: Facts) -> Findings:
    """Heat on brake and fuel lines, steering and shafts. Source: `air.surface`, `air.radiant`."""
    return _heats(facts, injury=True)


def other_heat(facts: Facts) -> Findings:
    """Heat on everything else that stands near. Source: `air.surface`, `air.radiant`."""
    return _heats(facts, injury=False)


def _heats(facts: Facts, *, injury: bool) -> Findings:
    near = [one for one in _harmed(facts) if nature_of(one).injury is injury]
    return for_each(near, lambda one: f"neighbour.{one.id}", lambda one: (_heat(facts, one),))


def _harmed(facts: Facts) -> list[NeighbourPlan]:
    """What stands near and is harmed by heat."""
    return [one for one in facts.plan.neighbours if material_of(one) != BARE_METAL]


def air_about(facts: Facts) -> float:
    """Temperature of the air around a hot run [K]: as around the hoses, under the floor as outside."""
    if facts.plan.place is Place.EXHAUST:
        return facts.engine.demand.ambient_temperature
    return facts.engine.bonnet_temperature


def skin_of(facts: Facts, piece: PiecePlan) -> Surface:
    """How hot the outside of a hot piece is at the peak, its wrap included.

    The gas is as hot as at the turbine. Source: `air.surface.hot_pipe`. Raises NotMeasured.
    """
    if _skin_is_as_best(facts, piece):
        return skin_of(facts.best, piece)
    return facts.kept(f"skin {piece.id}", lambda: _skin(*_pipe(facts, piece)))


def _skin_is_as_best(facts: Facts, piece: PiecePlan) -> bool:
    return facts.is_as_best(piece) and not any(name.startswith("engine.") for name in facts.moved)


def _skin(
    gas: float, flow: float, bore: float, outside: float, emissivity: float, ambient: float, wrap: float
) -> Surface:
    return hot_pipe(gas, flow, bore, outside, emissivity, ambient, layers=[Layer(wrap, WRAP_CONDUCTIVITY)])


def _pipe(facts: Facts, piece: PiecePlan) -> tuple[float, ...]:
    """What `_skin` asks, in its order."""
    engine, wrap = facts.engine, _wrap(facts, piece)
    bore, outside = facts.bore(End(piece, False)), _outside(facts, piece)
    emissivity = PIPE_EMISSIVITY if wrap is None else DULL
    return engine.temperature, engine.flow, bore, outside, emissivity, air_about(facts), wrap or 0.0


def _wrap(facts: Facts, piece: PiecePlan) -> float | None:
    """Thickness of the wrap round a piece [m], None where there is none."""
    return facts.size_or_none("piece", piece.id, "wrap") or None


def _outside(facts: Facts, piece: PiecePlan) -> float:
    """Outside diameter under the wrap [m]; of a flex or flange without one its bore and two usual walls."""
    end = End(piece, False)
    if facts.size_or_none("piece", piece.id, "outside_diameter") is None:
        return facts.bore(end) + 2.0 * facts.wall_or_usual(end)
    return facts.outside(end)


def kept_under(facts: Facts, near: NeighbourPlan) -> float:
    """What a neighbour may come to [K]: what its material stands, less a margin. Raises NotMeasured."""
    return _stands(near) - facts.limit("heat.margin")


def _stands(near: NeighbourPlan) -> float:
    found = STANDS.get(material_of(near))
    if found is None:
        text = "Say what {near} is made of: what of it heat harms first."
        raise NotMeasured(Phrase(text, {"near": near.name}), f"neighbour.{near.id}.material")
    return found.temperature


def warmed(facts: Facts, near: NeighbourPlan, protection: Protection) -> Neighbour:
    """How hot a neighbour gets at the peak, once all is as hot as it gets.

    protection: what stands between. A foil-faced sleeve counts by its bright face alone: what it holds back
    of the heat gets through in time. Source: `air.radiant.neighbour`. Raises NotMeasured.
    """
    skin = skin_of(facts, piece_beside(facts, near)).temperature
    return _neighbour(_shield(facts, protection), *_strip(facts, near, protection, skin))


def _neighbour(shield: float | None, *strip: float) -> Neighbour:
    """shield: its emissivity, None without one. strip: as `_strip` has it."""
    skin, emissivity, diameter, gap, facing, width, may_be, ambient, back = map(plain, strip)
    film, across = still_film(width, may_be, ambient), across_the_gap(skin, may_be, gap)
    return neighbour(
        skin,
        emissivity,
        diameter,
        gap,
        facing,
        width,
        ambient,
        film,
        shield,
        across=across,
        behind=back,
    )


def _shield(facts: Facts, protection: Protection) -> float | None:
    """Emissivity of a shield [-], None where there is none."""
    return facts.limit("heat.bright") if protection is Protection.SHIELD else None


def _strip(facts: Facts, near: NeighbourPlan, protection: Protection, skin: float) -> tuple[float, ...]:
    """What `_neighbour` asks but for the shield, in its order. skin: of the piece, [K]."""
    piece, nature = piece_beside(facts, near), nature_of(near)
    wrap, ambient = _wrap(facts, piece), air_about(facts)
    return (
        skin,
        PIPE_EMISSIVITY if wrap is None else DULL,
        _outside(facts, piece) + 2.0 * (wrap or 0.0),
        greatest(facts.size("neighbour", near.id, "gap"), 0.0),
        facts.limit("heat.bright") if protection is Protection.SLEEVE else DULL,
        facts.size_or_none("neighbour", near.id, "width") or nature.width,
        greatest(kept_under(facts, near), ambient + LEAST_WARMER),
        ambient,
        nature.back,
    )


def _reached(facts: Facts, near: NeighbourPlan) -> float:
    """What a neighbour comes to as it is [K]. Raises NotMeasured."""
    if facts.best is not facts:
        found = facts.kept("reached", lambda: _reached_in_draws(facts))
        if near.id in found:
            return found[near.id]
    return warmed(facts, near, near.protection).temperature


def _reached_in_draws(facts: Facts) -> Mapping[int, float]:
    """What neighbours come to, by their numbers [K]; those that lack a figure are left out.

    Those of both rules are asked about at one go, as a balance of few draws takes as long as that of more.
    """
    every = _harmed(facts)
    beside = {near.piece_id for near in every}
    moved = (one for one in facts.plan.pieces if one.id in beside and not _skin_is_as_best(facts, one))
    skins = _each(moved, lambda one: _pipe(facts, one), lambda *pipe: _skin(*pipe).temperature)

    def strip(near: NeighbourPlan) -> tuple[float, ...]:
        piece = piece_beside(facts, near)
        skin = skins[piece.id] if piece.id in skins else skin_of(facts, piece).temperature
        return _strip(facts, near, near.protection, skin)

    found: dict[int, float] = {}
    for shield in {_shield(facts, near.protection) for near in every}:
        alike = (near for near in every if _shield(facts, near.protection) == shield)
        found |= _each(alike, strip, partial(_temperature, shield))
    return found


def _each(
    things: Iterable[Thing], numbers: Callable[[Thing], tuple[float, ...]], ask: Callable[..., float]
) -> dict[int, float]:
    """What a sum says of each thing, by its number. numbers: what it asks of one, if that can be told."""
    known = {}
    for one in things:
        with suppress(NotMeasured, ValueError):
            known[one.id] = numbers(one)
    return dict(zip(known, together(ask, tuple(known.values())), strict=True))


def _temperature(shield: float | None, *strip: float) -> float:
    return _neighbour(shield, *strip).temperature


_BEHIND = {Protection.NONE: "", Protection.SHIELD: " behind its shield", Protection.SLEEVE: " in its sleeve"}


def _heat(facts: Facts, near: NeighbourPlan) -> Found:
    most = kept_under(facts, near)
    reached = _reached(facts, near)

    def about() -> About:
        piece = piece_beside(facts, near)
        wrap = _wrap(facts, piece)
        words = {"near": near.name, "piece": piece_label(piece), "material": material_of(near)}
        words |= {"behind": _BEHIND[near.protection], "wrapped": " in its wrap" if wrap else ""}
        has_shield = near.protection is Protection.SHIELD
        shielded = reached if has_shield else warmed(facts, near, Protection.SHIELD).temperature
        amounts = {
            "skin": temperature(skin_of(facts, piece).temperature),
            "gap": length(facts.size("neighbour", near.id, "gap")),
            "reached": temperature(reached),
            "most": temperature(most),
            "kept": Amount(facts.limit("heat.margin"), Kind.temperature_difference),
            "shielded": temperature(shielded),
        }
        text = (
            "{piece}{wrapped} is {skin} outside; {near}{behind}, {gap} from it, comes to {reached}. {most} is"
            " the most for {material}, {kept} kept under what it stands."
        )
        helps = not has_shield and shielded <= most
        further = "A gap of {value}, {by} more, between {near} and {piece} turns this to go"
        further += "; so does a bright shield between them, air on both its sides." if helps else "."
        shield = (
            "Put a bright shield between {near} and {piece}, air on both sides: {near} comes to {shielded}."
        )
        away = "Take {near} away from {piece}, or make it of what stands {reached}."
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            reached,
            most,
            Kind.temperature,
            tight_margin=None if nature_of(near).injury else _stands(near) - reached,
            levers=(Lever(f"neighbour.{near.id}.gap", Phrase(further, words), number=piece.number),),
            moves=(Phrase(shield if helps else away, words, amounts),),
        )

    return Found(f"neighbour.{near.id}", most - reached, about)


_FORMULA = "heat radiated and through the air = heat given off; T ≤ T(stands) − margin"
_SOURCES = (
    source("hot-pipe"),
    source("view-factor"),
    source("grey-exchange"),
    source("emissivity"),
    source("globe-dropkin"),
)
_WRAP = (
    " Wrap holds wet and salt: steel and stainless under it may rust and crack; wrap that oil or fuel got"
    " into burns (common practice, no source)."
)

RULES = (
    Rule(
        "line-heat",
        "Heat on brake and fuel lines, steering and shafts",
        HOT,
        RuleClass.INJURY,
        _FORMULA,
        "Once all is as hot as it gets at the peak, the gas as hot as at the turbine all along.",
        ("heat.margin", "heat.bright"),
        (source("brake-fluid"), source("d2000"), *_SOURCES, source("practice")),
        Caution(
            SignalWord.DANGER,
            "Brake fluid that boils leaves no brake; a fuel line that softens feeds a fire. This is a sum, no"
            " proof: look for scorching after the first drives, and put a shield where in doubt."
            + _WRAP
            + " Makers' clearances, local codes and licensed practice come first.",
        ),
        line_heat,
    ),
    Rule(
        "neighbour-heat",
        "Heat on what else stands near",
        HOT,
        RuleClass.PERFORMANCE,
        _FORMULA,
        "As on lines. Over the margin but under what the material stands is tight.",
        ("heat.margin", "heat.bright"),
        (source("d2000"), source("wire-classes"), *_SOURCES, source("practice")),
        Caution(
            SignalWord.WARNING,
            "What chars near an exhaust may burn: carpet, underseal, looms, leaves on a shield. Park away"
            " from dry grass." + _WRAP + " Local codes and licensed practice come first.",
        ),
        other_heat,
    ),
)
