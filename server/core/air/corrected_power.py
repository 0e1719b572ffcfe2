"""Power as it was observed, and beside it what a standard makes of it for standard air.

The observed figure comes first: it is what the engine gave. The corrected one makes runs in different weather
comparable, on an engine that breathes by itself. Where boost is controlled the turbo makes up for thin air,
so that a correction for it would count it twice; for such an engine it is disputed and marked so.
"""

from dataclasses import dataclass
from math import exp, isfinite, sqrt

REFERENCE_PRESSURE = 99_000.0
"""Dry air of SAE J1349, [Pa]."""

REFERENCE_TEMPERATURE = 298.0
"""Inlet air of SAE J1349, 25 °C taken as 298 K as its formula does, [K]."""

MECHANICAL_EFFICIENCY = 0.85
"""Assumed by the formula: 15 % of the indicated power is friction, and friction is not corrected, [-]."""

LEAST_FACTOR, MOST_FACTOR = 0.93, 1.07
"""Factors for which SAE J1349 is meant, [-] (from memory)."""

FORMULA = (
    "SAE J1349, revised August 2004, spark ignition: 1.18 (99 kPa / dry pressure) √(T / 298 K) - 0.18. "
    "Reference state and formula as quoted from the standard elsewhere; that the 2004 revision keeps the "
    "formula of 1990, from memory."
)

DISPUTED = (
    "On an engine whose boost is controlled this correction is disputed: the turbo already makes up for thin "
    "air. The observed power is the one to plan with."
)


@dataclass(frozen=True, slots=True)
class CorrectedPower:
    """Power observed and corrected.

    observed, corrected: [W]. factor: corrected over observed, [-]. in_range: whether the factor is one that
    the standard is meant for. formula: with how sure it is. notes: what a reader must know, for a page.
    """

    observed: float
    corrected: float
    factor: float
    in_range: bool
    formula: str
    notes: tuple[str, ...]


def vapour_pressure(temperature: float, humidity: float) -> float:
    """Water vapour's share of the air's pressure.

    temperature: of the air, [K], -45 to 60 °C. humidity: relative, 0 to 1, [-]. Returns [Pa].
    Errors: ValueError outside those ranges.
    Source: Magnus formula over water (WMO-No. 8, Guide to Instruments and Methods of Observation, annex 4.B).
    """
    celsius = temperature - 273.15
    if not (-45.0 <= celsius <= 60.0 and 0.0 <= humidity <= 1.0):
        raise ValueError("The air is between -45 and 60 °C, its relative humidity between 0 and 1.")
    return humidity * 611.2 * exp(17.62 * celsius / (243.12 + celsius))


def dry_pressure(pressure: float, temperature: float, humidity: float) -> float:
    """Pressure of the air without its water vapour, which burns nothing.

    pressure: of the air outside, absolute, as it stands there and not reduced to sea level, [Pa].
    temperature: [K]. humidity: relative, 0 to 1, [-]. Returns [Pa].
    Errors: ValueError as `vapour_pressure`, and where vapour leaves no dry air. Source: Dalton's law.
    """
    dry = pressure - vapour_pressure(temperature, humidity)
    if not (isfinite(dry) and dry > 0.0):
        raise ValueError("The pressure outside is absolute and far above that of water vapour.")
    return dry


def correction_factor(dry: float, temperature: float) -> float:
    """What observed power is multiplied by, SAE J1349 for spark ignition.

    dry: pressure of the dry air, absolute, [Pa]. temperature: of the air at the engine's inlet, [K].
    Returns [-]; outside 0.93 to 1.07 the standard does not mean it to be used.
    Errors: ValueError for a pressure or temperature that is not above zero. Source: `FORMULA`.
    """
    if not (dry > 0.0 and temperature > 0.0):
        raise ValueError("Dry pressure and temperature are absolute and above zero.")
    # 1.18 is 1 / 0.85 rounded up, and 0.18 the friction's 0.15 / 0.85: the standard's own rounding.
    return 1.18 * (REFERENCE_PRESSURE / dry) * sqrt(temperature / REFERENCE_TEMPERATURE) - 0.18


def corrected_power(observed: float, dry: float, temperature: float, boosted: bool = True) -> CorrectedPower:
    """Observed power with the corrected figure beside it.

    observed: at the crankshaft, [W]. dry: pressure of the dry air, absolute, [Pa]. temperature: at the
    engine's inlet, [K]. boosted: whether the engine's boost is controlled.
    Errors: ValueError for power below zero, and as `correction_factor`. Source: `FORMULA`.
    """
    if not (isfinite(observed) and observed >= 0.0):
        raise ValueError("Observed power is not below zero.")
    factor = correction_factor(dry, temperature)
    in_range = LEAST_FACTOR <= factor <= MOST_FACTOR
    notes = [f"Factor {factor:.3f}; the standard is meant for {LEAST_FACTOR:.2f} to {MOST_FACTOR:.2f}."]
    if not in_range:
        notes.append("The factor lies outside that range: the corrected figure is not one to quote.")
    assumed = f"{100.0 * MECHANICAL_EFFICIENCY:.0f} %"
    notes.append(f"It assumes a mechanical efficiency of {assumed}; friction is left as it is.")
    if boosted:
        notes.append(DISPUTED)
    return CorrectedPower(observed, observed * factor, factor, in_range, FORMULA, tuple(notes))
