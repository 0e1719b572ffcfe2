"""What each bench sum answers, and what its page says about it."""

from typing import Any

from pydantic import Field, create_model

from server.core.air.radiant import FINISHES
from server.core.units import Kind
from server.features.bench.page import Answer, Sum, figure, word
from server.web.view import Caution

READING_FIELDS: dict[Kind, tuple[str, str]] = {
    Kind.length: ("mm", "mm"),
    Kind.pressure: ("kpa", "kPa"),
    Kind.temperature: ("c", "degC"),
    Kind.temperature_difference: ("difference_c", "delta_degC"),
    Kind.mass_flow: ("kg_s", "kg/s"),
    Kind.volume_flow: ("m3_s", "m**3/s"),
    Kind.angle: ("deg", "degree"),
    Kind.speed: ("m_s", "m/s"),
    Kind.power: ("kw", "kW"),
    Kind.force: ("n", "N"),
    Kind.mass: ("kg", "kg"),
    Kind.volume: ("cc", "cm**3"),
    Kind.ratio: ("ratio", "dimensionless"),
    Kind.rotation: ("rpm", "rpm"),
    Kind.stress: ("mpa", "MPa"),
    Kind.density: ("kg_m3", "kg/m**3"),
    Kind.time: ("s", "s"),
}
"""For each kind of reading: the end of its field's name, and the unit that the field is in."""


class ReadingBase(Answer):
    """What a typed reading says. One `value_` field is present, in the unit that its name carries."""

    shown: str | None = word("Read as", big=True)
    also: str | None = word("In the other units", "The same in the other system; left out where it has none")
    unit: str | None = word("Unit", "The unit as it was read, or AN")
    reference: str | None = word("Counted from", "For a pressure: gauge, absolute or not stated")
    dash: int | None = word("Dash size", "For a size: sixteenths of an inch")


_VALUES: dict[str, Any] = {
    f"value_{end}": (float | None, Field(None, description=f"The {kind.words}, as written"))
    for kind, (end, _) in READING_FIELDS.items()
}
_DOUBTS: dict[str, Any] = {
    f"doubt_{end}": (float | None, Field(None, description="What was typed after ±, as a difference"))
    for end, _ in READING_FIELDS.values()
}
ReadingOut = create_model("ReadingOut", __base__=ReadingBase, **_VALUES, **_DOUBTS)


class CombineOut(Answer):
    """Several readings taken as one."""

    value_mm: float | None = figure("Value", Kind.length, "mm", big=True)
    doubt_mm: float | None = figure("Doubt", Kind.length, "mm", "One standard uncertainty [mm]", big=True)
    chi_square: float | None = figure("Chi-square", Kind.ratio, "", "Weighted scatter of the readings [-]")
    agree: bool | None = word("The readings agree")


class AtmosphereOut(Answer):
    """The standard atmosphere at one height."""

    pressure_kpa: float | None = figure("Pressure, absolute", Kind.pressure, "kPa", big=True)
    temperature_c: float | None = figure("Temperature", Kind.temperature, "°C")
    density_kg_m3: float | None = figure("Density", Kind.density, "kg/m³")


class AirDemandOut(Answer):
    """The air that an engine takes in."""

    flow_kg_s: float | None = figure("Air flow", Kind.mass_flow, "kg/s", big=True)
    flow_m3_s: float | None = figure("Volume flow in the manifold", Kind.volume_flow, "m³/s")


class CompressorOut(Answer):
    """What a compressor does to the air."""

    outlet_temperature_c: float | None = figure("Temperature at the outlet", Kind.temperature, "°C", big=True)
    power_kw: float | None = figure("Power given to the air", Kind.power, "kW", big=True)
    outlet_pressure_kpa: float | None = figure("Pressure at the outlet, absolute", Kind.pressure, "kPa")


class TubeOut(Answer):
    """What a flow of air does in one tube."""

    loss_kpa: float | None = figure(
        "Loss", Kind.pressure, "kPa", "Stagnation pressure lost [kPa]; null where the tube chokes", big=True
    )
    choked: bool | None = word("Chokes", "Whether this flow does not pass from this inlet state")
    greatest_flow_kg_s: float | None = figure(
        "Greatest flow that passes", Kind.mass_flow, "kg/s", "Found where the tube chokes [kg/s]"
    )
    speed_m_s: float | None = figure("Speed at the inlet", Kind.speed, "m/s")
    mach: float | None = figure("Mach number at the inlet", Kind.ratio, "")
    speed_out_m_s: float | None = figure("Speed at the outlet", Kind.speed, "m/s")
    mach_out: float | None = figure("Mach number at the outlet", Kind.ratio, "")
    reynolds: float | None = figure("Reynolds number", None, "")
    friction_factor: float | None = figure("Friction factor, Darcy", Kind.ratio, "")
    bend_method: str | None = word("Bends by", "The one method for the loss of the bends")


