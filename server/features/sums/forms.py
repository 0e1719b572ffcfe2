"""What each bench sum asks for.

The names and units of the fields are fixed: scripts of other people call them.
"""

from collections.abc import Mapping
from typing import Any, Literal

from pydantic import Field, model_validator

from server.core.air.expansion import METAL_NAMES
from server.core.air.losses import DRAWN_TUBE_ROUGHNESS
from server.core.air.radiant import BRIGHT
from server.core.units import Kind
from server.features.bench.forms import ABSOLUTE, GAUGE, Asked, number, rows

MOST_READINGS = 10_000
"""Of one thing, in one sum: what a logger takes in an evening."""
_DRAWN_TUBE_MM = DRAWN_TUBE_ROUGHNESS * 1e3


def _length(title: str, example: float, *, least: float, most: float, description: str = "") -> Any:
    return number(title, Kind.length, "mm", example, least=least, most=most, description=description)


def _bore(title: str, example: float) -> Any:
    return _length(title, example, least=0.1, most=10_000.0)


def _absolute(title: str, example: float) -> Any:
    return number(
        title, Kind.pressure, "kPa", example, least=0.1, most=10_000.0, reference=ABSOLUTE,
        description=f"{title}, absolute static pressure [kPa]",
    )  # fmt: skip


def _air_temperature(title: str, example: float) -> Any:
    return number(title, Kind.temperature, "°C", example, least=-150.0, most=2000.0)


def _flow() -> Any:
    return number("Air flow", Kind.mass_flow, "kg/s", 0.25, least=1e-6, most=100.0)


ReadingKind = Literal[
    "length", "pressure", "temperature", "flow", "angle", "size", "mass_flow", "volume_flow",
    "temperature_difference", "speed", "power", "force", "mass", "volume", "ratio", "rotation", "stress",
    "density", "time",
]  # fmt: skip


class ReadingIn(Asked):
    """A reading as somebody typed it."""

    text: str = Field(
        title="As typed",
        description="The reading as typed, with its unit or without",
        min_length=1,
        max_length=500,
        examples=["3 1/4 in"],
        json_schema_extra={"accepts": "text such as 3 1/4 in, 82,5 mm, 18 psi, −5 °C, -10 AN"},
    )
    kind: ReadingKind = Field(
        title="What it is",
        description="The kind of quantity; `flow` is a mass or a volume flow, as its unit says",
        examples=["length"],
        json_schema_extra={"accepts": "length, pressure, temperature, flow, angle, size or another kind"},
    )
    unit: str | None = Field(
        None,
        title="Unit where none is typed",
        description="The unit of a bare number",
        max_length=20,
        examples=["mm"],
        json_schema_extra={"accepts": "a unit as people write it, such as mm, in, psi"},
    )


class RepeatedReading(Asked):
    """One of several readings of the same thing."""

    value_mm: float = number("Reading", Kind.length, "mm", 82.6, least=-100_000.0, most=100_000.0)
    doubt_mm: float = _length(
        "Doubt",
        0.2,
        least=1e-6,
        most=100_000.0,
        description="One standard uncertainty of the random part [mm]",
    )


class CombineIn(Asked):
    """Several readings of one thing."""

    readings: list[RepeatedReading] = rows("Readings", "{value_mm, doubt_mm}", least=1, most=MOST_READINGS)
    instrument_floor_mm: float = number(
        "The instrument's own doubt",
        Kind.length,
        "mm",
        0.05,
        least=0.0,
        most=100_000.0,
        default=0.0,
        description="What repeating can't improve, one standard uncertainty; 0 where left out [mm]",
    )


class AtmosphereIn(Asked):
    """A place above sea level."""

    elevation_m: float = number(
        "Elevation", Kind.length, "m", 500.0, least=-100_000.0, most=100_000.0,
        description="Geometric height above sea level [m]",
    )  # fmt: skip


class AirDemandIn(Asked):
    """A four-stroke engine at one speed."""

    displacement_cc: float = number("Displacement", Kind.volume, "cc", 2100.0, least=1.0, most=100_000.0)
    rpm: float = number("Engine speed", Kind.rotation, "rpm", 6000.0, least=1.0, most=30_000.0)
    volumetric_efficiency: float = number(
        "Volumetric efficiency", Kind.ratio, "", 0.95, least=0.01, most=3.0,
        description="On the density in the manifold, as a fraction [-]",
    )  # fmt: skip
    manifold_pressure_kpa: float = _absolute("Manifold pressure", 200.0)
    manifold_temperature_c: float = _air_temperature("Manifold temperature", 45.0)


