"""Rule of which way a run is drawn: in flow direction, and with the air meter on its own side.

It speaks only where something is the wrong way round: every other rule counts from the run's start.
"""

from server.core.checks.air_meter import meters_of
from server.core.checks.case import HOT_PLACES, MeterPlace
from server.core.checks.facts import Facts
from server.core.checks.layout import piece_label
from server.core.checks.rule import ANY_RUN, CHARGE, About, Findings, Found, Rule, RuleClass, plain
from server.core.measure.opening import FLAP_SIZES, WITH_FLAP
from server.core.phrase import Phrase
from server.core.sources import source
from server.core.tube.run import Frame, PieceKind, Place, PortPlan, Stretch

_SIDE = {MeterPlace.BEFORE_COMPRESSOR: frozenset({Place.INTAKE}), MeterPlace.AFTER_COMPRESSOR: CHARGE}
_SAID = {
    MeterPlace.BEFORE_COMPRESSOR: "stands before the compressor",
    MeterPlace.AFTER_COMPRESSOR: "stands after the compressor",
    MeterPlace.NONE: "is not there: the engine has none",
}
_BETWEEN = {
    Place.CHARGE_PIPE: (
        Frame.ENGINE,
        Frame.BODY,
        "the air comes from the compressor, on the engine, and goes to the cooler, on the body",
    ),
    Place.COOLER_PIPE: (
        Frame.BODY,
        Frame.ENGINE,
        "the air comes from the cooler, on the body, and goes to the throttle, on the engine",
    ),
}
"""What the two ends of a run move with, where its cooler stands on the body."""
_TURN = Phrase(
    "Swap the two ports of this design, and enter its pieces in the order that the flow meets them."
)


def right_way(facts: Facts) -> Findings:
    """What is drawn the wrong way round; nothing where all of it may be right. Source: geometry."""
    return (*_meters_elsewhere(facts), *_from_wrong_end(facts))


def _meters_elsewhere(facts: Facts) -> Findings:
    """Meters drawn on a run of the other side of the compressor, or where the build has none."""
    engine, place = facts.case.engine, facts.plan.place
    if engine is None or place in _SIDE.get(engine.meter_place, frozenset()):
        return ()
    said = _SAID[engine.meter_place]
    text = "{meter} is drawn on the {place}; the build says that the meter {said}."
    move = Phrase("Draw the meter on the run it stands in, or say under Build where it stands.")
    return tuple(
        _wrong(
            f"{meter.item}.side",
            Phrase(text, {"meter": meter.end.label, "place": place.value, "said": said}),
            meter.concerns,
            meter.number,
            move,
        )
        for meter in meters_of(facts)
    )


def _from_wrong_end(facts: Facts) -> Findings:
    end, place = facts.plan.end, facts.plan.place
    if end is not None and place in HOT_PLACES and _is_turbine(end):
        text = "The run ends at {port}, where the exhaust comes from."
        return (_wrong("end", Phrase(text, {"port": end.name}), "port", end.id, _TURN),)
    if place in _BETWEEN:
        return _between(facts, *_BETWEEN[place])
    if place is not Place.INTAKE:
        return ()
    found = []
    if end is not None and end.is_meter and _serves_behind_meter(facts):
        text = "The run ends at {port}, yet carries ports that belong between meter and compressor."
        found.append(_wrong("end", Phrase(text, {"port": end.name}), "port", end.id, _TURN))
    for piece in facts.plan.pieces[1:]:
        if piece.kind is PieceKind.FILTER:
            text = "Air comes in at {piece}, which is piece {number}: it is the first that the air meets."
            words = {"piece": piece_label(piece), "number": str(piece.number)}
            found.append(_wrong(f"piece.{piece.id}", Phrase(text, words), "piece", piece.number, _TURN))
    return tuple(found)


def _between(facts: Facts, first: Frame, last: Frame, usual: str) -> Findings:
    """A charge pipe drawn towards the compressor: its ports move with each other's side."""
    start, end = facts.plan.start, facts.plan.end
    if start is None or end is None or (start.frame, end.frame) != (last, first):
        return ()
    words = {"start": start.name, "end": end.name, "first": start.frame, "last": end.frame, "usual": usual}
    text = "The run starts at {start}, on the {first}, and ends at {end}, on the {last}; {usual}."
    return (_wrong("ends", Phrase(text, words), "port", end.id, _TURN),)


def _is_turbine(port: PortPlan) -> bool:
    """A wastegate's flap swings into it: no other opening of an exhaust has one."""
    return port.medium == WITH_FLAP or any(name in port.sizes for name in FLAP_SIZES)


def _serves_behind_meter(facts: Facts) -> bool:
    placed = {bung.port_id for piece in facts.plan.pieces for bung in piece.bungs}
    return any(port.id in placed and port.stretch is Stretch.AFTER_METER for port in facts.plan.side_ports)


def _wrong(item: str, phrase: Phrase, concerns: str, number: int | None, move: Phrase) -> Found:
    return plain(item, False, lambda: About(phrase, concerns, number, moves=(move,)))


RULES = (
    Rule(
        "right-way",
        "Drawn the way it flows",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "meters on the wrong side + ends and pieces the wrong way round = 0",
        "The air meter on the side of the compressor that the build says; the filter first; a downpipe from"
        " the turbine on, not towards it; a charge pipe from engine to body, the cooler's outlet pipe back.",
        (),
        (source("geometry"),),
        None,
        right_way,
    ),
)