class StepOut(Answer):
    """The loss of a change of bore."""

    loss_coefficient: float | None = figure(
        "Loss coefficient, on the smaller bore's speed", Kind.ratio, "",
        "Loss of stagnation pressure over ρ v²/2 in the smaller bore [-]", big=True,
    )  # fmt: skip
    method: str | None = word("Formula by")


class BlowOffOut(Answer):
    """The force that pushes a hose joint apart."""

    force_n: float | None = figure("Force along the tube", Kind.force, "N", big=True)


class LeakOut(Answer):
    """A pressure test: how it is made, and what it came to."""

    allowed_kpa: float | None = figure(
        "Fall that is allowed", Kind.pressure, "kPa", "Within that time, at one temperature [kPa]", big=True
    )
    time_s: float | None = figure("Time that it is held", Kind.time, "s")
    start_kpa: float | None = figure("Pressure to begin at", Kind.pressure, "kPa", "Gauge [kPa]")
    pressure_kpa: float | None = figure("Pressure to hold", Kind.pressure, "kPa", "Gauge [kPa]")
    cooling_kpa: float | None = figure(
        "Fall by cooling", Kind.pressure, "kPa", "What the air's cooling makes, no leak [kPa]"
    )
    leak_kpa: float | None = figure("Fall by leak", Kind.pressure, "kPa", "The rest of the fall [kPa]")
    lost_kg_s: float | None = figure("Air lost", Kind.mass_flow, "kg/s")
    passes: bool | None = Field(
        default=None, description="Whether the fall by leak is within what is allowed"
    )


class HoopOut(Answer):
    """The stress in a tube's wall."""

    stress_mpa: float | None = figure(
        "Hoop stress", Kind.stress, "MPa", "By thin wall on the outside diameter, p D / (2 t) [MPa]", big=True
    )
    bore_stress_mpa: float | None = figure(
        "At the bore by Lamé",
        Kind.stress,
        "MPa",
        "Greatest by thick wall; under pressure never the larger [MPa]",
    )
    walls: float | None = figure("Outside diameter in walls", None, "", "Outside diameter over wall [-]")
    basis: str | None = word("Basis", "Which formula the stress is by")


class GrowthOut(Answer):
    """How much longer a length of metal gets."""

    growth_mm: float | None = figure(
        "Growth", Kind.length, "mm", "Below zero where it shrinks [mm]", big=True
    )
    expansion_um_m_k: float | None = figure(
        "Expansion", None, "µm/(m K)", "Linear, near room temperature [µm/(m K)]"
    )
    metal: str | None = word("Taken as")
    source: str | None = word("Figure from")


class RadiantOut(Answer):
    """What a hot pipe does to a strip beside it."""

    neighbour_c: float | None = figure("What is beside it gets to", Kind.temperature, "°C", big=True)
    flux_w_m2: float | None = figure(
        "Radiation that reaches it", None, "W/m²",
        "From pipe or shield, net of what goes back there, per area of the face [W/m²]", big=True,
    )  # fmt: skip
    view_factor: float | None = figure("View factor from it to the pipe", Kind.ratio, "")
    exchange_factor: float | None = figure(
        "Exchange factor",
        Kind.ratio,
        "",
        "Grey, with the pipe, per area of the face; of the shield where there is one [-]",
    )
    convected_w_m2: float | None = figure("Carried off by the air", None, "W/m²")
    reradiated_w_m2: float | None = figure("Sent on to all else around", None, "W/m²")
    shield_c: float | None = figure("The shield gets to", Kind.temperature, "°C")
    closure_w_m2: float | None = figure(
        "Left over in the balance", None, "W/m²", "In less out, near 0 [W/m²]"
    )
    view_by: str | None = word("View factor by")


