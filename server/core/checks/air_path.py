"""The runs of a build as the path from filter to tailpipe passes them, marched as their checks march them."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.air import atmosphere, gas, path
from server.core.air.back_pressure import back_march
from server.core.air.intercooler import RatedDrop
from server.core.air.march import March
from server.core.air.path import ColdDoubts, ColdPiece, ColdRun, HotPiece, HotRun, PathPlace
from server.core.checks.answer import Answers
from server.core.checks.case import Case, EngineCase
from server.core.checks.facts import Facts
from server.core.checks.figures import Figures
from server.core.checks.flow import RunFlow, flow_of, run_elements
from server.core.checks.missing import NotMeasured
from server.core.measure.doubt import propagate
from server.core.phrase import Phrase
from server.core.tube.run import PiecePlan, Place

PLACES: Mapping[Place, PathPlace] = {
    Place.INTAKE: PathPlace.INTAKE,
    Place.CHARGE_PIPE: PathPlace.CHARGE_PIPE,
    Place.COOLER_PIPE: PathPlace.COOLER_PIPE,
    Place.DOWNPIPE: PathPlace.DOWNPIPE,
    Place.EXHAUST: PathPlace.EXHAUST,
}
"""The subsystems whose runs lie on the path."""

_BACK_PRESSURE = "back-pressure"


@dataclass(frozen=True, slots=True)
class NotKnown:
    """A run that can't be drawn: what is missing."""

    phrase: Phrase


def cold_run(case: Case, answers: Answers | None) -> ColdRun | NotKnown:
    """A run of air with the loss of each piece, as its checks have it. Source: `checks.flow`.

    answers: of the same run, for the doubt of its loss.
    """
    facts = Facts.at_best(case)
    try:
        flow = flow_of(facts)
    except NotMeasured as missing:
        return NotKnown(missing.phrase)
    if flow.choked_at is not None:
        return NotKnown(Phrase("It chokes: the engine asks for more air than it passes."))
    pieces = [
        ColdPiece(piece.number, _length(facts, piece), _found(flow, piece)) for piece in facts.plan.pieces
    ]
    into_port = flow.loss - sum(piece.drop for piece in pieces)
    if facts.plan.end is not None and into_port > path.LEAST_DROP:
        pieces.append(ColdPiece(None, 0.0, into_port))
    return ColdRun(tuple(pieces), (answers.loss_doubt if answers is not None else None) or 0.0)


def _found(flow: RunFlow, piece: PiecePlan) -> float:
    found = flow.of(piece)
    assert found is not None  # a run that does not choke has a flow in every piece
    return found.loss


def _length(facts: Facts, piece: PiecePlan) -> float | None:
    try:
        return facts.length_along(piece)
    except NotMeasured:
        return None


def hot_run(case: Case, answers: Answers | None, behind: float | None = None) -> HotRun | NotKnown:
    """A run of exhaust with the static pressure at both ends of each piece. Source: `air.back_pressure`.

    answers: of the same run, for the doubt of its back pressure. behind: static, absolute, just behind the
    run, [Pa]; None for what its own check takes.
    """
    facts = Facts.at_best(case)
    try:
        elements, engine = run_elements(facts), facts.engine
        if not facts.plan.pieces:
            return NotKnown(Phrase("Add the first piece."))
    except NotMeasured as missing:
        return NotKnown(missing.phrase)
    pressure = engine.pressure + facts.pressure_behind if behind is None else behind
    found = back_march(elements, engine.flow, pressure, engine.temperature, engine.gas)
    if found.sonic:
        return NotKnown(Phrase("The exhaust reaches Mach 1 in it."))
    return HotRun(_hot_pieces(facts, found.march), _back_doubt(answers))


def _hot_pieces(facts: Facts, marched: March) -> tuple[HotPiece, ...]:
    """Every element from the run's inlet on; a port at its start is none of its pieces and loses nothing."""
    pieces = {f"piece.{piece.id}": piece for piece in facts.plan.pieces}
    found: list[HotPiece] = []
    level = marched.inlet.pressure
    for station in marched.stations:
        piece = pieces.get(station.name)
        if piece is None and not found:
            continue
        number, length = (None, 0.0) if piece is None else (piece.number, _length(facts, piece))
        found.append(HotPiece(number, length, level, station.pressure_out))
        level = station.pressure_out
    return tuple(found)


def _back_doubt(answers: Answers | None) -> float:
    for check in answers.checks if answers is not None else ():
        if check.rule.code == _BACK_PRESSURE and check.finding is not None:
            return check.finding.doubt or 0.0
    return 0.0


def rated_drop(figures: Figures) -> RatedDrop | None:
    """What is typed of a cooler's pressure drop; None until all four figures of it are.

    The boost it was taken at counts from the air at sea level, U.S. Standard Atmosphere, 1976.
    """
    keys = ("cooler.drop", "cooler.flow", "cooler.boost", "cooler.temperature")
    if not all(key in figures.numbers for key in keys):
        return None
    drop, flow, boost, temperature = (figures.numbers[key].value for key in keys)
    pressure = atmosphere.standard(0.0).pressure + boost
    return RatedDrop(drop, flow, gas.density(pressure, temperature))


def cold_doubts(engine: EngineCase) -> ColdDoubts:
    """What the doubts of boost and compressor do to the air's side. Source: `measure.doubt`."""
    found = propagate(
        lambda values: engine.state(values).demand,
        {
            "boost": lambda at: at.boost,
            "compressor": lambda at: at.compressor_outlet_temperature,
            "cooler": lambda at: at.manifold_temperature,
        },
        engine.variables(),
    )
    return ColdDoubts(*(found.doubt(name) for name in ("boost", "compressor", "cooler")))
