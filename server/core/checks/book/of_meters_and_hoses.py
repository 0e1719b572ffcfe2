"""Rules of the air meter and of hoses as such, explained."""

from dataclasses import replace

from server.core.air.meter import meter_scale, meter_share
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, Size, Value, among, at_least, at_most, is_
from server.core.checks.case import Case
from server.core.checks.hose_rating import KEPT_AT_LIMIT
from server.core.checks.hoses import STAND_FLUID, derated
from server.core.checks.rubber import RUBBERS
from server.core.measure.estimate import Estimate
from server.core.tube.run import EndForm, PieceKind, Place, PortPlan, Stretch
from server.core.units import Kind

_FLOW = Sign("m", "air at the peak", Kind.mass_flow)
_READS = Sign("m", "greatest flow that the meter reads", Kind.mass_flow, below="reads")
_SHARE = Sign("x", "share of its range that is used", Kind.ratio, "percent")
_MOST = Sign("x", "share that passes", Kind.ratio, "percent", "most")


def meter_range() -> Example:
    """The meter that the car came with, and twice the air."""
    case = bench.intake(bench.hose(1, 84.0), bench.tube(2, 84.0), bench.hose(3, 84.0))
    assert case.engine is not None
    case = replace(case, engine=replace(case.engine, meter_range=0.225))
    facts = bench.facts(case)
    given = {_FLOW: facts.engine.flow, _READS: 0.225, _MOST: facts.limit("meter.share")}
    told = (Told(_SHARE, "run"), Told(_MOST, "run", "limit"))
    text = "A meter that reads up to 225 g/s, ahead of a 2.1 litre engine that revs to 6,600 at 0.9 bar."
    return Example(text, case, given, told, {_SHARE: meter_share(facts.engine.flow, 0.225)})


_METER = Sign("d", "bore of the meter", Kind.length)
_AHEAD = Sign("ℓ", "straight length before it", Kind.length, below="before")
_BEHIND = Sign("ℓ", "straight length after it", Kind.length, below="after")
_BORES_AHEAD = Sign("n", "bores of straight asked before it", Kind.ratio, below="before")
_BORES_BEHIND = Sign("n", "bores of straight asked after it", Kind.ratio, below="after")


def _with_meter() -> Case:
    housing = bench.piece(3, PieceKind.METER, "plastic", outside_diameter=84.0, wall=2.0, length=90.0)
    ahead = replace(bench.tube(1, 84.0, 200.0), kind=PieceKind.SALVAGED, name="Old pipe")
    pieces = (ahead, bench.hose(2, 84.0), housing, bench.hose(4, 84.0, 120.0))
    joints = (bench.weld(50), *(bench.clamped(50 + place, 85.0, 105.0) for place in range(1, 5)))
    case = bench.intake(*pieces, joints=joints)
    return replace(case, original_meter_bore=Estimate(0.076, bench.CALIPER))


def meter_straights() -> Example:
    """A meter with an old pipe before it and a long coupler after it."""
    case = _with_meter()
    facts = bench.facts(case)
    old, joiner, housing, after = case.plan.pieces
    given = {
        _METER: facts.bore(facts.narrower_end(housing)),
        _AHEAD: facts.free_length(joiner) + facts.free_length(old),
        _BEHIND: facts.free_length(after),
        _BORES_AHEAD: facts.limit("meter.before"),
        _BORES_BEHIND: facts.limit("meter.after"),
    }
    told = (Told(_AHEAD, "piece.3.before"), Told(_BEHIND, "piece.3.after"))
    text = (
        "A meter of 80 mm bore; before it 200 mm of straight pipe and a coupler, after it a hose of 120 mm."
    )
    return Example(text, case, given, told)


_FITTED = Sign("d", "bore of the housing that is fitted", Kind.length, below="fitted")
_MADE_FOR = Sign("d", "bore of the housing that it was calibrated in", Kind.length, below="cal")
_REPORTS = Sign("y", "what the meter reports, of what flows", Kind.ratio, "percent")
_SLACK = Sign("s", "bores closer than this count as equal", Kind.length)


