"""Exhaust gas: how much there is, what it is made of, and how it behaves as a perfect gas."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.core.air.fuels import ETHANOL, FUELS, METHANOL, PETROL_95, Fuel, mass_share
from server.core.air.gas import Gas
from server.core.measure.many import either, greatest, least, plain, sqrt, with_ways

UNIVERSAL_GAS_CONSTANT = 8.314462618
"""[J/(mol K)] (CODATA 2018)."""

USUAL_TEMPERATURE = 1073.15
"""Gas at a petrol engine's turbine outlet at the peak, [K]; common practice, no source."""

LEAST_MIXTURE = 0.6
MOST_MIXTURE = 1.5
"""Mixtures that a spark-ignition engine runs at, as lambda, [-]; common practice, no source."""

_NITROGEN_PER_OXYGEN = 3.773
"""Molecules of nitrogen (argon counted with it) for each of oxygen in air, [-] (Heywood, chapter 3)."""

_WATER_GAS = 3.5
"""(CO)(H2O) / (CO2)(H2) frozen in a rich exhaust, [-] (Heywood, section 4.9; from memory)."""

_MOLAR_MASS = {
    "CO2": 44.009e-3,
    "CO": 28.010e-3,
    "H2O": 18.015e-3,
    "H2": 2.016e-3,
    "O2": 31.998e-3,
    "N2": 28.014e-3,
}
"""[kg/mol] (IUPAC)."""

_BREAK = 1000.0
"""Between the two ranges of the heat polynomials, [K]."""

_HEAT: Mapping[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "CO2": (
        (2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13),
        (3.85746029, 4.41437026e-3, -2.21481404e-6, 5.23490188e-10, -4.72084164e-14),
    ),
    "CO": (
        (3.57953347, -6.10353680e-4, 1.01681433e-6, 9.07005884e-10, -9.04424499e-13),
        (2.71518561, 2.06252743e-3, -9.98825771e-7, 2.30053008e-10, -2.03647716e-14),
    ),
    "H2O": (
        (4.19864056, -2.03643410e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12),
        (3.03399249, 2.17691804e-3, -1.64072518e-7, -9.70419870e-11, 1.68200992e-14),
    ),
    "H2": (
        (2.34433112, 7.98052075e-3, -1.94781510e-5, 2.01572094e-8, -7.37611761e-12),
        (3.33727920, -4.94024731e-5, 4.99456778e-7, -1.79566394e-10, 2.00255376e-14),
    ),
    "O2": (
        (3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12),
        (3.28253784, 1.48308754e-3, -7.57966669e-7, 2.09470555e-10, -2.16717794e-14),
    ),
    "N2": (
        (3.29867700, 1.40824040e-3, -3.96322200e-6, 5.64151500e-9, -2.44485400e-12),
        (2.92664000, 1.48797680e-3, -5.68476000e-7, 1.00970380e-10, -6.75335100e-15),
    ),
}
"""cp/R as a polynomial in temperature [K], 300 to 1000 K and above (NASA polynomials, from memory; they are
checked against the NIST-JANAF tables)."""


@dataclass(frozen=True, slots=True)
class FuelAtoms:
    """A fuel's formula for each atom of carbon. hydrogen, oxygen: atoms, [-]."""

    hydrogen: float
    oxygen: float


_PETROL = FuelAtoms(1.87, 0.0)
_ETHANOL = FuelAtoms(3.0, 0.5)


def _blend(share_by_mass: float, first: FuelAtoms, second: FuelAtoms) -> FuelAtoms:
    """The formula of a blend, of whose mass a share is the first fuel. Source: counting atoms."""
    carbon = [share_by_mass / _mass(first), (1.0 - share_by_mass) / _mass(second)]
    part = carbon[0] / sum(carbon)
    return FuelAtoms(
        part * first.hydrogen + (1.0 - part) * second.hydrogen,
        part * first.oxygen + (1.0 - part) * second.oxygen,
    )


def _mass(atoms: FuelAtoms) -> float:
    """Mass of the formula with one atom of carbon, [g/mol]."""
    return 12.011 + 1.008 * atoms.hydrogen + 15.999 * atoms.oxygen


_ATOMS: Mapping[str, FuelAtoms] = {
    "petrol-95": _PETROL,
    "petrol-98": _PETROL,
    "e85": _blend(mass_share(0.85, ETHANOL.density, PETROL_95.density), _ETHANOL, _PETROL),
    ETHANOL.code: _ETHANOL,
    METHANOL.code: FuelAtoms(4.0, 1.0),
}
"""Each fuel's formula; petrol CH1.87 (Heywood, section 3.3, from memory)."""


