"""Rule of the boss for an oxygen sensor: high enough, far enough from the turbine, clear of the joints."""

from dataclasses import dataclass
from math import pi

from server.core.checks.facts import Facts
from server.core.checks.layout import piece_label
from server.core.checks.rule import HOT, About, Findings, Found, Lever, Rule, RuleClass, for_each, plain
from server.core.phrase import Amount, Phrase, length
from server.core.sources import source
from server.core.tube.run import BungPlan, PieceKind, PiecePlan, Place
from server.core.units import Kind

_SENSOR_WORDS = ("oxygen", "lambda", "wideband", "o2", "sensor")
_NOT_THIS = ("temperature", "pressure", "knock", "thermocouple")


@dataclass(frozen=True, slots=True)
class _Boss:
    """An oxygen sensor's boss on its piece."""

    piece: PiecePlan
    bung: BungPlan
    name: str

    @property
    def item(self) -> str:
        return f"bung.{self.bung.id}"

    @property
    def words(self) -> dict[str, str]:
        return {"sensor": self.name, "piece": piece_label(self.piece)}


def sensor_boss(facts: Facts) -> Findings:
    """Every boss whose name says that an oxygen sensor goes there. Source: common practice."""
    return for_each(_bosses(facts), lambda boss: boss.item, lambda boss: _boss(facts, boss))


def _bosses(facts: Facts) -> tuple[_Boss, ...]:
    ports = {port.id: port.name for port in facts.plan.side_ports}
    found = []
    for piece in facts.plan.pieces:
        for bung in piece.bungs:
            name = ports.get(bung.port_id or 0, bung.name)
            low = f"{name} {bung.name}".lower()
            if any(word in low for word in _SENSOR_WORDS) and not any(word in low for word in _NOT_THIS):
                found.append(_Boss(piece, bung, name))
    return tuple(found)


def _boss(facts: Facts, boss: _Boss) -> tuple[Found, ...]:
    found = [_high(facts, boss)]
    if boss.piece.kind in {PieceKind.FLEX, PieceKind.FLANGE} or boss.piece.is_hose:
        found.append(_never_there(boss))
        return tuple(found)
    if facts.plan.place is Place.DOWNPIPE:
        found.append(_after_turbine(facts, boss))
    return (*found, *_clear_of_joints(facts, boss))


def _high(facts: Facts, boss: _Boss) -> Found:
    """Tip down: the boss stands in the upper half, so far above level. Of a pipe that lies about level."""
    turned = abs((boss.bung.clock + pi) % (2.0 * pi) - pi)
    above = 0.5 * pi - turned
    least = facts.limit("sensor.above")

    def about() -> About:
        amounts = {"above": Amount(above, Kind.angle), "least": Amount(least, Kind.angle)}
        text = "{sensor} stands {above} above level on {piece}; {least} or more keeps water out of it."
        move = Phrase("Turn {sensor} towards 12 o'clock, {least} or more above level.", boss.words, amounts)
        return About(
            Phrase(text, boss.words, amounts),
            "piece",
            boss.piece.number,
            above,
            least,
            Kind.angle,
            moves=(move,),
        )

    # A clock position is marked by eye on the day it is welded: a plain yes or no, a hair below counts.
    return plain(f"{boss.item}.above", above >= least - 1e-9, about)


def _never_there(boss: _Boss) -> Found:
    def about() -> About:
        move = Phrase("Put {sensor} on a tube or bend.", boss.words)
        return About(
            Phrase("{sensor} is on {piece}: no boss holds there.", boss.words),
            "piece",
            boss.piece.number,
            moves=(move,),
        )

    return plain(f"{boss.item}.piece", False, about)


def _after_turbine(facts: Facts, boss: _Boss) -> Found:
    pieces = facts.plan.pieces
    before = sum(_along(facts, piece) for piece in pieces[: pieces.index(boss.piece)])
    way = before + facts.size("bung", boss.bung.id, "at")
    least = facts.limit("sensor.after")

    def about() -> About:
        amounts = {"way": length(way), "least": length(least)}
        text = "{sensor} stands {way} after the turbine; {least} or more is asked, where the gas is cooler."
        lever = Lever(
            f"bung.{boss.bung.id}.at",
            Phrase("{sensor} at {value} along {piece} turns this to go.", boss.words),
            number=boss.piece.number,
        )
        fits = boss.bung.at + least - way < _along(facts, boss.piece) - boss.bung.bore
        return About(
            Phrase(text, boss.words, amounts),
            "piece",
            boss.piece.number,
            way,
            least,
            Kind.length,
            tight_margin=way - 0.5 * least,
            levers=(lever,) if fits else (),
            moves=(Phrase("Put {sensor} {least} or more after the turbine.", boss.words, amounts),),
        )

    return Found(f"{boss.item}.after", way - least, about)


def _along(facts: Facts, piece: PiecePlan) -> float:
    """Length of a piece [m]; a flange that nobody measured counts as nothing."""
    if piece.kind is PieceKind.FLANGE and facts.size_or_none("piece", piece.id, "length") is None:
        return 0.0
    return facts.length_along(piece)


def _clear_of_joints(facts: Facts, boss: _Boss) -> tuple[Found, ...]:
    """Edge of the boss against the ends of its piece that are welded, clamped or bolted."""
    at, half = facts.size("bung", boss.bung.id, "at"), 0.5 * facts.size("bung", boss.bung.id, "bore")
    rooms = (("inlet", at - half), ("outlet", _along(facts, boss.piece) - at - half))
    return tuple(_room(facts, boss, side, room) for side, room in rooms)


def _room(facts: Facts, boss: _Boss, side: str, room: float) -> Found:
    least = facts.limit("sensor.joint")
    words = boss.words | {"side": side}

    def about() -> About:
        amounts = {"room": length(max(room, 0.0)), "least": length(least)}
        text = "The edge of {sensor} is {room} from the {side} of {piece}; {least} keeps it off the joint."
        lever = Lever(
            f"bung.{boss.bung.id}.at",
            Phrase("{sensor} at {value} along {piece} turns this to go.", words),
            side == "inlet",
            number=boss.piece.number,
        )
        return About(
            Phrase(text, words, amounts),
            "piece",
            boss.piece.number,
            room,
            least,
            Kind.length,
            levers=(lever,),
            moves=(Phrase("Move {sensor} {least} or more from the {side} of {piece}.", words, amounts),),
        )

    return Found(f"{boss.item}.{side}", room - least, about)


RULES = (
    Rule(
        "sensor-boss",
        "Oxygen sensor boss",
        HOT,
        RuleClass.PERFORMANCE,
        "angle above level ≥ 10°; way after the turbine ≥ limit; edge to the piece's ends ≥ limit",
        "In the upper half of a pipe that lies about level, tip down; on a pipe that stands, judge it at the "
        "car. Half the way after the turbine is tight. Never on a flex or flange. Leave room for the lead "
        "and the spanner.",
        ("sensor.above", "sensor.after", "sensor.joint"),
        (source("practice"),),
        None,
        sensor_boss,
    ),
)
