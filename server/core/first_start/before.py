"""The stages up to the first run. Source of each step: common practice, no source."""

from server.core.first_start.stage import (
    Bound,
    CarFacts,
    Number,
    Sense,
    Signal,
    Stage,
    StageCaution,
    Tick,
)
from server.core.units import Kind

BAR = 100_000.0
OIL_WITHIN, DRAIN_WITHIN = 5.0, 30.0
"""From the first firing to pressure on the gauge, and to oil seen in the drain [s]. Source: common practice,
no source."""
CRANK_BURST = 10.0
"""Longest burst of the starter [s]. Source: common practice, no source."""

UNDER = StageCaution(
    Signal.DANGER,
    "A car on a jack alone falls and kills. Rigid stands on firm level ground, wheels chocked; nobody "
    "beneath while anything turns.",
)
FUEL_FIRE = StageCaution(
    Signal.DANGER,
    "Fuel vapour burns from one spark. Outdoors or in moving air, engine cold, no flame, lamp or heater that "
    "sparks; extinguisher in reach. Fuel lines may be work for a licensed person where you live.",
)
GAS = StageCaution(
    Signal.DANGER,
    "Exhaust gas kills indoors without a smell. Car outside, or the gas led outside and doors open on both "
    "sides. A headache: everybody out.",
)
TURNING = StageCaution(
    Signal.WARNING,
    "Belts and fans take fingers, hair and sleeves, and a fan starts by itself. Neutral or park, hand brake "
    "on, wheels chocked, tools out of the bay.",
)


def _connections(car: CarFacts) -> Stage:
    servo = (Tick("servo", "Brake servo hose and its valve tugged at both ends"),) if car.servo else ()
    return Stage(
        "connections",
        "Connections closed and looked at twice",
        "A hose that hangs loose is found by the fault it makes: a fire, a lean engine, boost with no limit.",
        (
            Tick("paint", "Paint line across every joint that can slip"),
            Tick("clamps", "Every clamp behind its bead, no screw against a hose"),
            *servo,
        ),
        cautions=(
            UNDER,
            StageCaution(
                Signal.WARNING,
                "Follow lines with the engine cold and the battery's earth off. Refrigerant is never opened "
                "without a licensed person.",
            ),
        ),
    )


def _fluids(car: CarFacts) -> Stage:
    water = (
        (Tick("coolant", "Coolant filled, bleeds opened until water comes, cap on"),) if car.coolant else ()
    )
    return Stage(
        "fluids",
        "Fluids filled",
        "An engine that starts short of oil or water is worn before it is warm.",
        (
            Tick("oil", "New filter, oil of the maker's grade to the mark, plug torqued"),
            *water,
            Tick("others", "Brake, clutch, steering and gearbox fluid at their marks"),
            Tick("dry", "Floor dry below the car after an hour"),
        ),
        cautions=(
            StageCaution(
                Signal.WARNING,
                "Never open a hot cap: the water flashes to steam. Used oil harms skin, coolant poisons "
                "animals: gloves on, catch all of it.",
            ),
        ),
    )


def _oil_by_hand(_car: CarFacts) -> Stage:
    return Stage(
        "oil-by-hand",
        "Turbo filled by hand with clean oil",
        "A dry bearing is ruined in the seconds before the pump's oil comes.",
        (
            Tick("fill", "Clean oil poured into the feed until it stands, wheel turned by a clean finger"),
            Tick("feed", "Feed on again to its torque, new washers, wiped dry"),
            Tick("restrictor", "A restrictor only where the turbo's drawing asks for one"),
            Tick("drain", "Drain downhill all the way, settled how its flow will be seen"),
        ),
        cautions=(
            StageCaution(
                Signal.WARNING, "Oil on a turbine or manifold is a fire later: wipe off every drop now."
            ),
            StageCaution(
                Signal.NOTICE, "Dirt in the feed ends the bearing: clean can, clean rag, port covered."
            ),
        ),
    )


