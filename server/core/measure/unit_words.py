"""The words and signs that people write for units, by kind, and the pint name each one means.

Only these are understood: what stands in a reading is looked up here and never handed to a parser of
expressions. "Gallon", "ton" and the like are left out because they mean different things in different places.
"""

from server.core.units import Kind

_WORDS: dict[Kind, dict[str, str]] = {
    Kind.length: {
        "mm": "mm millimetre millimetres millimeter millimeters",
        "cm": "cm centimetre centimetres centimeter centimeters",
        "m": "m metre metres meter meters",
        "um": "µm um",
        "inch": 'in inch inches "',
        "foot": "ft foot feet '",
        "thou": "thou mil",
    },
    Kind.pressure: {
        "Pa": "pa",
        "hPa": "hpa",
        "kPa": "kpa",
        "MPa": "mpa",
        "mbar": "mbar",
        "bar": "bar",
        "psi": "psi lb/in2 lbf/in2",
        "inHg": "inhg",
        "mmHg": "mmhg",
        "inH2O": "inh2o",
        "kgf/cm**2": "kg/cm2 kgf/cm2",
        "atm": "atm",
    },
    Kind.temperature: {
        "degC": "°c c degc celsius",
        "degF": "°f f degf fahrenheit",
        "kelvin": "k kelvin",
    },
    Kind.temperature_difference: {
        "delta_degC": "°c c degc celsius k kelvin",
        "delta_degF": "°f f degf fahrenheit",
    },
    Kind.mass_flow: {
        "kg/s": "kg/s",
        "g/s": "g/s",
        "g/min": "g/min",
        "kg/min": "kg/min",
        "kg/hour": "kg/h",
        "lb/s": "lb/s",
        "lb/min": "lb/min lbs/min",
        "lb/hour": "lb/h lb/hr lbs/hr",
    },
    Kind.volume_flow: {
        "m**3/s": "m3/s",
        "m**3/min": "m3/min",
        "m**3/hour": "m3/h",
        "L/s": "l/s",
        "L/min": "l/min lpm",
        "L/hour": "l/h lph",
        "cm**3/min": "cc/min cm3/min ml/min",
        "foot**3/min": "cfm ft3/min",
    },
    Kind.angle: {"degree": "° deg degs degree degrees", "rad": "rad"},
    Kind.speed: {
        "m/s": "m/s",
        "km/hour": "km/h kmh kph",
        "mile/hour": "mph",
        "ft/s": "ft/s fps",
        "ft/min": "ft/min fpm",
    },
    Kind.power: {"W": "w", "kW": "kw", "hp": "hp bhp", "metric_horsepower": "ps cv"},
    Kind.force: {"N": "n", "kN": "kn", "lbf": "lbf", "kgf": "kgf"},
    Kind.mass: {"g": "g", "kg": "kg", "lb": "lb lbs", "oz": "oz"},
    Kind.volume: {
        "L": "l litre litres liter liters",
        "mL": "ml",
        "cm**3": "cc cm3 ccm",
        "m**3": "m3",
        "inch**3": "cuin in3 ci cid",
        "foot**3": "ft3 cuft",
    },
    Kind.ratio: {"percent": "% percent", "dimensionless": ":1"},
    Kind.size: {"AN": "an jic dash"},
    Kind.rotation: {"rpm": "rpm r/min rev/min 1/min min-1", "rad/s": "rad/s"},
    Kind.stress: {"Pa": "pa", "kPa": "kpa", "MPa": "mpa n/mm2", "GPa": "gpa", "psi": "psi", "ksi": "ksi"},
    Kind.density: {"kg/m**3": "kg/m3", "g/cm**3": "g/cm3 g/cc", "lb/foot**3": "lb/ft3"},
    Kind.time: {
        "millisecond": "ms millisecond milliseconds",
        "s": "s sec secs second seconds",
        "minute": "min mins minute minutes",
        "hour": "h hr hrs hour hours",
        "day": "d day days",
    },
}

UNIT_OF_WORD: dict[Kind, dict[str, str]] = {
    kind: {word: unit for unit, words in units.items() for word in words.split()}
    for kind, units in _WORDS.items()
}
"""For each kind: the word as written, in small letters and without spaces, to its pint name."""

USUAL_UNIT: dict[Kind, str] = {
    Kind.angle: "degree",
    Kind.ratio: "dimensionless",
    Kind.size: "AN",
    Kind.rotation: "rpm",
}
"""The unit of a bare number, for the kinds where people write only one."""

EXAMPLES: dict[Kind, str] = {
    Kind.length: '82.5 mm, 63,5 mm, 3 1/4 in, 2.5", 2\' 3 1/2"',
    Kind.pressure: "18 psi, 120 kPa, 1.1 bar g, 14.5 psia",
    Kind.temperature: "20 °C, 68 °F, 293 K",
    Kind.temperature_difference: "50 °C, 90 °F, 50 K",
    Kind.mass_flow: "0.25 kg/s, 250 g/s, 33 lb/min",
    Kind.volume_flow: "420 cfm, 200 l/s, 550 cc/min",
    Kind.angle: "42.5°, 42.5 deg",
    Kind.speed: "60 m/s, 200 ft/s, 100 km/h",
    Kind.power: "210 kW, 280 hp, 285 PS",
    Kind.force: "900 N, 200 lbf",
    Kind.mass: "1.2 kg, 2.6 lb",
    Kind.volume: "2.1 l, 2100 cc, 128 cu in",
    Kind.ratio: "0.95, 95 %, 9.5:1",
    Kind.size: "-10 AN, AN-10, -10",
    Kind.rotation: "6600 rpm",
    Kind.stress: "200 MPa, 29 ksi",
    Kind.density: "1.2 kg/m³, 0.075 lb/ft³",
    Kind.time: "90 s, 20 min, 1.5 h",
}
"""For each kind: what to write, for the messages."""

MOST: dict[Kind, float] = {
    Kind.length: 10_000.0,  # a garage above sea level is a length too
    Kind.pressure: 1e8,
    Kind.temperature: 4000.0,
    Kind.temperature_difference: 4000.0,
    Kind.mass_flow: 100.0,
    Kind.volume_flow: 100.0,
    Kind.angle: 63.0,
    Kind.speed: 3000.0,
    Kind.power: 1e7,
    Kind.force: 1e7,
    Kind.mass: 1e5,
    Kind.volume: 100.0,
    Kind.ratio: 1000.0,
    Kind.rotation: 1e5,
    Kind.stress: 1e12,
    Kind.density: 1e5,
    Kind.time: 1e8,
}
"""For each kind: a size [SI unit] over which a number on a car is a slip of the finger, not a reading."""
