"""Rule of the side ports.

Every port that must be kept stands on the right stretch, on a piece that can take it.
"""

from dataclasses import dataclass
from functools import partial
from itertools import combinations
from math import pi, remainder

from server.core.checks.facts import Facts
from server.core.checks.layout import piece_label
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    ANY_RUN,
    CHARGE,
    About,
    Caution,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
    plain,
)
from server.core.measure.many import greatest, sqrt
from server.core.phrase import Phrase, length
from server.core.sources import source
from server.core.tube.run import BungPlan, EndForm, Fixing, PieceKind, PiecePlan, Place, PortPlan, Stretch
from server.core.units import Kind

_NEVER = frozenset({PieceKind.METER, PieceKind.FILTER, PieceKind.FLEX, PieceKind.FLANGE})
_NOT_METAL = frozenset({"plastic", "nylon", "polyamide", "ABS", "glass fibre", "carbon fibre"})


@dataclass(frozen=True, slots=True)
class _Placed:
    """A bung on its piece, and the port that it serves; item: key of its findings."""

    port: PortPlan
    piece: PiecePlan
    bung: BungPlan
    item: str

    @property
    def words(self) -> dict[str, str]:
        return {
            "port": self.port.name,
            "piece": piece_label(self.piece),
            "stretch": self.port.stretch.value,
            "fixing": self.bung.fixing.value,
        }


def side_ports(facts: Facts) -> Findings:
    """Every side port of the run.

    Placed, on its stretch, on a piece that takes it, clear of clamps and of each other, wide enough.

    Source: common practice.
    """
    ports = for_each(facts.plan.side_ports, lambda port: f"port.{port.id}", lambda port: _port(facts, port))
    further = for_each(_further_bungs(facts), lambda placed: placed.item, partial(_bung, facts))
    return (*ports, *further, *_beside_each_other(facts))


def _placed(facts: Facts, port: PortPlan) -> _Placed | None:
    """Where a port stands on the run: on the first bung that is for it."""
    for piece in facts.plan.pieces:
        for bung in piece.bungs:
            if bung.port_id == port.id:
                return _Placed(port, piece, bung, f"port.{port.id}")
    return None


def _further_bungs(facts: Facts) -> tuple[_Placed, ...]:
    """Bungs that serve no port of the list, such as one for a sensor: they need a place as well."""
    places = (_placed(facts, port) for port in facts.plan.side_ports)
    served = {placed.bung.id for placed in places if placed is not None}
    return tuple(
        _Placed(PortPlan(0, bung.name, EndForm.PLAIN), piece, bung, f"bung.{bung.id}")
        for piece in facts.plan.pieces
        for bung in piece.bungs
        if bung.id not in served
    )


def _bung(facts: Facts, placed: _Placed) -> tuple[Found, ...]:
    misplaced = _misplaced(facts, placed)
    return (misplaced,) if misplaced is not None else (_stands(placed), *_clear_of_clamps(facts, placed))


def _port(facts: Facts, port: PortPlan) -> tuple[Found, ...]:
    placed = _placed(facts, port)
    if placed is None:
        return (_not_placed(facts, port),)
    misplaced = _misplaced(facts, placed)
    if misplaced is not None:
        return (misplaced,)
    return (_stands(placed), *_clear_of_clamps(facts, placed), _wide_enough(facts, placed))


_ABOUT_METER = frozenset({Stretch.BEFORE_METER, Stretch.AFTER_METER})


def right_stretch(facts: Facts, piece: PiecePlan, stretch: Stretch) -> bool:
    """Whether a piece stands on a stretch of its run.

    A run without a meter drawn in it starts after the meter, unless it ends there.
    """
    place, pieces = facts.plan.place, facts.plan.pieces
    if facts.plan.end is not None and facts.plan.end.is_meter and stretch in _ABOUT_METER:
        return stretch is Stretch.BEFORE_METER
    meters = [pieces.index(meter) for meter in facts.meters]
    index = pieces.index(piece)
    if stretch is Stretch.BEFORE_METER:
        return place is Place.INTAKE and bool(meters) and index < min(meters)
    if stretch is Stretch.AFTER_METER:
        return place is Place.INTAKE and (not meters or index > max(meters))
    if stretch is Stretch.BEFORE_THROTTLE:
        return place in CHARGE
    if stretch is Stretch.AFTER_COOLER:
        return place is Place.COOLER_PIPE
    return True