def _disabled(_car: CarFacts) -> Stage:
    return Stage(
        "disabled",
        "Injection and ignition both disabled",
        "Fuel without a spark washes the bores; a spark without fuel may light what is there.",
        (
            Tick("injection", "Injection off: its relay, fuse or plugs out, as the manual says"),
            Tick("ignition", "Ignition off at its supply; no coil lead left open"),
            Tick("proved", "One short turn of the key: it neither fires nor smells of fuel"),
        ),
        cautions=(
            StageCaution(
                Signal.WARNING,
                "An ignition coil gives a shock that throws people and lights fuel vapour. Key out before a "
                "plug is touched; who has a pacemaker stays away.",
            ),
            TURNING,
        ),
    )


def _cranking(_car: CarFacts) -> Stage:
    return Stage(
        "cranking",
        "Cranked in short bursts until the gauge reads",
        "Oil has to be everywhere before anything runs fast.",
        (
            Tick("bursts", f"Bursts of {CRANK_BURST:g} s or less, a minute's rest between"),
            Tick("feed-dry", "Oil feed and drain dry outside, looked at with a torch"),
            Tick("enabled", "Afterwards injection and ignition connected again, listed and counted"),
        ),
        (Number("crank-oil", "Oil pressure while cranking", Kind.pressure, 0.0, 10 * BAR, "bar", "psi"),),
        (
            Bound(
                "crank-oil",
                Sense.AT_LEAST,
                "The gauge does not read: no start. Sender, feed, filter, pick-up, in that order.",
                limit=0.1 * BAR,
            ),
        ),
        (
            UNDER,
            TURNING,
            StageCaution(Signal.NOTICE, "A starter burns out in long bursts: hand on it, let it cool."),
        ),
    )


def _fuel(_car: CarFacts) -> Stage:
    return Stage(
        "fuel",
        "Fuel pressure and leak look",
        "A leak is found with the engine cold and off, not over a hot turbine.",
        (
            Tick("extinguisher", "Extinguisher for fuel in reach, one person at the key"),
            Tick("primed", "Pump switched on three times, engine off"),
            Tick("dry", "Every joint from tank to rail wiped, then felt dry with paper"),
            Tick("holds", "Pressure holds as the manual says with the pump off"),
        ),
        (Number("fuel-set", "Fuel pressure at rest", Kind.pressure, 0.2 * BAR, 200 * BAR, "bar", "psi"),),
        cautions=(
            FUEL_FIRE,
            StageCaution(
                Signal.WARNING,
                "Fuel under pressure enters skin and eyes: goggles and gloves on, never a bare hand along a "
                "line. A spray into skin is for the hospital at once.",
            ),
        ),
    )


def _electrical(_car: CarFacts) -> Stage:
    return Stage(
        "electrical",
        "Wiring",
        "A chafed or unfused wire burns the car down with nobody in it.",
        (
            Tick("fused", "Every new wire fused at its source, tied clear of hot and moving parts"),
            Tick("earths", "Earth straps on engine and body, bare metal, tight"),
            Tick("sensors", "Every plug clicked home; sensors read air outside, engine off"),
            Tick("battery", "Battery tied down, earth lead on last"),
        ),
        cautions=(
            StageCaution(
                Signal.WARNING,
                "Air bags and belt tensioners go off by a wrong touch: wait as the manual says, and leave "
                "their plugs to a licensed hand.",
            ),
            StageCaution(
                Signal.WARNING,
                "A battery makes gas that explodes: no spark near it; rings and watch off.",
            ),
        ),
    )


def _fire(_car: CarFacts) -> Stage:
    return Stage(
        "fire",
        "Extinguisher and helper at hand",
        "A fire is put out in its first seconds or not at all, and never by who is at the key.",
        (
            Tick("in-date", "Extinguisher for fuel and wiring, in date, seal whole, by the helper's hand"),
            Tick("helper", "Helper present who knows: key off first, battery, then the extinguisher"),
            Tick("watch", "Settled who watches gauge, drain and floor, and the word for stop"),
            Tick("phone", "Phone at hand, way out clear"),
        ),
        cautions=(
            StageCaution(
                Signal.DANGER,
                "Never fight a fire that is between you and the way out, or that one extinguisher did not "
                "stop: out, and call the fire brigade. A burning bonnet is not opened wide.",
            ),
        ),
    )