def meter_housing() -> Example:
    """A meter's insert moved into a larger housing."""
    case = _with_meter()
    facts = bench.facts(case)
    fitted = facts.bore(facts.narrower_end(case.plan.pieces[2]))
    made_for = facts.values["meter.original_bore"]
    given = {_FITTED: fitted, _MADE_FOR: made_for, _SLACK: facts.limit("bore.slack")}
    text = "The insert of a meter was moved from a housing of 76 mm bore into one of 80 mm."
    return Example(text, case, given, same={_REPORTS: meter_scale(made_for, fitted).reads})


_STANDS = Sign("p", "working pressure left at the charge's temperature", Kind.pressure, below="hot")
_RATED = Sign("p", "working pressure, as rated", Kind.pressure, below="rated")
_HOT = Sign("T", "charge at its hottest", Kind.temperature)
_RATED_AT = Sign("T", "temperature that the rating holds at", Kind.temperature, below="rated")
_LIMIT = Sign("T", "temperature limit of the material", Kind.temperature, below="limit")
_TESTED = Sign("T", "test temperature of its type letter", Kind.temperature, below="test")
_KEPT_UNDER = Sign("ΔT", "kept under it", Kind.temperature_difference)
_LEFT = Sign("k", "part of the rating that is left at the limit", Kind.ratio)
_HIGHEST = Sign("p", "highest boost there is", Kind.pressure, below="highest")

_LIMIT_LINE = is_(_LIMIT, _TESTED - _KEPT_UNDER)


def hose_pressure() -> Example:
    """A coupler rated at room temperature, in hot charge air."""
    coupler = replace(bench.hose(1, 60.0), rated_pressure=2.0 * bench.BAR, rated_temperature=293.15)
    case = bench.charge(coupler)
    facts = bench.facts(case)
    tested = RUBBERS[coupler.material].test_temperature
    limit = tested - facts.limit("hose.derating")
    given = {
        _RATED: 2.0 * bench.BAR,
        _HOT: facts.engine.hottest,
        _RATED_AT: 293.15,
        _TESTED: tested,
        _KEPT_UNDER: facts.limit("hose.derating"),
        _LEFT: KEPT_AT_LIMIT,
        _HIGHEST: facts.engine.highest_boost,
    }
    told = (Told(_STANDS, "piece.1"), Told(_HIGHEST, "piece.1", "limit"))
    same = {_STANDS: derated(2.0 * bench.BAR, 293.15, limit, facts.engine.hottest)}
    text = (
        "A coupler of lined silicone rated 2 bar at 20 °C, right after the compressor; over-boost is 1.3 bar."
    )
    return Example(text, case, given, told, same)


_INSIDE = Sign("T", "air inside the hose at its hottest", Kind.temperature, below="inside")
_AROUND = Sign("T", "air under the bonnet", Kind.temperature, below="around")


def hose_heat() -> Example:
    """A coupler of nitrile rubber in hot charge air."""
    case = bench.charge(bench.hose(1, 60.0, material="NBR"))
    facts = bench.facts(case)
    given = {
        _TESTED: RUBBERS["NBR"].test_temperature,
        _KEPT_UNDER: facts.limit("hose.derating"),
        _INSIDE: facts.engine.hottest,
        _AROUND: facts.engine.bonnet_temperature,
    }
    told = (
        Told(_INSIDE, "piece.1.inside"),
        Told(_LIMIT, "piece.1.inside", "limit"),
        Told(_AROUND, "piece.1.around"),
    )
    text = "A coupler of NBR, type letter B, right after the compressor."
    return Example(text, case, given, told)


_MATERIAL = Sign("R", "material of a hose after the breather's port")
_STAND_MIST = Sign("S", "materials that stand oil mist")
_SOFTEN = Sign("W", "materials that soften in it")


