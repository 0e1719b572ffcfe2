"""Figures of what is fitted: the turbocharger's map (invented), fuel but for its pump, the heater hose."""

from seed_demo.hand import Hand, Typed, typed
from server.features.figures import service as figures

FUEL = {
    "fuel.injectors": "4",
    "fuel.injector_flow": "550 cc/min",
    "fuel.rated_pressure": "3 bar",
    "fuel.dead_time": "0.9 ms",
    "fuel.base_pressure": "3 bar",
    "fuel.referenced": "yes",
    "fuel.line_bore": "8 mm",
    "fuel.line_length": "3.5 m",
}

HEATER = {
    "heater.shape": "bent",
    "heater.bore": "16 mm",
    "heater.radius": "120 mm",
    "heater.rated_pressure": "2 bar",
    "heater.rated_temperature": "125 °C",
    "heater.cap": "1.1 bar",
    "heater.bleed": "yes",
}

MAP = """\
flow (kg/s); pressure ratio; efficiency; rpm
0.038; 1.41; 61.5 %; 81000
0.057; 1.41; 69.6 %; 81000
0.077; 1.39; 74.1 %; 81000
0.096; 1.35; 75.0 %; 81000
0.116; 1.30; 72.3 %; 81000
0.136; 1.23; 66.0 %; 81000
0.060; 1.78; 62.2 %; 108000
0.085; 1.77; 70.3 %; 108000
0.111; 1.73; 74.8 %; 108000
0.137; 1.67; 75.7 %; 108000
0.163; 1.57; 73.0 %; 108000
0.189; 1.43; 66.7 %; 108000
0.080; 2.17; 62.4 %; 130000
0.110; 2.15; 70.5 %; 130000
0.141; 2.10; 75.0 %; 130000
0.172; 1.99; 75.9 %; 130000
0.202; 1.84; 73.2 %; 130000
0.233; 1.64; 66.9 %; 130000
0.102; 2.64; 62.2 %; 151000
0.137; 2.61; 70.3 %; 151000
0.173; 2.54; 74.8 %; 151000
0.208; 2.40; 75.7 %; 151000
0.243; 2.18; 73.0 %; 151000
0.278; 1.90; 66.7 %; 151000
0.124; 3.14; 61.8 %; 171000
0.164; 3.12; 69.9 %; 171000
0.203; 3.02; 74.4 %; 171000
0.242; 2.83; 75.3 %; 171000
0.281; 2.55; 72.6 %; 171000
0.321; 2.18; 66.3 %; 171000
"""


def type_in(hand: Hand) -> None:
    _save(hand, "Fuel supply", FUEL, -12)
    _save(hand, "Turbocharger", {"turbo.map": MAP}, -13)
    _save(hand, "Heater hoses", HEATER, -2)


def _save(hand: Hand, subsystem: str, fields: Typed, days: int) -> None:
    number = hand.subsystems[subsystem]
    figures.save_figures(
        hand.session, hand.build_id, number, fields | typed(version="0"), hand.moment(days), "builder"
    )
