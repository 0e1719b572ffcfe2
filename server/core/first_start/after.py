"""The stages from the first run to the look after 50 km. Source of each step: common practice, no source."""

from server.core.first_start.before import BAR, FUEL_FIRE, GAS, TURNING, UNDER
from server.core.first_start.stage import Bound, CarFacts, Number, Sense, Signal, Stage, StageCaution, Tick
from server.core.units import Kind

MOST_FALL_OF_FUEL = 0.1
"""How far fuel pressure over manifold pressure may fall under load, of what it is at rest [-]. Source: common
practice, no source."""

HOT = StageCaution(
    Signal.WARNING,
    "Turbine, manifold and exhaust burn skin long after the engine stops. Engine off and cold before a hand "
    "goes in.",
)
SCALD = StageCaution(
    Signal.WARNING,
    "Coolant is under pressure: never open a hot cap, it flashes to steam. Level again when cold.",
)
ROAD = StageCaution(
    Signal.DANGER,
    "Boost without a limit breaks engines and people. Rollers or a closed road, belts on, one drives and "
    "another reads. Foot off at the first stop limit. Road law, inspection and the insurer's terms count.",
)


def _leak_look(_car: CarFacts) -> Stage:
    return Stage(
        "leak-look",
        "Leak look",
        "A weep found now is a washer; found later it is a fire.",
        (
            Tick("oil", "Oil feed, drain and filter dry, with torch and paper"),
            Tick("fuel", "Fuel rail, lines and tank dry, no smell"),
            Tick("water", "Coolant joints dry, level steady"),
            Tick(
                "air",
                "Joints behind the throttle soaped at idle; exhaust joints felt for with a glove held near",
            ),
        ),
        cautions=(FUEL_FIRE, HOT),
    )


def _heat_soak(car: CarFacts) -> Stage:
    water = (Tick("thermosiphon", "No boiling at the turbo after it stopped"),) if car.turbo_water else ()
    return Stage(
        "heat-soak",
        "Heat soak",
        "What is too near to the turbine browns after the engine stops, not before.",
        (
            Tick("warm", "Warm at idle until the fan has run, then off, bonnet shut, 20 min"),
            Tick("smell", "Nothing browned, softened or smelling near turbine and exhaust"),
            *water,
        ),
        cautions=(GAS, HOT),
    )


def _clamps_cold(_car: CarFacts) -> Stage:
    return Stage(
        "clamps-cold",
        "Clamps and nuts again, cold",
        "Rubber and gaskets settle with the first heat.",
        (
            Tick("cold", "Cold to the hand everywhere"),
            Tick("clamps", "Every clamp tried again, paint lines still in line"),
            Tick("nuts", "Manifold and turbo nuts again, where the maker does not forbid it"),
        ),
        cautions=(UNDER, HOT),
    )


def _bled(_car: CarFacts) -> Stage:
    return Stage(
        "bled",
        "Coolant bled",
        "Air in the head or the turbo boils before any gauge tells.",
        (
            Tick("heater", "Heater on full, bled until no air comes, fan run twice"),
            Tick("hot-air", "Heater blows hot at idle"),
            Tick("level", "Level made up again, cold"),
        ),
        cautions=(SCALD, TURNING),
    )


def _calibration(car: CarFacts) -> Stage:
    meter = (
        Tick("meter", "Matched to the meter housing fitted, re-scaled where its bore changed")
        if car.has_meter
        else Tick("meter", "Matched to the pressure and temperature sensors it reckons air by")
    )
    return Stage(
        "calibration",
        "Calibration matched",
        "An engine that counts its air or fuel wrong runs lean just when it matters.",
        (
            Tick("injectors", "Matched to the injectors and fuel pressure fitted"),
            meter,
            Tick("sensors", "Matched to the sensors fitted, each read against a known value"),
            Tick("kept", "The calibration before it kept, readable again"),
        ),
        cautions=(
            StageCaution(
                Signal.NOTICE,
                "A wrong calibration melts pistons in seconds under boost. Where you live it may need a "
                "licensed workshop and a new inspection.",
            ),
        ),
    )


def _wideband(_car: CarFacts) -> Stage:
    return Stage(
        "wideband",
        "Wideband proved",
        "Every later step trusts this one figure.",
        (
            Tick("air", "Reads free air as its maker says"),
            Tick("log", "Log and display say the same; it follows a change at idle"),
            Tick("tight", "No exhaust leak ahead of it"),
        ),
        cautions=(HOT,),
    )


