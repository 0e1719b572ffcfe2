"""The bench sums: each the same pure function that the designs use, asked by a script or by a person."""

from collections.abc import Callable, Mapping
from datetime import datetime
from math import pi, radians
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from server.core.air import atmosphere, compressor, demand, losses, tube_sum
from server.core.checks.charge import end_force
from server.core.measure.estimate import Estimate, combine
from server.core.measure.typed import NotRead, Typed, read
from server.core.units import Kind, System, from_si, show, to_si
from server.errors import BadInput, FieldError, NotFound, Refused
from server.features.sums import forms, page
from server.web.json_body import extras, item_model
from server.web.view import Caution

ROWS_SHOWN = 3
"""Rows of a list on an empty page; one more is always free."""

_CHOKED = "The tube chokes: this flow does not pass from this inlet state."

COOLEST_STEADY, WARMEST_STEADY = 250.0, 450.0
"""Where holding the specific heat constant is within 1.5 % [K]; see core.air.gas."""

_NOT_STEADY = "The specific heat is held constant; outside −23 °C to 177 °C that is off by over 1.5 %."

INCH_UNITS = frozenset({
    "inch", "foot", "thou", "psi", "ksi", "inHg", "inH2O", "degF", "delta_degF", "lb/s", "lb/min", "lb/hour",
    "foot**3/min", "foot**3", "inch**3", "mile/hour", "ft/s", "ft/min", "hp", "lbf", "lb", "oz", "lb/foot**3",
})  # fmt: skip
"""Units that belong to the inch system; what is written in them is shown in metric beside."""


def reading(asked: forms.ReadingIn) -> page.ReadingBase:
    """Read a quantity as typed. Raises BadInput where it can't be read."""
    kinds = [Kind.mass_flow, Kind.volume_flow] if asked.kind == "flow" else [Kind(asked.kind)]
    typed = _read_as_any(asked, kinds)
    end, unit = page.READING_FIELDS[Kind.length if typed.kind is Kind.size else typed.kind]
    system = System.inch if typed.unit in INCH_UNITS else System.metric
    shown = show(typed.value, typed.kind, system, typed.doubt)
    values: dict[str, Any] = {f"value_{end}": from_si(typed.value, unit)}
    if typed.doubt is not None:
        values[f"doubt_{end}"] = typed.doubt / (to_si(1.0, unit) - to_si(0.0, unit))
    return page.ReadingOut(
        shown=shown.text,
        also=shown.other or None,
        unit=typed.unit,
        reference=typed.reference.value if typed.reference else None,
        dash=typed.dash,
        **values,
    )


def _read_as_any(asked: forms.ReadingIn, kinds: list[Kind]) -> Typed:
    """The text as the first of these kinds that it can be read as. Raises BadInput."""
    problems = []
    for kind in kinds:
        try:
            return read(asked.text, kind, asked.unit)
        except NotRead as problem:
            problems.append((kind, problem))
    message = " ".join(dict.fromkeys(problem.message for _, problem in problems))
    accepts = ", ".join(problem.accepts for _, problem in problems)
    unit_unknown = all(_is_no_unit(asked.unit, kind) for kind, _ in problems)
    raise BadInput((FieldError("unit" if unit_unknown else "text", message, accepts),), {})


def _is_no_unit(unit: str | None, kind: Kind) -> bool:
    """Whether what was named for bare numbers is no unit of this kind."""
    try:
        read("1" if kind is not Kind.size else "-10", kind, unit or None)
    except NotRead:
        return bool(unit)
    return False


def combined(asked: forms.CombineIn) -> page.CombineOut:
    """Several readings of one thing as one, with the doubt that remains."""
    mm = 1e-3
    readings = [Estimate(one.value_mm * mm, one.doubt_mm * mm) for one in asked.readings]
    both = combine(readings, asked.instrument_floor_mm * mm)
    return page.CombineOut(
        value_mm=both.value / mm,
        doubt_mm=both.doubt / mm,
        chi_square=both.chi_square,
        agree=both.agree,
        notes=(both.note,),
    )


