"""The air or exhaust through a run at the peak: its pieces as the march meets them, what it found."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from math import pi

from server.core.air import gas
from server.core.air.back_pressure import back_march
from server.core.air.cost import LossCost, charge_cost, intake_cost
from server.core.air.fuels import FUELS, power_from_air
from server.core.air.many_march import ManyMarches, back_march_many, march_many
from server.core.air.march import Element, March, march
from server.core.checks.case import BENDS, STEPS
from server.core.checks.facts import Facts
from server.core.checks.layout import End
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import FLOWING, HOT
from server.core.measure.many import Many, Parted, atan, exp, many
from server.core.phrase import Phrase
from server.core.tube.run import PieceKind, PiecePlan, Place, PortPlan

_SHORT = frozenset({PieceKind.FLANGE, PieceKind.METER, PieceKind.FILTER})
"""Pieces so short that the march does without a length where none is typed."""


@dataclass(frozen=True, slots=True)
class PieceFlow:
    """The air in one piece at the peak. speed: the fastest, [m/s]. mach: [-].

    loss: step at its inlet included, [Pa].
    """

    piece_id: int
    number: int
    speed: float
    mach: float
    loss: float


@dataclass(frozen=True, slots=True)
class RunFlow:
    """A run at the peak.

    flow: [kg/s]. pieces: up to the choked one where there is one. loss: stagnation pressure, [Pa]; where
    the run chokes, all the pressure there is. choked_at: label of the element that can't pass the flow, of a
    hot run that passes it at Mach 1 alone.
    greatest_flow: [kg/s], where the run chokes. back_pressure: of a hot run, static at its inlet above the
    air outside, [Pa].
    """

    flow: float
    pieces: tuple[PieceFlow, ...]
    loss: float
    choked_at: str | None
    greatest_flow: float | None
    notes: tuple[str, ...]
    back_pressure: float | None = None

    def of(self, piece: PiecePlan) -> PieceFlow | None:
        """The flow in a piece, None beyond a choked one."""
        return next((flow for flow in self.pieces if flow.piece_id == piece.id), None)


def flow_of(facts: Facts) -> RunFlow:
    """The run marched at the peak, once for these facts. Raises NotMeasured where a size is missing."""
    return facts.kept("flow", lambda: _find_flow(facts))


def _find_flow(facts: Facts) -> RunFlow:
    best = facts.best
    if best is facts:
        return run_flow(facts)
    if not facts.moved & flow_reads(best):
        return flow_of(best)
    in_draws = any(isinstance(facts.values[name], Many) for name in facts.moved)
    return _flow_in_draws(facts) if in_draws else run_flow(facts)


def can_flow(facts: Facts) -> bool:
    """Whether air or exhaust flows here and every size that the march needs is there."""
    if facts.plan.place not in FLOWING:
        return False
    try:
        return flow_of(facts) is not None
    except (NotMeasured, ValueError):
        return False


def flow_reads(facts: Facts) -> frozenset[str]:
    """The variables that the march at the best estimates rests on."""
    return facts.recorded(lambda: flow_of(facts))[1]


def elements_of(facts: Facts) -> list[Element]:
    """The run's ports and pieces as the march meets them. Raises NotMeasured."""
    return facts.kept("elements", lambda: bare_elements(facts))


def _element_of(facts: Facts) -> Mapping[int, Element]:
    """The element of each piece by its id. Raises NotMeasured."""

    def by_piece() -> dict[int, Element]:
        named = {element.name: element for element in elements_of(facts)}
        return {piece.id: named[f"piece.{piece.id}"] for piece in facts.plan.pieces}

    return facts.kept("element of piece", by_piece)


def run_flow(facts: Facts, narrowed: tuple[PiecePlan, float] | None = None) -> RunFlow:
    """March a run at the engine's peak.

    narrowed: a piece to be taken with another bore, [m], to see what its own does. Ports with a known bore
    count as the run's ends. Raises NotMeasured for a size that is missing. Source: `air.march`.
    """
    if not facts.plan.pieces:
        raise NotMeasured(Phrase("Add the first piece."))
    engine = facts.engine
    elements = run_elements(facts, narrowed)
    if facts.plan.place in HOT:
        return _hot_flow(facts, elements)
    area = 0.25 * pi * elements[0].bore_in ** 2
    inlet = gas.stream_from_stagnation(engine.flow, area, engine.pressure, engine.temperature)
    if inlet is None:
        most = gas.CRITICAL_FLOW_NUMBER * area * engine.pressure
        most /= (gas.GAS_CONSTANT * engine.temperature / gas.GAMMA) ** 0.5
        return RunFlow(engine.flow, (), engine.pressure, elements[0].name, most, ())
    return _told(facts, march(elements, engine.flow, inlet.pressure, inlet.temperature))