def _fuel_load(_car: CarFacts) -> Stage:
    return Stage(
        "fuel-load",
        "Fuel pressure logged under load",
        "A pump that keeps up at idle may not keep up at load.",
        (Tick("logged", "Logged at as much load as comes without boost"),),
        (
            Number(
                "fuel-idle",
                "Fuel over manifold pressure, at idle",
                Kind.pressure,
                0.2 * BAR,
                200 * BAR,
                "bar",
                "psi",
            ),
            Number("fuel-least", "The least of it under load", Kind.pressure, 0.0, 200 * BAR, "bar", "psi"),
        ),
        (
            Bound(
                "fuel-least",
                Sense.AT_LEAST,
                "Fuel pressure falls by more than a tenth: pump, filter, wiring and regulator first.",
                than="fuel-idle",
                share=1.0 - MOST_FALL_OF_FUEL,
            ),
        ),
        (
            StageCaution(
                Signal.DANGER,
                "Gauge and hose of a fuel pressure test stay out of the car's cabin and clear of heat. One "
                "drives, another reads.",
            ),
            FUEL_FIRE,
        ),
    )


def _cut(car: CarFacts) -> Stage:
    return Stage(
        "cut",
        "Over-boost cut proved, stop limits written",
        "When a hose comes off, the cut is all that is left; a limit made up afterwards is none.",
        (
            Tick("set", "Cut proved by setting it below spring pressure; set to its value again, read back"),
            Tick("watch", "Knock and charge temperature shown to who watches"),
        ),
        (
            Number(
                "limit-boost", "Stop limit: boost, gauge", Kind.pressure, 0.1 * BAR, 5 * BAR, "bar", "psi"
            ),
            Number("limit-lambda", "Stop limit: leanest mixture under boost, lambda", Kind.ratio, 0.6, 1.1),
            Number(
                "limit-charge", "Stop limit: charge temperature", Kind.temperature, 273.15, 423.15, "°C", "°F"
            ),
        ),
        _at_most(
            "limit-boost", "The stop limit stands above the highest boost of the engine sheet.", car.overboost
        ),
        (ROAD,),
    )


def _spring(car: CarFacts) -> Stage:
    solenoid = (
        (Tick("solenoid", "Boost solenoid disconnected, its hoses as for spring pressure"),)
        if car.solenoid
        else ()
    )
    return Stage(
        "spring",
        "First drive on spring pressure",
        "Only what the spring allows, until the log is read.",
        (
            Tick("brakes", "Brakes tried at walking pace, wheel nuts torqued"),
            Tick("lawful", "Insurer told, inspected as local rules ask"),
            *solenoid,
            Tick("log", "Logged: short pulls in a middle gear, the log read between"),
        ),
        _seen("spring", "at spring pressure"),
        _within("spring"),
        (ROAD, HOT),
    )


def _steps(car: CarFacts) -> Stage:
    return Stage(
        "steps",
        "Boost raised in small steps",
        "Each step is judged on its log before the next.",
        (
            Tick("small", "Small steps, each with its log read before the next"),
            Tick("knock", "No knock in any of them"),
            Tick("limits", "Stop limits as they were written; none was moved"),
        ),
        _seen("steps", "at the last step"),
        (
            *_within("steps"),
            *_at_most("steps-boost", "Boost is above what the engine sheet intends.", car.boost),
        ),
        (ROAD,),
    )


def _after_50(_car: CarFacts) -> Stage:
    return Stage(
        "after-50",
        "Second look after 50 km",
        "What creeps has crept by then.",
        (
            Tick("driven", "50 km driven, engine cold"),
            Tick("lines", "Paint lines in line, couplers where they were"),
            Tick("dry", "Oil, fuel and coolant dry, levels at their marks"),
            Tick("torque", "Wheel nuts, exhaust and V-bands torqued again"),
            Tick("oil", "Oil and filter changed early, filter cut open: no glitter"),
        ),
        cautions=(UNDER, HOT),
    )


def _seen(stage: str, when: str) -> tuple[Number, ...]:
    """What a run under boost came to."""
    return (
        Number(f"{stage}-boost", f"Highest boost {when}, gauge", Kind.pressure, 0.0, 5 * BAR, "bar", "psi"),
        Number(f"{stage}-lambda", f"Leanest mixture {when}, lambda", Kind.ratio, 0.5, 2.0),
        Number(
            f"{stage}-charge",
            f"Highest charge temperature {when}",
            Kind.temperature,
            253.15,
            523.15,
            "°C",
            "°F",
        ),
    )


def _within(stage: str) -> tuple[Bound, ...]:
    """That it kept to the stop limits."""
    names = {"boost": "Boost", "lambda": "Mixture", "charge": "Charge temperature"}
    return tuple(
        Bound(
            f"{stage}-{what}",
            Sense.AT_MOST,
            f"{name} passed its stop limit: foot off, home. Find out why before another run.",
            than=f"limit-{what}",
        )
        for what, name in names.items()
    )


def _at_most(number: str, words: str, limit: float | None) -> tuple[Bound, ...]:
    return () if limit is None else (Bound(number, Sense.AT_MOST, words, limit=limit),)


AFTER = (
    _leak_look,
    _heat_soak,
    _clamps_cold,
    _bled,
    _calibration,
    _wideband,
    _fuel_load,
    _cut,
    _spring,
    _steps,
    _after_50,
)
