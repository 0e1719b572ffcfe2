"""Figures of what is fitted: the fuel supply, all but the pump, which has yet to be measured."""

from seed_demo.hand import Hand, typed
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


def type_in(hand: Hand) -> None:
    fuel = hand.subsystems["Fuel supply"]
    fields = FUEL | typed(version="0")
    figures.save_figures(hand.session, hand.build_id, fuel, fields, hand.moment(-12), "builder")