def outside_air(asked: forms.AtmosphereIn) -> page.AtmosphereOut:
    """The standard atmosphere by height; no answer where it is not defined."""
    fault = atmosphere.elevation_fault(asked.elevation_m)
    if fault is not None:
        return page.AtmosphereOut(reason=fault)
    air = atmosphere.standard(asked.elevation_m)
    return page.AtmosphereOut(
        pressure_kpa=air.pressure / 1e3,
        temperature_c=from_si(air.temperature, "degC"),
        density_kg_m3=air.density,
        notes=("Weather moves the pressure by about 3 % either way.",),
    )


def air_demand(asked: forms.AirDemandIn) -> page.AirDemandOut:
    """The air that a four-stroke engine takes in."""
    air = demand.air_demand(
        asked.displacement_cc * 1e-6,
        asked.rpm,
        asked.volumetric_efficiency,
        asked.manifold_pressure_kpa * 1e3,
        to_si(asked.manifold_temperature_c, "degC"),
    )
    return page.AirDemandOut(flow_kg_s=air.flow_kg_s, flow_m3_s=air.flow_m3_s)


def compressed(asked: forms.CompressorIn) -> page.CompressorOut:
    """What a compressor does to the air."""
    inlet = to_si(asked.inlet_temperature_c, "degC")
    done = compressor.compress(inlet, asked.pressure_ratio, asked.efficiency, asked.flow_kg_s)
    notes = done.notes
    if min(inlet, done.outlet_temperature) < COOLEST_STEADY or done.outlet_temperature > WARMEST_STEADY:
        notes = (
            *notes,
            _NOT_STEADY,
        )
    return page.CompressorOut(
        outlet_temperature_c=from_si(done.outlet_temperature, "degC"),
        power_kw=done.power / 1e3,
        outlet_pressure_kpa=asked.inlet_pressure_kpa * asked.pressure_ratio,
        notes=notes,
    )


def tube(asked: forms.TubeIn) -> page.TubeOut:
    """What a flow of air does in one tube."""
    bends = [tube_sum.Bend(radians(bend.angle_deg), bend.radius_mm * 1e-3) for bend in asked.bends]
    flow = tube_sum.tube_loss(
        asked.bore_mm * 1e-3,
        asked.length_mm * 1e-3,
        asked.roughness_mm * 1e-3,
        bends,
        asked.flow_kg_s,
        asked.pressure_kpa * 1e3,
        to_si(asked.temperature_c, "degC"),
    )
    return page.TubeOut(
        loss_kpa=None if flow.loss is None else flow.loss / 1e3,
        choked=flow.choked,
        greatest_flow_kg_s=flow.greatest_flow,
        speed_m_s=flow.speed,
        mach=flow.mach,
        speed_out_m_s=flow.speed_out,
        mach_out=flow.mach_out,
        reynolds=flow.reynolds,
        friction_factor=flow.friction_factor,
        bend_method=flow.bend_method,
        notes=tuple(note for note in flow.notes if note != _CHOKED),
        reason=_CHOKED if flow.choked else None,
    )


def step(asked: forms.StepIn) -> page.StepOut:
    """The loss of a change of bore."""
    half_angle = None if asked.half_angle_deg is None else min(radians(asked.half_angle_deg), pi / 2)
    loss = losses.step(asked.bore_in_mm * 1e-3, asked.bore_out_mm * 1e-3, half_angle)
    return page.StepOut(loss_coefficient=loss.value, method=loss.source, notes=loss.notes)


def blow_off(asked: forms.BlowOffIn) -> page.BlowOffOut:
    """The force that pushes a hose joint apart."""
    force = end_force(asked.outside_diameter_mm * 1e-3, asked.gauge_kpa * 1e3)
    notes: tuple[str, ...] = ("What a bead and clamp hold has no public figure.",)
    if force < 0.0:
        notes = ("Suction: the force pulls the joint together.", *notes)
    return page.BlowOffOut(force_n=force, notes=notes)


