"""A compressor's map as points, and the flow it is drawn on: corrected to the inlet state the map names.

A map says what a compressor did on a test stand: at a corrected flow and a pressure ratio, how efficient it
was. Everything drawn from it (`map_shape`, `map_contours`, `map_line`) is worked out from these points alone.
"""

from dataclasses import dataclass
from math import isfinite, sqrt

from server.core.air.gas import density

LARGEST_FLOW = 3.0
"""Corrected flow of the largest road car turbo, with room to spare, [kg/s]; common practice, no source."""

LARGEST_RATIO = 10.0
"""Pressure ratio that no single wheel reaches, [-]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class InletState:
    """Air at a compressor's inlet. pressure: stagnation, absolute, [Pa]. temperature: stagnation, [K]."""

    pressure: float
    temperature: float

    @property
    def density(self) -> float:
        """[kg/m3]. Source: ideal gas law."""
        return density(self.pressure, self.temperature)


STANDARD_INLET = InletState(101_325.0, 288.15)
"""What most maps are corrected to: the standard atmosphere at sea level (U.S. Standard Atmosphere, 1976).
Some are not, and then the sheet says so: the state belongs to the map and can be changed."""


@dataclass(frozen=True, slots=True)
class MapPoint:
    """One point of a map.

    flow: corrected, [kg/s]. ratio: outlet over inlet stagnation pressure, [-]. efficiency: isentropic, [-].
    speed: of the wheel, corrected, [1/min], None where the map does not give it.
    """

    flow: float
    ratio: float
    efficiency: float
    speed: float | None = None


@dataclass(frozen=True, slots=True)
class CompressorMap:
    """A map: its points, and the inlet state that its flows are corrected to."""

    points: tuple[MapPoint, ...]
    reference: InletState = STANDARD_INLET


def inlet_fault(inlet: InletState) -> str | None:
    """Why an inlet state can't be one, in words, or None where it can. Source: definitions."""
    if not (isfinite(inlet.pressure) and 20e3 <= inlet.pressure <= 200e3):
        return "The map's inlet pressure is absolute, from 20 to 200 kPa."
    if not (isfinite(inlet.temperature) and 230.0 <= inlet.temperature <= 350.0):
        return "The map's inlet temperature lies between -43 °C and 77 °C."
    return None


def corrected_flow(flow: float, inlet: InletState, reference: InletState = STANDARD_INLET) -> float:
    """Flow as a map shows it: what would pass at the reference inlet with the same Mach numbers inside.

    flow: true, [kg/s]. inlet: at the compressor. reference: of the map. Returns [kg/s].
    Errors: ValueError for a pressure or temperature that is not above zero.
    Source: similarity, m sqrt(T/Tref) / (p/pref) (Saravanamuttoo et al., Gas Turbine Theory, section 4.6;
    from memory).
    """
    return flow * _correction(inlet, reference)


def true_flow(corrected: float, inlet: InletState, reference: InletState = STANDARD_INLET) -> float:
    """True flow that stands at a corrected one; the inverse of `corrected_flow`.

    corrected: [kg/s]. inlet: at the compressor. reference: of the map. Returns [kg/s].
    Errors: ValueError for a pressure or temperature that is not above zero. Source: as `corrected_flow`.
    """
    return corrected / _correction(inlet, reference)


def _correction(inlet: InletState, reference: InletState) -> float:
    states = (inlet.pressure, inlet.temperature, reference.pressure, reference.temperature)
    if not all(value > 0.0 for value in states):
        raise ValueError("Inlet pressures and temperatures are absolute and above zero.")
    return sqrt(inlet.temperature / reference.temperature) / (inlet.pressure / reference.pressure)