SUMS = (
    Sum(
        "reading",
        "Read a quantity",
        "A number as you type it, in the other units too: 3 1/4 in, 18 psi, −10 AN.",
        ("1 in = 25.4 mm; 1 psi = 6.894757 kPa; T = (t − 32) / 1.8 °C", "−n AN: tube of n / 16 in outside"),
        ("si", "dash"),
        (("text", "3 1/4 in"), ("kind", "length")),
    ),
    Sum(
        "combine",
        "Combine readings",
        "Several readings of one thing: the value to use, and the doubt that is left.",
        (
            "x = Σ(xᵢ / uᵢ²) / Σ(1 / uᵢ²); u = 1 / √Σ(1 / uᵢ²), never under the instrument's own doubt",
            "χ² over its 95 % point: they disagree, and u is widened by the Birge ratio √(χ² / (n − 1))",
        ),
        ("weighted-mean", "birge"),
        (
            ("readings[0].value_mm", "82.5 ± 0.2 mm"),
            ("readings[1].value_mm", "82.7 ± 0.1 mm"),
            ("readings[2].value_mm", "3 1/4 in ± 0.2 mm"),
            ("instrument_floor_mm", "0.05 mm"),
        ),
    ),
    Sum(
        "atmosphere",
        "Air outside by height",
        "Pressure, temperature and density of the standard atmosphere where the garage stands.",
        ("p = p₀ · (T / T₀)^5.2559; T = T₀ − 6.5 K per km; ρ = p / (R T)",),
        ("atmosphere",),
        (("elevation_m", "240 m"),),
    ),
    Sum(
        "air-demand",
        "Air an engine asks for",
        "Mass of air that a four-stroke engine takes in at one speed.",
        ("m = η · V · N / 2 · p / (R T), at the manifold's pressure and temperature",),
        ("volumetric-efficiency",),
        (
            ("displacement_cc", "2.1 l"),
            ("rpm", "6000"),
            ("volumetric_efficiency", "95 %"),
            ("manifold_pressure_kpa", "200 kPa"),
            ("manifold_temperature_c", "45 °C"),
        ),
    ),
    Sum(
        "compressor",
        "Compressor outlet",
        "How hot the air leaves the compressor, and the power that it takes.",
        ("T₂ = T₁ + T₁ · (r^0.2857 − 1) / η", "P = m · cₚ · (T₂ − T₁), cₚ = 1005 J/(kg K) held constant"),
        ("isentropic-efficiency",),
        (
            ("inlet_pressure_kpa", "98 kPa"),
            ("inlet_temperature_c", "20 °C"),
            ("pressure_ratio", "2.1"),
            ("efficiency", "72 %"),
            ("flow_kg_s", "0.25 kg/s"),
        ),
    ),
    Sum(
        "tube",
        "Flow in a tube",
        "Speed, Mach number and loss of air in one bore with bends, marched as compressible flow.",
        (
            "Adiabatic flow with friction: f L / D + K at constant stagnation temperature",
            "1 / √f = −2 log₁₀(ε / (3.7 D) + 2.51 / (Re √f)), Darcy; 64 / Re where laminar",
        ),
        ("shapiro", "colebrook", "rennels"),
        (
            ("bore_mm", "60.3 mm"),
            ("length_mm", "600 mm"),
            ("roughness_mm", "0.0015 mm"),
            ("bends[0].angle_deg", "90°"),
            ("bends[0].radius_mm", "95 mm"),
            ("flow_kg_s", "0.25 kg/s"),
            ("pressure_kpa", "200 kPa"),
            ("temperature_c", "50 °C"),
        ),
    ),
    Sum(
        "step",
        "Change of bore",
        "Loss coefficient of a step or a cone between two bores.",
        (
            "Sharp, wider: K = (1 − β²)²; sharp, narrower: K = ½ (1 − β²)",
            "Cone up to 22.5°: wider 2.6 sin α (1 − β²)²; narrower 0.8 sin α (1 − β²)",
            "β: smaller bore over larger. Wall friction not included.",
        ),
        ("crane",),
        (("bore_in_mm", "63.5 mm"), ("bore_out_mm", "3 in"), ("half_angle_deg", "10°")),
    ),
    Sum(
        "blow-off",
        "End force on a joint",
        "What pushes a hose off its tube, at the highest pressure there is.",
        ("F = p · π D² / 4, D the tube's outside diameter, p inside less outside",),
        ("statics",),
        (("outside_diameter_mm", "2.5 in"), ("gauge_kpa", "22 psi")),
        Caution(
            "WARNING",
            "A pipe or plug that comes off under pressure strikes hard. In a pressure test use a regulator "
            "and a relief valve, strap the plugs, start at about 0.3 bar, never go above the boost you "
            "intend, and let nobody stand in line with a joint. Local codes and licensed practice come "
            "first.",
        ),
    ),
    Sum(
        "leak",
        "Pressure test of the charge side",
        "How hard, how long, and how far the gauge may fall, blanked at the throttle.",
        (
            "Δp = ṁ · R · T · t / V, at one temperature, T and pressures absolute",
            "Shut in and cooling: p₂ = p₁ · T₂ / T₁; only what falls below that is leak",
        ),
        ("ideal-gas", "pressure-change", "practice"),
        (
            ("volume_cc", "9400"),
            ("boost_kpa", "1 bar"),
            ("outside_kpa", "98"),
            ("leak_kg_s", "0.03 g/s"),
            ("step_kpa", "0.02 bar"),
            ("before_c", "24"),
            ("after_c", "21"),
            ("last_kpa", "0.9 bar"),
        ),
        Caution(
            "WARNING",
            "Compressed air throws plugs. Goggles on, regulator and relief valve, plugs strapped, breather "
            "isolated, nobody in line with a plug; begin low, pressure off before a clamp is touched. Local "
            "codes and licensed practice come first.",
        ),
    ),
    Sum(
        "hoop",
        "Stress in a tube's wall",
        "What pressure does to the wall of a pipe, at the highest pressure there is.",
        (
            "σ = p · D / (2 t), D the outside diameter, t the wall at its thinnest",
            "At the bore by Lamé: σ = p · (D² + d²) / (D² − d²), d the bore; under pressure never more",
        ),
        ("barlow", "lame"),
        (("outside_diameter_mm", "2.5 in"), ("wall_mm", "1.5 mm"), ("gauge_kpa", "22 psi")),
        Caution(
            "WARNING",
            "A pipe that bursts strikes hard. The figure is for sound, smooth tube: welds, dents, cracks and "
            "shaking take more than pressure does. Try pressure on it low, through a regulator and a relief "
            "valve, nobody beside it. Local codes and licensed practice come first.",
        ),
    ),
    Sum(
        "growth",
        "Growth from cold to hot",
        "How much longer a pipe gets when it is hot, and so what a flex or a bracket must give.",
        ("ΔL = α · L · (T₂ − T₁), α near room temperature",),
        ("expansion", "expansion-memory"),
        (("material", "304 stainless"), ("length_mm", "1 m"), ("from_c", "20 °C"), ("to_c", "600 °C")),
    ),
    Sum(
        "radiant",
        "Heat from a pipe on what is beside it",
        "How hot a floor, hose or line gets beside a hot pipe, with a shield or without.",
        (
            "Seen from the strip: F = D / w · arctan(w / (2 L)), L = D / 2 + gap: long, parallel, centred",
            "q = φ σ (T⁴ − T₂⁴), φ = ε₁ ε₂ F / (1 − (1 − ε₁)(1 − ε₂) F F₁₂), F₁₂ = F w / (π D)",
            "Balance: q = h (T₂ − T₀) + φ₀ σ (T₂⁴ − T₀⁴); the back of the strip insulated, the safe side",
            "Shield as wide, close before it, film on its hot side; behind it φ = 1 / (1 / ε + 1 / ε₂ − 1)",
            "Emissivity: " + "; ".join(f"{one.name} {one.emissivity:g}" for one in FINISHES),
        ),
        ("view-factor", "grey-exchange", "emissivity"),
        (
            ("hot_c", "600 °C"),
            ("hot_emissivity", "0.8"),
            ("hot_diameter_mm", "76.1 mm"),
            ("gap_mm", "50 mm"),
            ("neighbour_emissivity", "0.9"),
            ("neighbour_width_mm", "100 mm"),
            ("ambient_c", "60 °C"),
            ("film_w_m2_k", "10"),
            ("shield", "none"),
        ),
        Caution(
            "WARNING",
            "Fuel, oil, brake fluid, rubber and sound deadening catch fire well below what a hot pipe "
            "reaches. No sum clears a fuel or brake line beside an exhaust: move it away, shield it as well, "
            "measure it hot, and keep an extinguisher at hand. Local codes and licensed practice come first.",
        ),
    ),
)
"""Every sum in words, in the order of the list."""