def _gas(_car: CarFacts) -> Stage:
    return Stage(
        "gas",
        "Exhaust gas goes outdoors",
        "Carbon monoxide fills a garage in minutes.",
        (
            Tick("outside", "Car outside, or gas led out and doors open on both sides"),
            Tick("alarm", "Carbon monoxide alarm on where a house is joined"),
            Tick("nobody", "Nobody beneath, children and animals away"),
        ),
        cautions=(GAS,),
    )


def _loose(_car: CarFacts) -> Stage:
    return Stage(
        "loose",
        "Nothing loose ahead of the wheel",
        "A rag or nut in the intake ends the wheel, and its pieces end the engine.",
        (
            Tick("torch", "Torch and mirror into every pipe before its last coupler"),
            Tick("flushed", "Cut and beaded pipes flushed and dry"),
            Tick("covers", "Covers of turbine, oil, water and injector ports out"),
            Tick("blanks", "Blanks of the pressure test out, throttle coupler closed, breather on again"),
            Tick("tools", "Tools counted back, nothing on the turbo or the battery"),
        ),
        (
            Number("plugs-in", "Plugs, rags and blanks counted in", None, 0, 500),
            Number("plugs-out", "Plugs, rags and blanks counted out", None, 0, 500),
        ),
        (
            Bound(
                "plugs-out",
                Sense.SAME,
                "The counts differ: nothing is started until each is found.",
                than="plugs-in",
            ),
        ),
        (
            StageCaution(
                Signal.WARNING,
                "An open compressor inlet pulls in sleeves, rags and fingers: filter on before it runs.",
            ),
        ),
    )


def _first_run(car: CarFacts) -> Stage:
    changed = (
        (Tick("map", "Loaded calibration knows these injectors and this meter, at least for idle"),)
        if car.fuel_changed or car.has_meter
        else ()
    )
    return Stage(
        "first-run",
        "First run, no revs",
        "All that is wrong shows in the first minute, if somebody watches.",
        (
            *changed,
            Tick(
                "read-out", "Stop limits read aloud: no oil pressure, no drain flow, fuel, smoke, noise: off"
            ),
            Tick("idle", "Idled only; brake pedal firm, no warning lamp that stays"),
        ),
        (
            Number("oil-after", "Oil pressure came after", Kind.time, 0.0, 600.0, "s", "s"),
            Number("drain-after", "Drain flow seen after", Kind.time, 0.0, 600.0, "s", "s"),
            Number("idle-oil", "Oil pressure at idle", Kind.pressure, 0.0, 20 * BAR, "bar", "psi"),
        ),
        (
            Bound(
                "oil-after",
                Sense.AT_MOST,
                "Pressure came too late: engine off. Find out why, and prime it again.",
                limit=OIL_WITHIN,
            ),
            Bound(
                "drain-after",
                Sense.AT_MOST,
                "Drain flow came too late: engine off. Feed, drain and crankcase venting first.",
                limit=DRAIN_WITHIN,
            ),
            Bound(
                "idle-oil",
                Sense.AT_LEAST,
                "No pressure to speak of: engine off, and ask the maker's manual for the least.",
                limit=0.3 * BAR,
            ),
        ),
        (
            GAS,
            StageCaution(
                Signal.DANGER,
                "Oil or fuel on a hot turbine is a fire. Watch from beside it, never from beneath; helper "
                "with the extinguisher on the other side.",
            ),
            TURNING,
        ),
    )


BEFORE = (
    _connections,
    _fluids,
    _oil_by_hand,
    _disabled,
    _cranking,
    _fuel,
    _electrical,
    _fire,
    _gas,
    _loose,
    _first_run,
)
