"""Rules of every run, explained: bore held, steps, speed, and something that flexes."""

from dataclasses import replace
from math import pi

from server.core.air import gas, losses
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Least, Root, Sign, Size, Value, at_least, at_most, is_
from server.core.checks.case import Case
from server.core.checks.flow import flow_of
from server.core.tube.run import PieceKind
from server.core.units import Kind

_PIECE = Sign("d", "bore of the piece", Kind.length, below="piece")
_START = Sign("d", "bore of the port where the run starts", Kind.length, below="start")
_END = Sign("d", "bore of the port where it ends", Kind.length, below="end")
_ASKED = Sign("d", "bore asked: that of the smaller end port", Kind.length, below="asked")
_SLACK = Sign("s", "bores closer than this count as equal", Kind.length)
_WALL = Sign("t", "wall of the tube", Kind.length)


def bore_held() -> Example:
    """A charge pipe with one tube that is a size down."""
    case = bench.charge(bench.hose(1, 60.0), bench.tube(2, 58.0), bench.hose(3, 60.0))
    facts = bench.facts(case)
    narrow, start = case.plan.pieces[1], facts.layout.joints[0].before
    end = facts.layout.joints[-1].after
    assert start is not None
    assert end is not None
    given = {
        _PIECE: facts.bore(facts.narrower_end(narrow)),
        _START: facts.bore(start),
        _END: facts.bore(end),
        _SLACK: facts.limit("bore.slack"),
        _WALL: facts.wall_or_usual(facts.narrower_end(narrow), start),
    }
    told = (Told(_PIECE, "piece.2"), Told(_ASKED, "piece.2", "limit"))
    text = "Two spigots of 60 mm, 1.5 wall, and between them a tube of 58 mm with a hose at either end."
    return Example(text, case, given, told)


_AFTER = Sign("d", "bore after the joint", Kind.length, below="after")
_BEFORE = Sign("d", "bore before the joint", Kind.length, below="before")
_STEP = Sign("h", "step of the bore", Kind.length)
_PASSES = Sign("h", "step that passes", Kind.length, below="passes")
_OVER = Sign("n", "1 where a hose goes over the spigot, else 0", below="hose")
_COEFFICIENT = Sign("K", "loss coefficient of a square step up, on the speed before it")
_SMALL = Sign("d", "the smaller of the two bores", Kind.length, below="small")
_LARGE = Sign("d", "the larger of the two bores", Kind.length, below="large")
_DENSITY = Sign("ρ", "density in the smaller bore", Kind.density)
_SPEED = Sign("v", "speed in the smaller bore", Kind.speed)
_LOSS = Sign("Δp", "loss of the step", Kind.pressure)
_SHARE = Sign("x", "share of it that one step may add", Kind.ratio, "percent")
_ALLOWED = Sign("Δp", "what the whole run may lose", Kind.pressure, below="run")


def steps() -> Example:
    """A charge pipe that widens in a square edge at a weld."""
    pieces = (bench.hose(1, 60.0), bench.tube(2, 54.0), bench.tube(3, 63.5), bench.hose(4, 60.0))
    joints = (bench.clamped(50), bench.clamped(51), bench.weld(52), bench.clamped(53), bench.clamped(54))
    case = bench.charge(*pieces, joints=joints)
    facts, engine = bench.facts(case), bench.facts(case).engine
    before, after = (facts.bore(facts.narrower_end(one)) for one in case.plan.pieces[1:3])
    stream = gas.stream_from_stagnation(
        engine.flow, 0.25 * pi * before**2, engine.pressure, engine.temperature, engine.gas
    )
    assert stream is not None
    given = {
        _BEFORE: before,
        _AFTER: after,
        _SMALL: before,
        _LARGE: after,
        _SLACK: facts.limit("bore.slack"),
        _OVER: 0.0,
        _WALL: facts.wall_or_usual(facts.narrower_end(case.plan.pieces[1])),
        _DENSITY: gas.density(stream.pressure, stream.temperature, engine.gas),
        _SPEED: stream.speed,
        _SHARE: facts.limit("step.loss_share"),
        _ALLOWED: facts.allowed_loss,
    }
    told = (Told(_STEP, "joint.52.up"), Told(_PASSES, "joint.52.up", "limit"))
    same = {_COEFFICIENT: losses.step(before, after).value}
    text = "In a charge pipe a tube of 54 mm is welded to one of 63.5 mm, both of 1.5 wall, without a cone."
    return Example(text, case, given, told, same)