def takes(piece: PiecePlan, fixing: Fixing, place: Place) -> bool:
    """Whether a kind of piece takes a side port fixed in this way. Source: common practice."""
    if piece.kind in _NEVER:
        return False
    if piece.is_hose:
        # A hole through a plain hose tears open under pressure; a port that was moulded in does not.
        return fixing is Fixing.MOULDED or (fixing is Fixing.NIPPLE and place is Place.INTAKE)
    if piece.material.lower() in {name.lower() for name in _NOT_METAL}:
        return fixing in {Fixing.MOULDED, Fixing.NIPPLE}
    return fixing in {Fixing.WELDED, Fixing.NIPPLE}


def _proposal(facts: Facts, port: PortPlan) -> Phrase:
    """The named move.

    To the first piece on the right stretch that takes a welded bung, or a joiner made for it.
    """
    words = {"port": port.name, "stretch": port.stretch.value}
    for piece in facts.plan.pieces:
        if right_stretch(facts, piece, port.stretch) and takes(piece, Fixing.WELDED, facts.plan.place):
            return Phrase(
                "Put the bung for {port} on {piece}: it takes a welded bung and stands where {port} belongs.",
                words | {"piece": piece_label(piece)},
            )
    if any(right_stretch(facts, piece, port.stretch) for piece in facts.plan.pieces):
        return Phrase("Put a short beaded metal joiner {stretch} and weld the bung for {port} on it.", words)
    return Phrase("{port} belongs {stretch}: place it on another run.", words)


def _not_placed(facts: Facts, port: PortPlan) -> Found:
    words = {"port": port.name}
    return plain(
        f"port.{port.id}",
        False,
        lambda: About(
            Phrase("{port} has no place on this run: an open end.", words),
            "port",
            port.id,
            moves=(_proposal(facts, port),),
        ),
    )


def _misplaced(facts: Facts, placed: _Placed) -> Found | None:
    if not right_stretch(facts, placed.piece, placed.port.stretch):
        text = "{port} is on {piece}; it belongs {stretch}."
    elif takes(placed.piece, placed.bung.fixing, facts.plan.place):
        return None
    elif placed.piece.is_hose and facts.plan.place in CHARGE:
        text = "{port} goes through {piece}: never through a plain hose on the pressure side."
    else:
        text = "{piece} can't take a {fixing} port for {port}."
    return plain(
        placed.item,
        False,
        lambda: About(
            Phrase(text, placed.words), "piece", placed.piece.number, moves=(_proposal(facts, placed.port),)
        ),
    )


def _stands(placed: _Placed) -> Found:
    text = "{port} stands on {piece}, {fixing}."
    return plain(
        placed.item,
        True,
        lambda: About(Phrase(text, placed.words), "piece", placed.piece.number),
    )


def _clear_of_clamps(facts: Facts, placed: _Placed) -> tuple[Found, ...]:
    """Edge of the port against the overlap at either end of its piece that is clamped [m]."""
    piece, bung = placed.piece, placed.bung
    at, half = facts.size("bung", bung.id, "at"), 0.5 * facts.size("bung", bung.id, "bore")
    clamped = facts.layout.clamped_joints(piece)
    before, after = facts.layout.joint_before(piece), facts.layout.joint_after(piece)
    findings = []
    if before in clamped:
        findings.append(_clearance(placed, "inlet", at - half, facts.overlap(before)))
    if after in clamped:
        findings.append(
            _clearance(placed, "outlet", facts.length_along(piece) - at - half, facts.overlap(after))
        )
    return tuple(findings)


def _clearance(placed: _Placed, side: str, room: float, overlap: float) -> Found:
    words = placed.words | {"side": side}

    def about() -> About:
        least = overlap + 0.5 * placed.bung.bore
        amounts = {"room": length(max(room, 0.0)), "overlap": length(overlap), "least": length(least)}
        text = "The edge of {port} is {room} from the {side} of {piece}; the hose covers {overlap}."
        lever = Lever(
            f"bung.{placed.bung.id}.at",
            Phrase("{port} at {value} along {piece} turns this to go.", words),
            side == "inlet",
            number=placed.piece.number,
        )
        return About(
            Phrase(text, words, amounts),
            "piece",
            placed.piece.number,
            room,
            overlap,
            Kind.length,
            levers=(lever,),
            moves=(Phrase("Move {port} to {least} or more from the {side} of {piece}.", words, amounts),),
        )

    return Found(f"{placed.item}.{side}", room - overlap, about)


