"""Symbols of valves and users on the drawing of a line map, after ISO 1219-1.

Each stands in a square of forty sheet units round its middle, lines going down. What that standard has no
symbol for is a plain box with words. Source: ISO 1219-1:2012, from memory.
"""

from dataclasses import dataclass

from server.core.lines.ledger import Device
from server.core.lines.states import Kind

SIDE = 40.0
"""The square that a symbol stands in [sheet units]."""


@dataclass(frozen=True, slots=True)
class Sign:
    """Thin lines and filled areas of a symbol, as SVG paths round its middle."""

    lines: str
    filled: str = ""


_SQUARE = "M-11 -11H11V11H-11Z"
_CIRCLE = "M-13 0A13 13 0 1 0 13 0A13 13 0 1 0 -13 0Z"
_BALL = "M-7 {y}A7 7 0 1 0 7 {y}A7 7 0 1 0 -7 {y}Z"
_SOLENOID = "M-13 -8H0V8H-13ZM0 -8H13V8H0ZM-13 -5H-20V5H-13M-20 5L-13 -5M13 0L15 -5L17 5L19 -5L20 0"
"""Two positions, worked by a coil on the left, at rest by the spring on the right."""
_SHUT_AT_REST = Sign(f"{_SOLENOID}M-6.5 8V-8M6.5 8V4M4 4H9M6.5 -8V-4M4 -4H9", "M-6.5 -8L-9 -2H-4Z")
_RESTRICTOR = "M0 -20V20M-9 -11Q-2 0 -9 11M9 -11Q2 0 9 11"

_PASSES_DOWN = Sign(f"M0 -20V-8M-9 3L0 -8L9 3M0 10V20{_BALL.format(y=3)}")
"""A ball in its seat, lifted by what comes from above."""
_PASSES_UP = Sign(f"M0 20V8M-9 -3L0 8L9 -3M0 -10V-20{_BALL.format(y=-3)}")

DEVICES: dict[Device, Sign] = {
    Device.RESTRICTOR: Sign(_RESTRICTOR),
    Device.THREE_WAY: Sign(
        f"{_SOLENOID}M3 8L9 -8M10.5 8V4M8 4H13M-10 8L-4 -8M-2.5 8V4M-5 4H0",
        "M9 -8L4.5 -4L9.5 -2ZM-4 -8L-8.5 -4L-3.5 -2Z",
    ),
    Device.BLEED: _SHUT_AT_REST,
    Device.PURGE: _SHUT_AT_REST,
    Device.IDLE_VALVE: Sign(f"{_RESTRICTOR}M-12 12L12 -12", "M12 -12L4 -10L10 -4Z"),
    Device.BYPASS: Sign(f"{_SQUARE}M4 -11V11M11 0L13 -5L15 5L17 -5L19 0", "M4 11L1 4H7Z"),
    Device.AIR_PUMP: Sign(f"{_CIRCLE}M0 13L-7 2H7Z"),
    Device.HEATER: Sign("M0 -16L16 0L0 16L-16 0ZM0 -20V20"),
}
"""Of devices: a purge valve and a bleed solenoid are shut at rest, the control unit sets an idle valve."""

SPACES: dict[Kind, Sign] = {
    Kind.GAUGE: Sign(f"{_CIRCLE}M-6 6L7 -7", "M7 -7L0 -5L5 0Z"),
    Kind.ACTUATOR: Sign("M-18 -9H8V9H-18ZM-8 -9V9M-8 0H18M-8 6L-5 3L-2 8L1 3L4 8L8 4"),
    Kind.REGULATOR: Sign(f"{_SQUARE}M0 -11V11M-4 -12L4 -14L-4 -16L4 -18", "M0 11L-3 4H3Z"),
}
"""Of users: a pressure gauge, a cylinder with a spring, a pressure regulator."""


def sign_of_check(down: bool) -> Sign:
    """A one-way valve by the way that it passes on the sheet. Source: ISO 1219-1, from memory."""
    return _PASSES_DOWN if down else _PASSES_UP
