"""The bench sums: each the same pure function that the designs use, asked by a script or by a person."""

from collections.abc import Mapping
from datetime import datetime
from math import pi, radians
from typing import Any

from server.core.air import atmosphere, compressor, demand, expansion, losses, tube_sum
from server.core.air.radiant import VIEW_METHOD, neighbour, neighbour_notes
from server.core.checks.charge import end_force
from server.core.checks.strength import HOOP_BASIS, bore_stress, hoop_notes, hoop_stress, wall_fault
from server.core.lines import leak
from server.core.measure.estimate import Estimate, combine
from server.core.measure.typed import NotRead, Typed, read
from server.core.units import Kind, System, from_si, show, to_si
from server.errors import BadInput, FieldError, NotFound
from server.features.bench import page as bench_page
from server.features.bench import service as bench
from server.features.cut_sums import page as cut_page
from server.features.cut_sums import service as cut_sums
from server.features.patterns import page as pattern_page
from server.features.patterns import service as patterns
from server.features.pipe_sums import page as pipe_page
from server.features.pipe_sums import service as pipe_sums
from server.features.plan_sums import page as plan_page
from server.features.plan_sums import service as plan_sums
from server.features.sums import forms, page

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


def leak_test(asked: forms.LeakIn) -> page.LeakOut:
    """How a pressure test is made; what it came to, where the last reading is there."""
    before, after = (to_si(one, "degC") for one in (asked.before_c, asked.after_c))
    taken = leak.rate_of(asked.leak_kg_s, before)
    test = leak.plan(asked.volume_cc * 1e-6, asked.boost_kpa * 1e3, taken, asked.step_kpa * 1e3)
    planned = page.LeakOut(
        allowed_kpa=test.allowed / 1e3,
        time_s=test.time,
        start_kpa=test.start / 1e3,
        pressure_kpa=test.pressure / 1e3,
        notes=leak_words(test, asked.step_kpa * 1e3),
    )
    if asked.last_kpa is None:
        return planned
    came = leak.judge(test, asked.outside_kpa * 1e3, test.pressure, asked.last_kpa * 1e3, before, after)
    word = "It passes." if came.passes else "It leaks more than is taken: listen, and soap every joint."
    return planned.model_copy(
        update={
            "cooling_kpa": came.by_cooling / 1e3,
            "leak_kpa": came.by_leak / 1e3,
            "lost_kg_s": came.mass,
            "passes": came.passes,
            "notes": (word, *planned.notes),
        }
    )


def leak_words(test: leak.LeakTest, step: float) -> tuple[str, ...]:
    """What to know of a test; step: the least fall that the gauge shows [Pa]."""
    return (
        *leak.notes(test, step),
        "An assembled engine always leaks down by valves and rings: without a blank at the throttle listen "
        "and soap instead, no figure counts.",
    )


def hoop(asked: forms.HoopIn) -> page.HoopOut:
    """The stress in a tube's wall; no answer where the wall leaves no bore."""
    outside, wall, gauge = asked.outside_diameter_mm * 1e-3, asked.wall_mm * 1e-3, asked.gauge_kpa * 1e3
    fault = wall_fault(outside, wall)
    if fault is not None:
        return page.HoopOut(reason=fault)
    return page.HoopOut(
        stress_mpa=hoop_stress(outside, wall, gauge) / 1e6,
        bore_stress_mpa=bore_stress(outside, wall, gauge) / 1e6,
        walls=outside / wall,
        basis=HOOP_BASIS,
        notes=hoop_notes(outside, wall, gauge),
    )


def growth(asked: forms.GrowthIn) -> page.GrowthOut:
    """How much longer a length of metal gets. Raises BadInput for a material that is not known here."""
    metal = expansion.metal_named(asked.material)
    if metal is None:
        message = f"{asked.material} is none of the metals known here."
        accepts = f"text that names one of: {', '.join(expansion.METAL_NAMES)}"
        raise BadInput((FieldError("material", message, accepts),), {})
    cold, hot = to_si(asked.from_c, "degC"), to_si(asked.to_c, "degC")
    fault = expansion.growth_fault(metal, cold, hot)
    if fault is not None:
        return page.GrowthOut(reason=fault)
    grown = expansion.growth(asked.length_mm * 1e-3, metal.expansion, cold, hot)
    return page.GrowthOut(
        growth_mm=grown * 1e3,
        expansion_um_m_k=metal.expansion * 1e6,
        metal=metal.name,
        source=metal.source.label,
        notes=expansion.growth_notes(cold, hot),
    )


def radiant(asked: forms.RadiantIn) -> page.RadiantOut:
    """What a hot pipe does to a strip of something beside it."""
    beside = neighbour(
        to_si(asked.hot_c, "degC"),
        asked.hot_emissivity,
        asked.hot_diameter_mm * 1e-3,
        asked.gap_mm * 1e-3,
        asked.neighbour_emissivity,
        asked.neighbour_width_mm * 1e-3,
        to_si(asked.ambient_c, "degC"),
        asked.film_w_m2_k,
        asked.shield_emissivity if asked.shield == "bright" else None,
    )
    shield = beside.shield_temperature
    return page.RadiantOut(
        neighbour_c=from_si(beside.temperature, "degC"),
        flux_w_m2=beside.flux,
        view_factor=beside.view,
        exchange_factor=beside.exchange,
        convected_w_m2=beside.convected,
        reradiated_w_m2=beside.reradiated,
        shield_c=None if shield is None else from_si(shield, "degC"),
        closure_w_m2=beside.closure,
        view_by=VIEW_METHOD,
        notes=neighbour_notes(
            asked.gap_mm * 1e-3, asked.hot_diameter_mm * 1e-3, asked.shield_emissivity if shield else None
        ),
    )


BENCH: Mapping[str, bench.Answering] = {
    "reading": (forms.ReadingIn, reading),
    "combine": (forms.CombineIn, combined),
    "atmosphere": (forms.AtmosphereIn, outside_air),
    "air-demand": (forms.AirDemandIn, air_demand),
    "compressor": (forms.CompressorIn, compressed),
    "tube": (forms.TubeIn, tube),
    "step": (forms.StepIn, step),
    "blow-off": (forms.BlowOffIn, blow_off),
    "leak": (forms.LeakIn, leak_test),
    "hoop": (forms.HoopIn, hoop),
    "growth": (forms.GrowthIn, growth),
    "radiant": (forms.RadiantIn, radiant),
    **pipe_sums.BENCH,
    **patterns.BENCH,
    **cut_sums.BENCH,
    **plan_sums.BENCH,
}
"""For each sum: what it is asked, and how it answers."""

SUMS = (*page.SUMS, *pipe_page.SUMS, *pattern_page.SUMS, *cut_page.SUMS, *plan_page.SUMS)
"""Every sum in words, in the order of the list."""


def sums_page(now: datetime) -> bench_page.SumsPage:
    return bench_page.sums_page(SUMS, now.date())


def sum_page(name: str, typed: Mapping[str, str], now: datetime) -> tuple[bench_page.SumPage, int]:
    """One sum and its status: 200, or 422 where what was typed can't be used. Raises NotFound."""
    words = next((one for one in SUMS if one.name == name), None)
    if words is None:
        raise NotFound("There is no such sum.")
    return bench.sum_page(words, BENCH[name], typed, now)