def hose_fluid() -> Example:
    """A plain silicone coupler after the breather."""
    breather = PortPlan(
        21, "Breather", EndForm.BARB, Stretch.AFTER_METER, "oil mist", sizes=bench.sizes(bore=16.0)
    )
    tube = replace(bench.tube(2, 84.0), bungs=(bench.drilled(31, "Breather", 100.0, 16.0, 21),))
    case = bench.intake(bench.hose(1, 84.0), tube, bench.hose(3, 84.0, material="silicone"))
    case = replace(case, plan=replace(case.plan, side_ports=(breather,)))
    given: dict[Sign, Value] = {
        _MATERIAL: case.plan.pieces[2].material,
        _STAND_MIST: tuple(rubber.name for rubber in RUBBERS.values() if rubber.stands_oil_mist),
        _SOFTEN: tuple(rubber.name for rubber in RUBBERS.values() if not rubber.stands_oil_mist),
    }
    text = "A breather ends in the intake's tube; the coupler behind it is of plain silicone."
    return Example(text, case, given)


_INNER = Sign("R", "material of the hose")
_STANDS_IT = Sign("S", "materials that stand what flows there", below="fluid")


def oil_and_fuel_hose() -> Example:
    """A drain of plain silicone."""
    rubber = bench.piece(1, PieceKind.HOSE, "silicone", bore=19.0, wall=4.0, length=300.0)
    ends = [
        bench.port(n, name, outside_diameter=19.0, wall=1.0)
        for n, name in ((1, "Turbo's oil outlet"), (2, "Oil pan return"))
    ]
    joints = (bench.clamped(50, 20.0, 32.0), bench.clamped(51, 20.0, 32.0))
    case = bench.case(bench.run(Place.OIL_DRAIN, (rubber,), joints, *ends))
    given: dict[Sign, Value] = {
        _INNER: rubber.material,
        _STANDS_IT: tuple(sorted(STAND_FLUID[Place.OIL_DRAIN])),
    }
    return Example("An oil drain of plain silicone hose under a turbo.", case, given)


EXPLAINED = (
    Explained(
        "meter-range",
        (is_(_SHARE, _FLOW / _READS), at_most(_SHARE, _MOST)),
        meter_range,
        (at_most(_SHARE, 1.0),),
    ),
    Explained(
        "meter-straights",
        (at_least(_AHEAD, _BORES_AHEAD * _METER), at_least(_BEHIND, _BORES_BEHIND * _METER)),
        meter_straights,
        notes=(
            "Length counts up to the first bend, its leg included; of a hose, what lies between its spigots.",
        ),
    ),
    Explained(
        "meter-housing",
        (is_(_REPORTS, (_MADE_FOR / _FITTED) ** 2), at_most(Size(_FITTED - _MADE_FOR), _SLACK)),
        meter_housing,
        notes=("A new pipe just before the meter counts as a change too. Re-scaled and said so, both pass.",),
    ),
    Explained(
        "hose-pressure",
        (
            _LIMIT_LINE,
            is_(_STANDS, _RATED * (1.0 - (1.0 - _LEFT) * ((_HOT - _RATED_AT) / (_LIMIT - _RATED_AT)))),
            at_least(_STANDS, _HIGHEST),
        ),
        hose_pressure,
        notes=(
            "Up to the temperature that it is rated at, the whole rating stands.",
            "A maker's table goes before this: straight between its rows, and not known beyond its last.",
        ),
    ),
    Explained(
        "hose-heat",
        (_LIMIT_LINE, at_most(_INSIDE, _LIMIT), at_most(_AROUND, _LIMIT)),
        hose_heat,
    ),
    Explained("hose-fluid", (among(_MATERIAL, _STAND_MIST),), hose_fluid, (among(_MATERIAL, _SOFTEN),)),
    Explained("oil-and-fuel-hose", (among(_INNER, _STANDS_IT),), oil_and_fuel_hose),
)
