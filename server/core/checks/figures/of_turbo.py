"""Figures of the turbocharger: its compressor's map."""

from server.core.checks.figures.asked import Column, Figure
from server.core.units import Kind

MAP = "turbo.map"
"""Key of the compressor's map: a table that is read as maps are printed and exported."""

TURBO = (
    Figure(
        MAP,
        "compressor map",
        columns=(
            Column("corrected flow", Kind.mass_flow, "kg/s"),
            Column("pressure ratio", Kind.ratio, "dimensionless"),
            Column("efficiency", Kind.ratio, "percent"),
            Column("wheel speed", Kind.rotation, "rpm"),
        ),
        hint="a point a row, typed or pasted: 0.21; 2.1; 74 %; 120000. Wheel speed may be left out; a first"
        " row may name columns and units: flow (lb/min), pressure ratio, efficiency, rpm",
    ),
    Figure(
        "turbo.map_pressure",
        "inlet pressure the map is drawn for",
        Kind.pressure,
        "kPa",
        20e3,
        200e3,
        hint="absolute; 101.3 kPa where the map says nothing",
    ),
    Figure(
        "turbo.map_temperature",
        "inlet temperature the map is drawn for",
        Kind.temperature,
        "degC",
        230.0,
        350.0,
        hint="15 °C where the map says nothing",
    ),
)