def exhaust_flow(air: float, fuel: Fuel, mixture: float) -> float:
    """Exhaust of an engine: its air and the fuel burnt with it.

    air: [kg/s]. mixture: lambda, [-]. Returns [kg/s].
    Errors: ValueError for a mixture that is not above zero or air below zero.
    Source: conservation of mass, m (1 + 1 / (lambda (A/F)s)).
    """
    if mixture <= 0.0 or air < 0.0:
        raise ValueError("Lambda is above zero and air not below zero.")
    return air * (1.0 + 1.0 / (mixture * fuel.stoichiometric_ratio))


def products(fuel: str, mixture: float) -> dict[str, float]:
    """What burnt mixture is made of, as shares by number of molecules, [-].

    fuel: a code of `fuels.FUELS`. mixture: lambda, clamped to what an engine runs at (0.6 to 1.5), [-]; of
    many mixtures the shares are plain. Lean or exact: carbon dioxide, water, what is left of the oxygen,
    nitrogen. Rich: all the oxygen is used and carbon monoxide and hydrogen are left, shared out by the
    water-gas balance.
    Source: Heywood, Internal Combustion Engine Fundamentals, section 4.9 (from memory).
    """
    atoms = _ATOMS[fuel]
    ratio = least(greatest(mixture, LEAST_MIXTURE), MOST_MIXTURE)
    # Nothing else asks which way a draw goes.
    lean, ratio = bool(ratio >= 1.0), plain(ratio)
    exact = 1.0 + 0.25 * atoms.hydrogen - 0.5 * atoms.oxygen
    oxygen = ratio * exact
    water = 0.5 * atoms.hydrogen
    moles = {"N2": _NITROGEN_PER_OXYGEN * oxygen}
    if lean:
        moles |= {"CO2": 1.0, "H2O": water, "O2": oxygen - exact}
    else:
        # Oxygen atoms left for water once every carbon has one: shared between CO2 and H2O.
        spare = 2.0 * oxygen + atoms.oxygen - 1.0
        linear = _WATER_GAS * (water - spare) + 1.0 + spare
        square = _WATER_GAS - 1.0
        dioxide = (sqrt(linear**2 + 4.0 * square * spare) - linear) / (2.0 * square)
        steam = spare - dioxide
        moles |= {"CO2": dioxide, "CO": 1.0 - dioxide, "H2O": steam, "H2": water - steam}
    total = sum(moles.values())
    return {name: amount / total for name, amount in moles.items()}


def molar_heat(name: str, temperature: float) -> float:
    """Heat of one gas at constant pressure.

    name: "CO2", "CO", "H2O", "H2", "O2" or "N2". temperature: [K], held to 300 to 3000. Returns [J/(mol K)].
    Source: NASA polynomials, from memory.
    """
    return _mixed_heat({name: 1.0}, temperature)


def _mixed_heat(shares: Mapping[str, float], temperature: float) -> float:
    """As `molar_heat`, of a mixture. shares: of each gas by number of molecules, [-]."""
    at = plain(least(greatest(temperature, 300.0), 3000.0))
    low, high = (
        sum(share * _polynomial(_HEAT[name][half], at) for name, share in shares.items()) for half in (0, 1)
    )
    return UNIVERSAL_GAS_CONSTANT * either(at <= _BREAK, low, high)


def _polynomial(coefficients: Sequence[float], at: float) -> float:
    """The lowest power first."""
    *lower, total = coefficients
    for factor in reversed(lower):
        total = total * at + factor
    return total


def exhaust_gas(fuel: str, mixture: float, temperature: float) -> Gas:
    """Exhaust as a perfect gas with its specific heat at one temperature.

    fuel: a code of `fuels.FUELS`. mixture: lambda, [-]. temperature: [K].
    Errors: ValueError for a fuel that is not known. Source: mixture of ideal gases, `products`, `molar_heat`.
    """
    if fuel not in FUELS:
        raise ValueError(f"The fuel must be one of {', '.join(FUELS)}.")
    shares = products(fuel, mixture)
    heat = with_ways(_mixed_heat(shares, temperature))
    mass = with_ways(sum(share * _MOLAR_MASS[name] for name, share in shares.items()))
    return Gas(UNIVERSAL_GAS_CONSTANT / mass, heat / (heat - UNIVERSAL_GAS_CONSTANT))