_MACH = Sign("M", "Mach number in the fastest place of the piece, at the peak", Kind.ratio)
_FAST = Sign("v", "speed there", Kind.speed)
_STATIC = Sign("T", "temperature of the moving gas", None, "K")
_STAGNATION = Sign("T", "temperature of the gas at rest", None, "K", below="0")
_GAMMA = Sign("γ", "ratio of its specific heats")
_CONSTANT = Sign("R", "its gas constant", None, "J/(kg K)")
_HEAT = Sign("c", "its specific heat at constant pressure", None, "J/(kg K)", below="p")
_MOST = Sign("M", "Mach number that passes", Kind.ratio, below="most")
_HARD = Sign("M", "Mach number that is still tight", Kind.ratio, below="hard")

MACH_LINES = (
    is_(_STATIC, _STAGNATION - _FAST**2 / (2.0 * _HEAT)),
    is_(_MACH, _FAST / Root(_GAMMA * _CONSTANT * _STATIC)),
    at_most(_MACH, _MOST),
)
MACH_TIGHT = (at_most(_MACH, _HARD),)


def mach_given(case: Case, number: int, most: str, hard: str) -> dict[Sign, Value]:
    """What the lines of the Mach number start from, read off a piece by its number [SI]."""
    facts = bench.facts(case)
    found = flow_of(facts).of(case.plan.pieces[number - 1])
    assert found is not None
    return {
        _FAST: found.speed,
        _STAGNATION: facts.engine.temperature,
        _GAMMA: facts.engine.gas.gamma,
        _CONSTANT: facts.engine.gas.constant,
        _HEAT: facts.engine.gas.specific_heat,
        _MOST: facts.limit(most),
        _HARD: facts.limit(hard),
    }


def mach_told(number: int) -> tuple[Told, ...]:
    """What the check reports of the Mach number in a piece by its number."""
    return (Told(_MACH, f"piece.{number}"), Told(_MOST, f"piece.{number}", "limit"))


def speed() -> Example:
    """A charge pipe too narrow for its engine."""
    case = bench.charge(bench.hose(1, 60.0), bench.tube(2, 44.5), bench.hose(3, 60.0))
    text = (
        "A tube of 44.5 mm, 1.5 wall, in the charge pipe of a 2.1 litre engine that revs to 6,600 at 0.9 bar."
    )
    return Example(text, case, mach_given(case, 2, "mach.most", "mach.hard"), mach_told(2))


_FLEXES = Sign("n", "hoses and flex pieces in the run", below="flex")


def flex() -> Example:
    """A rigid charge pipe from engine to body."""
    case = bench.charge(bench.tube(1, 60.0), joints=(bench.weld(50), bench.weld(51)))
    start, end = case.plan.start, case.plan.end
    assert start is not None
    assert end is not None
    start, end = replace(start, frame="engine"), replace(end, frame="body")
    case = replace(case, plan=replace(case.plan, start=start, end=end))
    count = sum(one.is_hose or one.kind is PieceKind.FLEX for one in case.plan.pieces)
    text = (
        "One tube, welded at both ends, from a compressor that moves with the engine to a cooler on the body."
    )
    return Example(text, case, {_FLEXES: float(count)})


EXPLAINED = (
    Explained(
        "bore-held",
        (is_(_ASKED, Least(_START, _END)), at_least(_PIECE, _ASKED - _SLACK)),
        bore_held,
        (at_most(_ASKED - _PIECE, 2.0 * _WALL),),
        (
            "Bore is compared with bore: tube is sold by its outside diameter, hose by its bore.",
            "Where it is short by more than two walls, the loss that the narrow piece adds decides.",
        ),
    ),
    Explained(
        "steps",
        (
            is_(_STEP, Size(_AFTER - _BEFORE)),
            is_(_PASSES, _SLACK + 2.0 * _WALL * _OVER),
            at_most(_STEP, _PASSES),
        ),
        steps,
        (
            is_(_COEFFICIENT, (1.0 - (_SMALL / _LARGE) ** 2) ** 2),
            is_(_LOSS, _COEFFICIENT * _DENSITY * _SPEED**2 / 2.0),
            at_most(_LOSS, _SHARE * _ALLOWED),
        ),
        (
            "Two walls more than passes is tight whatever it loses.",
            "A square step down has another coefficient, ½ (1 − d²(small) / d²(large)), on the speed in it.",
        ),
        marched=True,
    ),
    Explained("speed", MACH_LINES, speed, MACH_TIGHT, marched=True),
    Explained(
        "flex",
        (at_least(_FLEXES, 1.0, when="Where the two ends move with different frames"),),
        flex,
        notes=("Frames are the engine, the body, and suspension with steering.",),
    ),
)
