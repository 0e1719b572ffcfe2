"""Rules of the fuel supply, explained: injectors, pump and feed line."""

from math import pi

from server.core.air.fuel_supply import PumpPoint, pump_flow, pump_need
from server.core.checks import fuel
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import PI, Root, Sign, Value, at_least, at_most, is_
from server.core.checks.case import Case
from server.core.units import Kind

_AIR = Sign("m", "air at the peak", Kind.mass_flow, below="air")
_FUEL = Sign("m", "fuel that the engine burns", Kind.mass_flow, below="fuel")
_MIXTURE = Sign("λ", "mixture at the peak, 1 where air and fuel use each other up", Kind.ratio)
_RATIO = Sign("L", "air over fuel by mass where they use each other up", below="st")
_DENSITY = Sign("ρ", "density of the fuel", Kind.density)
_BURNT = is_(_FUEL, _AIR / (_MIXTURE * _RATIO))


def burnt(case: Case) -> dict[Sign, Value]:
    """What the line of the fuel that is burnt starts from [SI]."""
    facts = bench.facts(case)
    liquid = fuel.fuel_of(facts)
    return {
        _AIR: facts.engine.flow,
        _MIXTURE: facts.engine.mixture,
        _RATIO: liquid.stoichiometric_ratio,
        _DENSITY: liquid.density,
    }


_GIVEN = Sign("V", "flow of one injector in its maker's test", Kind.volume_flow, "cc/min", below="test")
_RATED = Sign("p", "pressure of that test", Kind.pressure, below="test")
_ACROSS = Sign("p", "across the injectors at the peak", Kind.pressure, below="across")
_ONE = Sign("m", "flow of one, held open at the peak", Kind.mass_flow, below="one")
_COUNT = Sign("n", "injectors")
_SPEED = Sign("ω", "engine speed at the peak", Kind.rotation)
_CYCLE = Sign("t", "time of a cycle, two turns", unit="s")
_DEAD = Sign("τ", "dead time of an injector", unit="s")
_SHARE = Sign("D", "share of the time that it stands open", Kind.ratio, "percent")
_MOST = Sign("D", "share that passes", Kind.ratio, "percent", below="most")


def injectors() -> Example:
    """Four injectors of 550 cc/min."""
    case = bench.fuel_supply()
    facts = bench.facts(case)
    given = burnt(case) | {
        _GIVEN: facts.figure("fuel.injector_flow"),
        _RATED: facts.figure("fuel.rated_pressure"),
        _ACROSS: fuel.rail(facts)[1],
        _COUNT: facts.figure("fuel.injectors"),
        _SPEED: facts.engine.demand.rpm * pi / 30.0,
        _DEAD: facts.figure("fuel.dead_time"),
        _MOST: facts.limit("fuel.duty"),
    }
    text = "Four injectors of 550 cc/min at 3 bar, a regulator that follows boost, 0.9 ms of dead time."
    told = (Told(_SHARE, "injectors"), Told(_MOST, "injectors", "limit"))
    return Example(text, case, given, told, {_FUEL: fuel.burnt(facts)})


_RESERVE = Sign("r", "reserve that returns to the tank", Kind.ratio, "percent")
_NEED = Sign("V", "that the pump has to give", Kind.volume_flow, "cc/min", below="need")
_GIVES = Sign("V", "that it gives against the rail, by its table", Kind.volume_flow, "cc/min", below="pump")
_NEEDED = is_(_NEED, (1.0 + _RESERVE) * _FUEL / _DENSITY)


def pump() -> Example:
    """A pump of 255 l/h at 3 bar."""
    case = bench.fuel_supply()
    facts = bench.facts(case)
    table = [PumpPoint(*row) for row in facts.table("fuel.pump")]
    gives = pump_flow(table, fuel.rail(facts)[0]).flow
    assert gives is not None  # the rail is within the table
    reserve = facts.limit("fuel.reserve")
    need = pump_need(fuel.burnt(facts), fuel.fuel_of(facts).density, reserve)
    given = burnt(case) | {_RESERVE: reserve, _GIVES: gives}
    text = "A pump that gives 255 l/h at 3 bar, 220 at 4 and 170 at 5; the rail follows boost from 3 bar."
    told = (Told(_GIVES, "pump"), Told(_NEED, "pump", "limit"))
    return Example(text, case, given, told, {_FUEL: fuel.burnt(facts), _NEED: need})


_BORE = Sign("d", "bore of the feed line", Kind.length)
_RUNS = Sign("v", "speed of the fuel in it", Kind.speed)
_FASTEST = Sign("v", "speed that is usual", Kind.speed, below="most")


def feed_line() -> Example:
    """A line of 8 mm bore."""
    case = bench.fuel_supply()
    facts = bench.facts(case)
    given = burnt(case) | {
        _RESERVE: facts.limit("fuel.reserve"),
        _BORE: facts.figure("fuel.line_bore"),
        _FASTEST: facts.limit("fuel.speed"),
    }
    told = (Told(_RUNS, "feed line"), Told(_FASTEST, "feed line", "limit"))
    text = "A feed line of 8 mm bore from tank to rail."
    return Example(text, case, given, told, {_FUEL: fuel.burnt(facts)})


EXPLAINED = (
    Explained(
        "injector-duty",
        (
            _BURNT,
            is_(_ONE, _GIVEN * Root(_ACROSS / _RATED) * _DENSITY),
            is_(_CYCLE, 4.0 * PI / _SPEED),
            is_(_SHARE, _FUEL / (_COUNT * _ONE) + _DEAD / _CYCLE),
            at_most(_SHARE, _MOST),
        ),
        injectors,
        (at_most(_SHARE, 1.0),),
        (
            "Where the regulator's hose does not go to the manifold, boost comes off what is across them.",
            "The test liquid is taken to be as dense as the fuel.",
        ),
    ),
    Explained(
        "pump-flow",
        (_BURNT, _NEEDED, at_least(_GIVES, _NEED)),
        pump,
        notes=("Between two rows of the table along a straight line, beyond its ends not at all.",),
    ),
    Explained(
        "fuel-line",
        (_BURNT, _NEEDED, is_(_RUNS, _NEED / (PI * _BORE**2 / 4.0)), at_most(_RUNS, _FASTEST)),
        feed_line,
        (at_most(_RUNS, 2.0 * _FASTEST),),
    ),
)
