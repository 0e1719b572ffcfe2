"""Fuels: stoichiometric mixture, heat, usual mixture under boost, and the power an air flow stands for."""

from dataclasses import dataclass

_NITROGEN_PER_OXYGEN = 3.773
"""Molecules of nitrogen (argon counted with it) for each of oxygen in air, [-] (Heywood, chapter 3)."""

_AIR_MOLAR_MASS = 28.96
_CARBON_MASS = 12.011
_HYDROGEN_MASS = 1.008
_OXYGEN_MASS = 15.999

_GRAM_PER_KILOWATT_HOUR = 1e-3 / 3.6e6


@dataclass(frozen=True, slots=True)
class Fuel:
    """One fuel.

    code: as stored. name: for the reader. stoichiometric_ratio: air over fuel by mass, [-].
    heating_value: lower, [J/kg]. density: [kg/m3] near 20 C.
    boost_lambda: usual mixture under boost over the stoichiometric one, [-]; common practice, no source.
    brake_specific_consumption: usual under boost, [kg/J]; common practice, no source.
    source: where ratio and heat come from, in words for a page.
    """

    code: str
    name: str
    stoichiometric_ratio: float
    heating_value: float
    density: float
    boost_lambda: float
    brake_specific_consumption: float
    source: str


@dataclass(frozen=True, slots=True)
class PowerEstimate:
    """Power an air flow stands for, observed: as the engine would give it in this air, not corrected.

    power: at the crankshaft, [W]. fuel_flow: [kg/s]. air_fuel_ratio: by mass, [-]. efficiency: power over the
    fuel's heat, [-]. notes: what the figure rests on.
    """

    power: float
    fuel_flow: float
    air_fuel_ratio: float
    efficiency: float
    notes: tuple[str, ...]


def stoichiometric_ratio(carbon: float, hydrogen: float, oxygen: float) -> float:
    """Air over fuel by mass that burns a fuel C_c H_h O_o completely.

    carbon, hydrogen, oxygen: atoms in the fuel's formula, [-]. Returns [-].
    Errors: ValueError where the formula holds nothing to burn.
    Source: Heywood, Internal Combustion Engine Fundamentals, chapter 3, air with 3.773 N2 for each O2.
    """
    oxygen_molecules = carbon + 0.25 * hydrogen - 0.5 * oxygen
    fuel_mass = _CARBON_MASS * carbon + _HYDROGEN_MASS * hydrogen + _OXYGEN_MASS * oxygen
    if oxygen_molecules <= 0.0 or fuel_mass <= 0.0:
        raise ValueError("The formula holds nothing to burn.")
    return oxygen_molecules * (1.0 + _NITROGEN_PER_OXYGEN) * _AIR_MOLAR_MASS / fuel_mass


def mass_share(volume_share: float, density: float, other_density: float) -> float:
    """Share by mass of a fuel that makes up a share by volume of a blend.

    volume_share: 0 to 1, [-]. density, other_density: [kg/m3]. Returns [-]. Source: definition.
    """
    mass = volume_share * density
    return mass / (mass + (1.0 - volume_share) * other_density)


def blended(share_by_mass: float, value: float, other_value: float) -> float:
    """A per-mass figure of a blend, such as its air-fuel ratio or its heat.

    share_by_mass: 0 to 1, [-]. value, other_value: of the two fuels, in one unit. Returns that unit.
    Source: mean weighted by mass.
    """
    return share_by_mass * value + (1.0 - share_by_mass) * other_value


_HEYWOOD = "Heywood, Internal Combustion Engine Fundamentals, appendix D (from memory)"

PETROL_95 = Fuel(
    "petrol-95", "Petrol, 95 RON", 14.6, 44.0e6, 745.0, 0.80, 335.0 * _GRAM_PER_KILOWATT_HOUR, _HEYWOOD
)
PETROL_98 = Fuel(
    "petrol-98",
    "Petrol, 98 RON",
    14.6,
    44.0e6,
    750.0,
    0.82,
    325.0 * _GRAM_PER_KILOWATT_HOUR,
    f"{_HEYWOOD}; taken as that of 95 RON",
)
ETHANOL = Fuel("ethanol", "Ethanol", 9.0, 26.9e6, 789.0, 0.80, 500.0 * _GRAM_PER_KILOWATT_HOUR, _HEYWOOD)
METHANOL = Fuel("methanol", "Methanol", 6.47, 20.0e6, 792.0, 0.75, 690.0 * _GRAM_PER_KILOWATT_HOUR, _HEYWOOD)

_ETHANOL_IN_E85 = mass_share(0.85, ETHANOL.density, PETROL_95.density)

E85 = Fuel(
    "e85",
    "E85 (85 % ethanol by volume)",
    blended(_ETHANOL_IN_E85, ETHANOL.stoichiometric_ratio, PETROL_95.stoichiometric_ratio),
    blended(_ETHANOL_IN_E85, ETHANOL.heating_value, PETROL_95.heating_value),
    0.85 * ETHANOL.density + 0.15 * PETROL_95.density,
    0.80,
    455.0 * _GRAM_PER_KILOWATT_HOUR,
    f"mean by mass of ethanol and petrol; {_HEYWOOD}",
)

FUELS = {fuel.code: fuel for fuel in (PETROL_95, PETROL_98, E85, ETHANOL, METHANOL)}
"""Every fuel by its code."""


def power_from_air(
    flow: float,
    fuel: Fuel,
    mixture: float | None = None,
    brake_specific_consumption: float | None = None,
) -> PowerEstimate:
    """Observed crankshaft power that an air flow stands for.

    flow: air, [kg/s]. mixture: lambda, [-], the fuel's usual one under boost where None.
    brake_specific_consumption: [kg/J], the fuel's usual one under boost where None.
    Errors: ValueError for a flow below zero, or a mixture or consumption that is not above zero.
    Source: definitions, power = flow / (air-fuel ratio * consumption); the defaults are common practice,
    no source. Not corrected to standard air (SAE J1349): that correction is disputed for engines
    whose boost is controlled.
    """
    notes = ["Observed power, not corrected to standard air."]
    if mixture is None:
        mixture = fuel.boost_lambda
        notes.append(f"Lambda {mixture:.2f} is common practice under boost, no source.")
    if brake_specific_consumption is None:
        brake_specific_consumption = fuel.brake_specific_consumption
        typical = brake_specific_consumption / _GRAM_PER_KILOWATT_HOUR
        notes.append(f"{typical:.0f} g of fuel per kWh is common practice under boost, no source.")
    if flow < 0.0 or mixture <= 0.0 or brake_specific_consumption <= 0.0:
        raise ValueError("Flow is not below zero; lambda and fuel consumption are above zero.")
    air_fuel_ratio = mixture * fuel.stoichiometric_ratio
    fuel_flow = flow / air_fuel_ratio
    efficiency = 1.0 / (brake_specific_consumption * fuel.heating_value)
    power = fuel_flow / brake_specific_consumption
    return PowerEstimate(power, fuel_flow, air_fuel_ratio, efficiency, tuple(notes))