def _hot_flow(facts: Facts, elements: list[Element]) -> RunFlow:
    """A hot run: the pressure behind it is known, that at the turbine is what it asks for.

    Where gas reaches Mach 1 it still passes, at the pressure that this takes. Source: `air.back_pressure`.
    """
    engine = facts.engine
    behind = engine.pressure + facts.pressure_behind
    near = None if facts.best is facts else flow_of(facts.best).back_pressure
    start = None if near is None else engine.ambient_pressure + near
    found = back_march(elements, engine.flow, behind, engine.temperature, engine.gas, start)
    told = _told(facts, found.march)
    return replace(
        told,
        back_pressure=found.inlet_pressure - engine.ambient_pressure,
        choked_at=found.march.fastest_at if found.sonic else None,
    )


def _flow_in_draws(facts: Facts) -> RunFlow:
    """The run in every draw at once; the draws part where the run chokes in some of them."""
    marched = _marched_in_draws(facts)
    chokes = marched.sonic
    if chokes.any() and not chokes.all():
        raise Parted(chokes)
    engine = facts.engine
    if chokes.all() and facts.plan.place not in HOT:
        return RunFlow(engine.flow, (), engine.pressure, "somewhere", None, ())
    pieces = {f"piece.{piece.id}": piece for piece in facts.plan.pieces}
    return RunFlow(
        engine.flow,
        tuple(
            PieceFlow(
                pieces[one.name].id,
                pieces[one.name].number,
                many(one.fastest_speed),
                many(one.fastest_mach),
                many(one.loss),
            )
            for one in marched.stations
            if one.name in pieces
        ),
        many(marched.loss),
        "somewhere" if chokes.all() else None,
        None,
        (),
        many(marched.inlet_pressure - engine.ambient_pressure) if facts.plan.place in HOT else None,
    )


def _marched_in_draws(facts: Facts) -> ManyMarches:
    """Marched once for all draws; where these are some of them, they are cut out of the whole."""
    found = _kept_march(facts)
    return facts.kept("marched", lambda: found or _march_in_draws(facts))


def _kept_march(facts: Facts) -> ManyMarches | None:
    if facts.has_kept("marched"):
        return facts.kept("marched", lambda: _march_in_draws(facts))
    if facts.part_of is None:
        return None
    whole, meets = facts.part_of
    marched = _kept_march(whole)
    return None if marched is None else marched.part(meets)


def _march_in_draws(facts: Facts) -> ManyMarches:
    elements, engine = run_elements(facts), facts.engine
    if facts.plan.place not in HOT:
        return march_many(elements, engine.flow, engine.pressure, engine.temperature, engine.gas)
    near = engine.ambient_pressure + (flow_of(facts.best).back_pressure or 0.0)
    behind = engine.pressure + facts.pressure_behind
    return back_march_many(elements, engine.flow, behind, engine.temperature, engine.gas, near)


def run_elements(facts: Facts, narrowed: tuple[PiecePlan, float] | None = None) -> list[Element]:
    """The run as elements of the march, ports with a known bore as its ends. Raises NotMeasured.

    Bores that are equal by the best estimates meet without an edge: what their doubts set between them costs
    nothing.
    """
    elements = elements_of(facts) if narrowed is None else bare_elements(facts, narrowed)
    slack = facts.limit("bore.slack")
    joined = [elements[0]]
    for (_, second), (best_first, best_second) in zip(
        pairwise(elements), pairwise(elements_of(facts.best)), strict=True
    ):
        nearly = abs(best_second.bore_in - best_first.bore_out) < slack
        joined.append(replace(second, flush=True) if nearly else second)
    return joined


def bare_elements(facts: Facts, narrowed: tuple[PiecePlan, float] | None = None) -> list[Element]:
    """The run's ports and pieces as elements, whatever lies between them left out. Raises NotMeasured."""
    elements = [_element(facts, piece, narrowed) for piece in facts.plan.pieces]
    start = _port_element(facts, facts.plan.start, True)
    end = _port_element(facts, facts.plan.end, False)
    return [*([start] if start else []), *elements, *([end] if end else [])]


def _port_element(facts: Facts, port: PortPlan | None, at_outlet: bool) -> Element | None:
    if port is None or not any(facts.size_or_none("port", port.id, name) for name in ("bore", "wall")):
        return None
    bore = facts.bore(End(port, at_outlet))
    return Element(f"port.{port.id}", "step", bore, bore, step_factor=_factor(facts, STEPS))


