"""Rule of a wastegate inside the turbine: its flap swings fully open within the downpipe's mouth."""

from server.core.checks.facts import Facts
from server.core.checks.layout import piece_label
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import About, Caution, Findings, Found, Rule, RuleClass, SignalWord
from server.core.measure.opening import WITH_FLAP
from server.core.phrase import Phrase, length
from server.core.sources import source
from server.core.tube.run import PiecePlan, Place, PortPlan
from server.core.units import Kind

_EXHAUST = "exhaust gas"
_MEASURED = ("flap_reach", "flap_swing")


def flap_room(facts: Facts) -> Findings:
    """Room for the open flap: straight as far as it reaches, and wide as far as it sweeps.

    Whether there is a flap is said by what flows at the port that the run starts at, or by a reading of it.
    Nothing to say at a port that carries exhaust alone. Source: geometry; the room, common practice.
    """
    port = facts.plan.start
    if port is None or not facts.plan.pieces:
        return ()
    if not any(name in port.sizes for name in _MEASURED):
        if port.medium == _EXHAUST:
            return ()
        if port.medium != WITH_FLAP:
            text = "Say on {port} what flows there: exhaust gas, with or without the wastegate flap in it."
            raise NotMeasured(Phrase(text, {"port": port.name}))
    reach, swing = (_read(facts, port, name) for name in _MEASURED)
    return (_straight(facts, port, reach), _wide(facts, port, reach, swing))


def _read(facts: Facts, port: PortPlan, name: str) -> float:
    found = facts.size_or_none("port", port.id, name)
    if found is None:
        what = "how far past its face" if name == "flap_reach" else "how far from its centre"
        text = "Measure {what} the wastegate flap reaches at {port}, fully open."
        raise NotMeasured(Phrase(text, {"what": what, "port": port.name}), f"port.{port.id}.{name}")
    return found


def _mouth(facts: Facts, reach: float) -> tuple[float, list[PiecePlan]]:
    """Straight length from the flange's face on [m], and the pieces that the flap reaches into."""
    straight, pieces = 0.0, []
    for piece in facts.plan.pieces:
        pieces.append(piece)
        straight += facts.size("piece", piece.id, "length")
        if not piece.is_straight or straight >= reach:
            break
    return straight, pieces


def _straight(facts: Facts, port: PortPlan, reach: float) -> Found:
    straight, pieces = _mouth(facts, reach)
    words = {"port": port.name, "piece": piece_label(pieces[-1])}

    def about() -> About:
        amounts = {"reach": length(reach), "straight": length(straight)}
        text = "The open flap reaches {reach} past {port}; the pipe is straight for {straight}."
        move = Phrase("Leave {reach} or more of straight before the bend of {piece}.", words, amounts)
        return About(
            Phrase(text, words, amounts),
            "piece",
            pieces[-1].number,
            straight,
            reach,
            Kind.length,
            moves=(move,),
        )

    return Found("straight", straight - reach, about)


def _wide(facts: Facts, port: PortPlan, reach: float, swing: float) -> Found:
    _, pieces = _mouth(facts.best, facts.best.values.get(f"port.{port.id}.flap_reach", reach))
    narrow = min(pieces, key=lambda piece: facts.bore(facts.narrower_end(piece)))
    room = 0.5 * facts.bore(facts.narrower_end(narrow)) - swing
    clear = facts.limit("flap.clear")

    def about() -> About:
        words = {"port": port.name, "piece": piece_label(narrow)}
        amounts = {"room": length(max(room, 0.0)), "clear": length(clear), "swing": length(swing)}
        text = "The open flap sweeps {swing} from the centre of {port} and has {room} of room in {piece}; "
        text += "{clear} is asked."
        if room < 0.0:
            text = "The open flap sweeps {swing} from the centre of {port} and strikes {piece}."
        move = Phrase(
            "Begin with a wider piece than {piece}, a cone behind the flap's reach.", words, amounts
        )
        return About(
            Phrase(text, words, amounts),
            "piece",
            narrow.number,
            room,
            clear,
            Kind.length,
            tight_margin=room,
            moves=(move,),
        )

    return Found("wide", room - clear, about)


RULES = (
    Rule(
        "flap-room",
        "Room for the wastegate flap",
        frozenset({Place.DOWNPIPE}),
        RuleClass.INJURY,
        "straight ≥ reach of the open flap; d / 2 − sweep ≥ room",
        "Where the run starts at a turbine with the gate inside. The flap is read fully open: past the "
        "flange's face, and from its centre to the far edge.",
        ("flap.clear",),
        (source("geometry"), source("practice")),
        Caution(
            SignalWord.WARNING,
            "A flap that can't open lets boost climb without limit. Swing it by hand through all its travel "
            "with the pipe bolted on, engine cold, before the first start.",
        ),
        flap_room,
    ),
)