class CompressorIn(Asked):
    """A compressor at one point."""

    inlet_pressure_kpa: float = _absolute("Pressure at the inlet", 98.0)
    inlet_temperature_c: float = _air_temperature("Temperature at the inlet", 20.0)
    pressure_ratio: float = number(
        "Pressure ratio", Kind.ratio, "", 2.1, least=0.01, most=100.0,
        description="Outlet over inlet, both absolute [-]",
    )  # fmt: skip
    efficiency: float = number(
        "Efficiency", Kind.ratio, "", 0.72, least=0.01, most=1.0, description="Isentropic, as a fraction [-]"
    )
    flow_kg_s: float = _flow()


class BendIn(Asked):
    """A smooth bend of the tube's bore."""

    angle_deg: float = number("Angle", Kind.angle, "°", 90.0, least=0.01, most=360.0)
    radius_mm: float = _length(
        "Radius", 95.0, least=0.1, most=100_000.0, description="Of the centre line [mm]"
    )


class TubeIn(Asked):
    """A flow of air in one tube."""

    bore_mm: float = _bore("Bore", 60.3)
    length_mm: float = _length(
        "Straight lengths together", 600.0, least=0.0, most=1_000_000.0,
        description="Arcs are not part of it, they come from the bends [mm]",
    )  # fmt: skip
    roughness_mm: float = _length(
        "Roughness", _DRAWN_TUBE_MM, least=0.0, most=100.0,
        description="Height of the wall's roughness: 0.0015 for smooth drawn tube, 0.046 for steel pipe [mm]",
    )  # fmt: skip
    bends: list[BendIn] = rows("Bends", "{angle_deg, radius_mm}", least=0)
    flow_kg_s: float = _flow()
    pressure_kpa: float = _absolute("Pressure at the inlet", 200.0)
    temperature_c: float = _air_temperature("Temperature at the inlet", 50.0)


class StepIn(Asked):
    """A change of bore."""

    bore_in_mm: float = _bore("Bore before", 63.5)
    bore_out_mm: float = _bore("Bore after", 76.2)
    half_angle_deg: float | None = number(
        "Half angle of the cone", Kind.angle, "°", 10.0, least=0.01, most=90.0, default=None,
        description="Between wall and axis; left out for a sharp step [°]",
    )  # fmt: skip


class BlowOffIn(Asked):
    """A hose joint under pressure."""

    outside_diameter_mm: float = _length(
        "Outside diameter of the tube", 63.5, least=0.1, most=10_000.0,
        description="Where the hose seals on the tube [mm]",
    )  # fmt: skip
    gauge_kpa: float = number(
        "Highest gauge pressure there is", Kind.pressure, "kPa", 150.0, least=-110.0, most=10_000.0,
        reference=GAUGE, description="Inside less outside; over-boost, not steady boost [kPa]",
    )  # fmt: skip


class LeakIn(Asked):
    """A pressure test of the charge side, planned; judged too where the last reading is there."""

    volume_cc: float = number(
        "Volume under test", Kind.volume, "cc", 9400.0, least=10.0, most=1_000_000.0,
        description="Pipes, cooler and tanks, blanked at the throttle; fill one with water to know [cc]",
    )  # fmt: skip
    boost_kpa: float = number(
        "Boost intended, gauge", Kind.pressure, "kPa", 100.0, least=1.0, most=1000.0, reference=GAUGE,
        description="The test never goes above it [kPa]",
    )  # fmt: skip
    outside_kpa: float = _absolute("Pressure of the open air", 98.0)
    leak_kg_s: float = number(
        "Leak that is taken", Kind.mass_flow, "kg/s", 0.00003, least=0.00001, most=0.1,
        description="0.03 g/s is about a hundredth of what a two-litre engine takes in at idle [kg/s]",
    )  # fmt: skip
    step_kpa: float = number(
        "Least fall that the gauge shows", Kind.pressure, "kPa", 2.0, least=0.001, most=100.0,
        description="One division, or the last digit [kPa]",
    )  # fmt: skip
    before_c: float = _air_temperature("Temperature of the air as it is shut in", 20.0)
    after_c: float = _air_temperature("Temperature of the air at the end", 20.0)
    last_kpa: float | None = number(
        "Gauge at the end", Kind.pressure, "kPa", 95.0, least=0.0, most=1100.0, default=None, reference=GAUGE,
        description="Left out while the test is still to be made [kPa]",
    )  # fmt: skip