Answering = tuple[type[forms.Asked], Callable[[Any], page.Answer]]

BENCH: Mapping[str, Answering] = {
    "reading": (forms.ReadingIn, reading),
    "combine": (forms.CombineIn, combined),
    "atmosphere": (forms.AtmosphereIn, outside_air),
    "air-demand": (forms.AirDemandIn, air_demand),
    "compressor": (forms.CompressorIn, compressed),
    "tube": (forms.TubeIn, tube),
    "step": (forms.StepIn, step),
    "blow-off": (forms.BlowOffIn, blow_off),
}
"""For each sum: what it is asked, and how it answers."""

SUMS = (
    page.Sum(
        "reading",
        "Read a quantity",
        "A number as you type it, in the other units too: 3 1/4 in, 18 psi, −10 AN.",
        ("1 in = 25.4 mm; 1 psi = 6.894757 kPa; T = (t − 32) / 1.8 °C", "−n AN: tube of n / 16 in outside"),
        ("si", "dash"),
        (("text", "3 1/4 in"), ("kind", "length")),
    ),
    page.Sum(
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
    page.Sum(
        "atmosphere",
        "Air outside by height",
        "Pressure, temperature and density of the standard atmosphere where the garage stands.",
        ("p = p₀ · (T / T₀)^5.2559; T = T₀ − 6.5 K per km; ρ = p / (R T)",),
        ("atmosphere",),
        (("elevation_m", "240 m"),),
    ),
    page.Sum(
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
    page.Sum(
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
    page.Sum(
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
    page.Sum(
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
    page.Sum(
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
)
"""Every sum in words, in the order of the list."""


def sums_page(now: datetime) -> page.SumsPage:
    return page.sums_page(SUMS, now.date())


def sum_page(name: str, typed: Mapping[str, str], now: datetime) -> tuple[page.SumPage, int]:
    """One sum and its status: 200, or 422 where what was typed can't be used. Raises NotFound."""
    words = next((one for one in SUMS if one.name == name), None)
    if words is None:
        raise NotFound("There is no such sum.")
    model, answer = BENCH[name]
    asked = dict(typed)
    refused: Refused | None = None
    found: page.Answer | None = None
    if asked:
        try:
            found = answer(forms.typed_sum(model, asked))
        except BadInput as bad:
            refused = BadInput(bad.errors, asked)
    shown = page.sum_page(words, _blocks(model, asked), asked, refused, found, now.date())
    return shown, refused.status if refused else 200


def _blocks(model: type[BaseModel], typed: Mapping[str, str]) -> list[page.Block]:
    """The form of a sum: its fields in order, and every list as rows, those filled and some that are free."""
    blocks = []
    for name, field in model.model_fields.items():
        item = item_model(field)
        if item is None:
            blocks.append(page.Block(name, "", ((_entry(name, field, hinted=True),),)))
            continue
        filled = forms.filled_rows(item, name, typed)
        count = min(max(ROWS_SHOWN, 2 + max(filled, default=0)), forms.MOST_ROWS)
        rows = tuple(
            tuple(
                _entry(f"{name}[{number}].{part}", inner, hinted=number == 0)
                for part, inner in item.model_fields.items()
            )
            for number in range(count)
        )
        blocks.append(page.Block(name, field.title or name, rows))
    return blocks


def _entry(name: str, field: FieldInfo, *, hinted: bool) -> page.Entry:
    options = get_args(field.annotation) if get_origin(field.annotation) is Literal else ()
    unit = extras(field).get("unit", "")
    return page.Entry(
        name, field.title or name, _hint(field) if hinted and not options else "", unit, options
    )


def _hint(field: FieldInfo) -> str:
    """What the field's description adds to its title, else an example."""
    described = (field.description or "").split(" [", 1)[0].removeprefix(field.title or "").lstrip(", ")
    if described:
        return described[:1].lower() + described[1:]
    example = field.examples[0] if field.examples else ""
    return f"such as {example:g}" if isinstance(example, float) else f"such as {example}"
