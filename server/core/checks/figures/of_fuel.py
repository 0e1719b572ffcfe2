"""Figures of the fuel supply."""

from server.core.checks.figures.asked import YES_NO, Column, Figure
from server.core.units import Kind

FUEL = (
    Figure("fuel.injectors", "number of injectors", Kind.ratio, "dimensionless", 1.0, 24.0, whole=True),
    Figure(
        "fuel.injector_flow",
        "flow of one injector, held open",
        Kind.volume_flow,
        "cm**3/min",
        1e-6,
        1e-4,
        doubt=0.03,
        hint="at the pressure its maker tested it with: 550 cc/min",
    ),
    Figure(
        "fuel.rated_pressure",
        "pressure of that test",
        Kind.pressure,
        "bar",
        0.5e5,
        20e5,
        doubt=0.01,
        hint="often 3 bar",
    ),
    Figure(
        "fuel.dead_time",
        "dead time of the injector",
        Kind.time,
        "millisecond",
        0.0,
        0.005,
        doubt=0.15,
        hint="at the battery's voltage, from its maker: 0.9 ms",
    ),
    Figure(
        "fuel.base_pressure",
        "fuel pressure, regulator's hose off",
        Kind.pressure,
        "bar",
        0.5e5,
        20e5,
        doubt=0.02,
        hint="engine still, pump running: 3 bar",
    ),
    Figure(
        "fuel.referenced",
        "regulator's hose goes to the manifold",
        choices=YES_NO,
        hint="so that the rail follows boost one to one",
    ),
    Figure(
        "fuel.pump",
        "flow of the pump by pressure",
        columns=(
            Column("pressure", Kind.pressure, "bar"),
            Column("flow", Kind.volume_flow, "L/hour"),
        ),
        hint="one row each, from its maker, at the voltage it will see: 3 bar; 255 l/h",
    ),
    Figure(
        "fuel.line_bore",
        "bore of the fuel feed line",
        Kind.length,
        "mm",
        0.001,
        0.05,
        doubt=0.01,
        sort="line_bore",
    ),
    Figure("fuel.line_length", "length of the fuel feed line", Kind.length, "m", 0.1, 20.0, doubt=0.02),
)