def _factor(facts: Facts, method: str) -> float:
    """On the loss coefficients of a method: 1 at the best estimates, and e to the power of what it is off.

    To the first order that is the same as the variable itself; but no draw comes out below nothing.
    """
    return facts.kept(("factor", method), lambda: exp(facts.values[method] - 1.0))


def _element(facts: Facts, piece: PiecePlan, narrowed: tuple[PiecePlan, float] | None) -> Element:
    if narrowed is None and facts.is_as_best(piece) and facts.moved.isdisjoint({BENDS, STEPS}):
        return _element_of(facts.best)[piece.id]
    inlet, outlet = (facts.bore(end) for end in facts.ends(piece))
    if narrowed is not None and narrowed[0] is piece:
        inlet, outlet = max(inlet, narrowed[1]), max(outlet, narrowed[1])
    name, steps = f"piece.{piece.id}", _factor(facts, STEPS)
    if piece.has_arc:
        legs = (facts.size_or_none("piece", piece.id, leg) or 0.0 for leg in ("length", "length_out"))
        angle = facts.size("piece", piece.id, "bend_angle")
        radius = facts.size("piece", piece.id, "bend_radius")
        bent = Element(
            name,
            "bend",
            inlet,
            outlet,
            length=sum(legs),
            bend_angle=angle,
            bend_radius=radius,
            bend_factor=_factor(facts, BENDS),
            step_factor=steps,
        )
        return _turning(facts, piece, bent)
    if piece.kind in _SHORT and facts.size_or_none("piece", piece.id, "length") is None:
        return Element(name, "fitting", inlet, outlet, step_factor=steps)
    length = facts.free_length(piece)
    if piece.kind is PieceKind.REDUCER and inlet != outlet and length > 0.0:
        return Element(
            name,
            "cone",
            inlet,
            outlet,
            half_angle=atan(0.5 * abs(inlet - outlet) / length),
            step_factor=steps,
        )
    straight = Element(name, "straight", inlet, outlet, length=length, step_factor=steps)
    return _turning(facts, piece, straight)


def _turning(facts: Facts, piece: PiecePlan, element: Element) -> Element:
    """An element with the further bends and mitres of its piece; their arcs are no straight tube."""
    if not piece.turns:
        return element
    arcs = sum(turn.radius * turn.angle for turn in piece.turns)
    length = element.length + (piece.turned_length if piece.has_arc else 0.0) - arcs
    turns = tuple((turn.angle, turn.radius) for turn in piece.turns)
    return replace(element, length=length, turns=turns, bend_factor=_factor(facts, BENDS))


def _told(facts: Facts, marched: March) -> RunFlow:
    numbers = {f"piece.{piece.id}": piece for piece in facts.plan.pieces}
    pieces = tuple(
        PieceFlow(
            numbers[station.name].id,
            numbers[station.name].number,
            station.fastest_speed,
            station.fastest_mach,
            station.loss,
        )
        for station in marched.stations
        if station.name in numbers
    )
    loss = marched.loss if marched.loss is not None else facts.engine.pressure
    return RunFlow(facts.engine.flow, pieces, loss, marched.choked_at, marched.greatest_flow, marched.notes)


def loss_cost(facts: Facts) -> LossCost | None:
    """What the run's loss costs at the peak; source: `air.cost`.

    None where the fuel is not known, and of a hot run: no simple sum tells what back pressure costs.

    Raises NotMeasured as `run_flow`.
    """
    engine = facts.engine
    fuel = FUELS.get(facts.sheet.fuel)
    if fuel is None or facts.plan.place in HOT:
        return None
    power = power_from_air(engine.flow, fuel).power
    cost = intake_cost if facts.plan.place is Place.INTAKE else charge_cost
    return cost(flow_of(facts).loss, engine.demand, power)


def most_lossy(facts: Facts) -> PiecePlan:
    """The piece that loses the most; of a run that chokes at its inlet, the narrowest. Raises NotMeasured."""
    if not flow_of(facts).pieces:
        return narrowest(facts)
    worst = max(flow_of(facts).pieces, key=lambda flow: flow.loss)
    return next(piece for piece in facts.plan.pieces if piece.id == worst.piece_id)


def narrowest(facts: Facts) -> PiecePlan:
    """The piece with the smallest bore, air meters left out where there are others. Raises NotMeasured."""
    pieces = [piece for piece in facts.plan.pieces if piece.kind is not PieceKind.METER]
    return min(pieces or facts.plan.pieces, key=lambda piece: facts.bore(facts.narrower_end(piece)))