def _beside_each_other(facts: Facts) -> Findings:
    """Room from edge to edge of each two side ports put into one piece; moulded ones came with it."""
    pairs = (
        (piece, *pair)
        for piece in facts.plan.pieces
        for pair in combinations([b for b in piece.bungs if b.fixing is not Fixing.MOULDED], 2)
    )
    return for_each(pairs, lambda pair: f"bungs.{pair[1].id}.{pair[2].id}", lambda pair: _apart(facts, *pair))


def _apart(facts: Facts, piece: PiecePlan, one: BungPlan, other: BungPlan) -> tuple[Found, ...]:
    """Along the pipe and round it, by the shorter way. Source: geometry, the pipe's skin unrolled."""
    along = facts.size("bung", one.id, "at") - facts.size("bung", other.id, "at")
    turn = remainder(one.clock - other.clock, 2.0 * pi)
    radius = 0.5 * facts.bore(facts.narrower_end(piece)) if turn else 0.0
    bores = 0.5 * (facts.size("bung", one.id, "bore") + facts.size("bung", other.id, "bore"))
    room, least = sqrt(along**2 + (radius * turn) ** 2) - bores, facts.limit("bung.apart")
    words = {"one": one.name, "other": other.name, "piece": piece_label(piece)}

    def about() -> About:
        amounts = {"room": length(greatest(room, 0.0)), "least": length(least)}
        text = "{one} and {other} leave {room} between their edges on {piece}; {least} is asked."
        move = Phrase("Move or turn {one} or {other} on {piece}: room for weld, hose and clamp.", words)
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            room,
            least,
            Kind.length,
            tight_margin=room,
            moves=(move,),
        )

    return (Found(f"bungs.{one.id}.{other.id}", room - least, about),)


def _wide_enough(facts: Facts, placed: _Placed) -> Found:
    drilled = facts.size("bung", placed.bung.id, "bore")
    asked = _port_bore(facts, placed.port)

    def about() -> About:
        amounts = {"drilled": length(drilled), "asked": length(asked)}
        lever = Lever(
            f"bung.{placed.bung.id}.bore",
            Phrase("A bung of {value} bore for {port} turns this to go.", placed.words),
            number=placed.piece.number,
        )
        return About(
            Phrase("The bung for {port} has {drilled} bore; the port has {asked}.", placed.words, amounts),
            "piece",
            placed.piece.number,
            drilled,
            asked,
            Kind.length,
            levers=(lever,),
        )

    return Found(f"{placed.item}.bore", drilled - asked + facts.limit("bore.slack"), about)


def _port_bore(facts: Facts, port: PortPlan) -> float:
    bore = facts.size_or_none("port", port.id, "bore")
    if bore is not None:
        return bore
    outside, wall = (facts.size_or_none("port", port.id, name) for name in ("outside_diameter", "wall"))
    if outside is None or wall is None:
        raise NotMeasured(Phrase("Measure the bore of {port}.", {"port": port.name}), f"port.{port.id}.bore")
    return outside - 2.0 * wall


RULES = (
    Rule(
        "side-ports",
        "Side ports kept and placed",
        ANY_RUN,
        RuleClass.INJURY,
        "every port placed; distance to piece end − d/2 ≥ overlap; d(bung) ≥ d(port); edge to edge ≥ room",
        "On the right stretch, on a piece that takes one that way: welded on metal, moulded or nipple on "
        "hose, never "
        "through a plain hose on the pressure side, never under a clamp.",
        ("overlap.least", "bore.slack", "bung.apart"),
        (source("practice"),),
        Caution(
            SignalWord.WARNING,
            "A boost-control line left open lets boost climb without limit; an open breather or fuel "
            "vapour line can "
            "feed a fire. Close or join every one. Local codes on emissions and fuel lines have the last "
            "word.",
        ),
        side_ports,
    ),
)