class HoopIn(Asked):
    """A tube under pressure."""

    outside_diameter_mm: float = _length("Outside diameter", 63.5, least=0.1, most=10_000.0)
    wall_mm: float = _length(
        "Wall", 1.5, least=0.001, most=5000.0, description="At its thinnest: outside a bend [mm]"
    )
    gauge_kpa: float = number(
        "Highest gauge pressure there is", Kind.pressure, "kPa", 150.0, least=-110.0, most=1_000_000.0,
        reference=GAUGE, description="Inside less outside; over-boost, not steady boost [kPa]",
    )  # fmt: skip


class GrowthIn(Asked):
    """A length of metal that gets hot or cold."""

    material: str = Field(
        title="Material",
        description="What it is of, such as 304 stainless, mild steel or aluminium",
        min_length=1,
        max_length=60,
        examples=["304 stainless"],
        json_schema_extra={"accepts": f"text that names one of: {', '.join(METAL_NAMES)}"},
    )
    length_mm: float = _length("Length", 1000.0, least=0.001, most=1_000_000.0)
    from_c: float = number(
        "From",
        Kind.temperature,
        "°C",
        20.0,
        least=-273.0,
        most=3000.0,
        description="From, where it was measured [°C]",
    )
    to_c: float = number("To", Kind.temperature, "°C", 600.0, least=-273.0, most=3000.0)


def _emissivity(title: str, example: float, description: str, default: Any = ...) -> Any:
    return number(
        title, Kind.ratio, "", example, least=0.001, most=1.0, default=default, description=description
    )


class RadiantIn(Asked):
    """A hot pipe, and a strip of something beside it."""

    hot_c: float = _air_temperature("Skin of the hot pipe", 600.0)
    hot_emissivity: float = _emissivity(
        "Its emissivity", 0.8, "Its emissivity, 0.8 for a used exhaust pipe; never that of a polished one [-]"
    )
    hot_diameter_mm: float = _length("Its outside diameter", 76.1, least=0.1, most=10_000.0)
    gap_mm: float = _length(
        "Gap", 50.0, least=0.0, most=100_000.0, description="Gap, clear, from skin to skin [mm]"
    )
    neighbour_emissivity: float = _emissivity(
        "Emissivity of what is beside it",
        0.9,
        "Emissivity of what is beside it, 0.9 for rubber, paint or plastic [-]",
    )
    neighbour_width_mm: float = _length(
        "Width of what is beside it", 100.0, least=0.1, most=100_000.0,
        description="Width of what is beside it, across the pipe; for a hose its outside diameter [mm]",
    )  # fmt: skip
    ambient_c: float = _air_temperature("Air and all else around", 60.0)
    film_w_m2_k: float = number(
        "Heat carried off by the air", Kind.ratio, "W/(m² K)", 10.0, least=0.0, most=100_000.0,
        description="Heat carried off by the air, 5 to 10 in still air, 20 to 60 where it blows [W/(m² K)]",
    )  # fmt: skip
    shield: Literal["none", "bright"] = Field(
        "none",
        title="Shield between",
        description="none, or one bright sheet; a bare number is that sheet's emissivity, null is none",
        examples=["bright"],
        json_schema_extra={"accepts": "none, bright, or the shield's emissivity as a number up to 1"},
    )
    shield_emissivity: float = _emissivity(
        "The shield's emissivity", BRIGHT, f"The shield's emissivity, {BRIGHT:g} where left out [-]", BRIGHT
    )

    @model_validator(mode="before")
    @classmethod
    def _shield_by_its_emissivity(cls, asked: Any) -> Any:
        """A shield that is given as its emissivity alone, or as null."""
        if not isinstance(asked, Mapping) or "shield" not in asked:
            return asked
        shield = asked["shield"]
        if shield is None:
            return {**asked, "shield": "none"}
        is_number = isinstance(shield, int | float) and not isinstance(shield, bool)
        if is_number and 0.0 < shield <= 1.0 and "shield_emissivity" not in asked:
            return {**asked, "shield": "bright", "shield_emissivity": shield}
        return asked
