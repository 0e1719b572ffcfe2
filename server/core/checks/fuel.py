"""Rules of the fuel supply: injectors that have time to shut, a pump that keeps up, a line wide enough."""

from math import pi

from server.core.air.fuel_supply import (
    Injector,
    PumpPoint,
    duty,
    fuel_for_air,
    injector_flow,
    pump_faults,
    pump_flow,
    pump_need,
    rail_pressure,
)
from server.core.air.fuels import FUELS, Fuel
from server.core.checks.facts import Facts
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    About,
    Caution,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    SignalWord,
    plain,
)
from server.core.phrase import Amount, Phrase, percent, pressure
from server.core.sources import source
from server.core.tube.run import Place
from server.core.units import Kind

FUEL = frozenset({Place.FUEL})
_FLOW = "cc/min"
_MORE_FUEL = Phrase("Larger injectors, more fuel pressure that follows boost, or less boost.")

_LEAN = Caution(
    SignalWord.DANGER,
    "An engine that runs short of fuel under boost burns its pistons within seconds, and fuel under pressure"
    " feeds a fire. No boost before pressure is logged under load; depressurise before a line is opened,"
    " extinguisher at hand. The makers' figures, local codes and licensed practice come first.",
)


def fuel_of(facts: Facts) -> Fuel:
    """The fuel of the engine sheet. Raises NotMeasured where there is none."""
    return FUELS[facts.sheet.fuel]


def burnt(facts: Facts) -> float:
    """Fuel that the engine burns at its peak [kg/s]; source: `air.fuel_supply`. Raises NotMeasured."""
    return fuel_for_air(facts.engine.flow, fuel_of(facts), facts.engine.mixture)


def rail(facts: Facts) -> tuple[float, float]:
    """Gauge pressure in the rail and across the injectors at the peak [Pa]. Raises NotMeasured."""
    referenced = facts.said("fuel.referenced") == "yes"
    found = rail_pressure(facts.figure("fuel.base_pressure"), facts.engine.boost, referenced)
    return found.rail, found.across


def injector_duty(facts: Facts) -> Findings:
    """Share of the time that the injectors stand open at the peak. Source: `air.fuel_supply.duty`."""
    _, across = rail(facts)
    dead_time = facts.figure("fuel.dead_time")
    one = Injector(facts.figure("fuel.injector_flow"), facts.figure("fuel.rated_pressure"), dead_time)
    count = max(round(facts.figure("fuel.injectors")), 1)
    flowing = injector_flow(one, across, fuel_of(facts).density)
    if flowing is None:
        text = Phrase("Boost is as high as the fuel pressure: no fuel flows at the peak.")
        return (plain("injectors", False, lambda: About(text, moves=(_MORE_FUEL,))),)
    share = duty(burnt(facts), facts.engine.demand.rpm, count, flowing.flow, dead_time).share
    most = facts.limit("fuel.duty")

    def about() -> About:
        amounts = {
            "share": percent(share),
            "most": percent(most),
            "across": pressure(across),
            "speed": Amount(facts.engine.demand.rpm * pi / 30.0, Kind.rotation),
        }
        text = "At {speed} the injectors stand open {share} of the time, {across} across them; up to {most}."
        larger = Phrase("Injectors of {value} each turn this to go.")
        return About(
            Phrase(text, {}, amounts),
            value=share,
            limit=most,
            kind=Kind.ratio,
            tight_margin=1.0 - share,
            levers=(Lever("figure.fuel.injector_flow", larger, kind=Kind.volume_flow, unit=_FLOW),),
            moves=(_MORE_FUEL,),
        )

    return (Found("injectors", most - share, about),)


def pump_keeps_up(facts: Facts) -> Findings:
    """What the pump gives against the rail's pressure, over what is burnt. Source: `air.fuel_supply`."""
    against, _ = rail(facts)
    reserve = facts.limit("fuel.reserve")
    table = tuple(PumpPoint(*row) for row in facts.table("fuel.pump"))
    faults = pump_faults(table)
    if faults:
        raise NotMeasured(Phrase(faults[0]), "figure.fuel.pump")
    given = pump_flow(table, against)
    needed = pump_need(burnt(facts), fuel_of(facts).density, reserve)
    if given.flow is None:
        text = "The rail asks for {against}: {reason} Type what the pump gives there."
        raise NotMeasured(
            Phrase(text, {"reason": given.reason}, {"against": pressure(against)}), "figure.fuel.pump"
        )
    flow = given.flow

    def about() -> About:
        amounts = {
            "given": Amount(flow, Kind.volume_flow, _FLOW),
            "needed": Amount(needed, Kind.volume_flow, _FLOW),
            "against": pressure(against),
            "reserve": percent(reserve),
        }
        text = "Against {against} the pump gives {given}; the engine and {reserve} of reserve take {needed}."
        return About(
            Phrase(text, {}, amounts),
            value=flow,
            limit=needed,
            kind=Kind.volume_flow,
            moves=(Phrase("A pump that gives {needed} against {against}, or a second one.", {}, amounts),),
        )

    return (Found("pump", flow - needed, about),)


def feed_line(facts: Facts) -> Findings:
    """Speed in the feed line at what engine and reserve take. Source: continuity; the limit, none."""
    most = facts.limit("fuel.speed")
    bore = facts.figure("fuel.line_bore")
    needed = pump_need(burnt(facts), fuel_of(facts).density, facts.limit("fuel.reserve"))
    speed = needed / (0.25 * pi * bore**2)

    def about() -> About:
        amounts = {"speed": Amount(speed, Kind.speed), "most": Amount(most, Kind.speed)}
        return About(
            Phrase("Fuel runs at {speed} in the feed line; up to {most} is usual.", {}, amounts),
            value=speed,
            limit=most,
            kind=Kind.speed,
            tight_margin=2.0 * most - speed,
            levers=(Lever("figure.fuel.line_bore", Phrase("A feed line of {value} bore turns this to go.")),),
        )

    return (Found("feed line", most - speed, about),)


RULES = (
    Rule(
        "injector-duty",
        "Injectors have time to shut",
        FUEL,
        RuleClass.PERFORMANCE,
        "share = (ṁ(fuel) · t / (n · ṁ(one)) + dead time) / t, t = 120 / rpm; flow as √p",
        "Share of the time that they stand open at the peak; above the limit and still shutting is tight.",
        ("fuel.duty",),
        (source("conservation"), source("practice")),
        _LEAN,
        injector_duty,
        on_figures=True,
    ),
    Rule(
        "pump-flow",
        "The fuel pump keeps up",
        FUEL,
        RuleClass.INJURY,
        "V(pump at p(base) + boost) ≥ (1 + reserve) · ṁ(air) / (λ · stoichiometric ratio · ρ)",
        "By its maker's table at the rail's pressure, between its rows and never beyond them.",
        ("fuel.reserve",),
        (source("conservation"), source("typed"), source("practice")),
        _LEAN,
        pump_keeps_up,
        on_figures=True,
    ),
    Rule(
        "fuel-line",
        "Bore of the fuel feed line",
        FUEL,
        RuleClass.PERFORMANCE,
        "v = V / (π D² / 4)",
        "Speed in the line at what engine and reserve take; up to twice the limit is tight.",
        ("fuel.speed", "fuel.reserve"),
        (source("conservation"), source("practice")),
        None,
        feed_line,
        on_figures=True,
    ),
)
