"""Engine states, the kinds of space that lines open into, and which pressure stands higher in each state.

Pressures are places in an order, not values: what counts is which of two spaces stands higher. A pair of
places is the least and the most that a space may have in that state; where two pairs overlap the order is
not known. Source of the order: conservation of energy along the flow (air runs from higher to lower); how
deep a manifold stands at idle and as the throttle shuts: register, `idle-vacuum`; the rest is common
practice, no source.
"""

from enum import StrEnum


class State(StrEnum):
    """What the engine is doing; the value is the word pages show."""

    CRANKING = "cranking"
    IDLE = "idle"
    CRUISE = "cruise"
    BOOST = "boost"
    LIFT_OFF = "lift-off"
    OVER_RUN = "over-run"
    COLD_START = "cold start"
    HOT_SOAK = "hot soak"


RUNNING = (
    State.IDLE,
    State.CRUISE,
    State.BOOST,
    State.LIFT_OFF,
    State.OVER_RUN,
    State.COLD_START,
)
"""States in which the engine fires, and blow-by enters the crankcase."""


class Kind(StrEnum):
    """A kind of space. The value is the word pages show.

    The first group has its pressure from the engine; the second has what its lines bring.
    """

    ATMOSPHERE = "the open air"
    BEFORE_METER = "the intake before the air meter"
    INTAKE = "the intake ahead of the compressor"
    CHARGE = "the charge pipe"
    AFTER_METER = "the charge pipe after the air meter"
    MANIFOLD = "the manifold behind the throttle"
    EXHAUST = "the exhaust"
    CANISTER = "the vapour canister"
    TANK = "the fuel tank's vapour space"
    VACUUM_PUMP = "the vacuum pump"
    OIL_GALLERY = "the oil gallery"
    SUMP = "the sump above the oil"
    PUMP_OUT = "the coolant pump's outlet side"
    PUMP_IN = "the coolant pump's suction side"
    FUEL_SUPPLY = "the fuel pump's outlet"
    FUEL_RETURN = "the fuel return to the tank"
    HARNESS = "the wiring loom"

    CRANKCASE = "the crankcase"
    SERVO = "the brake servo"
    ACTUATOR = "the wastegate's actuator"
    GAUGE = "a boost gauge"
    SENSOR = "a manifold pressure sensor"
    REGULATOR = "the fuel regulator's reference"
    BYPASS_TOP = "the bypass valve's signal chamber"
    PLUG = "a plug"
    JUNCTION = "a junction"


Levels = tuple[int, int]
"""The least and the most a space may stand at, as places in the order of pressures."""

UNDER_PRESSURE = 5
"""From this place on a space is under boost."""

VACUUM = -3
"""Down from this place a space is under useful vacuum."""

_NOTHING: Levels = (0, 0)
_DEEP, _LIFT = (-8, -8), (10, 10)
_RUN: Levels = (3, 3)

LEVELS: dict[Kind, dict[State, Levels]] = {
    Kind.ATMOSPHERE: {},
    Kind.BEFORE_METER: {
        **dict.fromkeys((State.CRANKING, *RUNNING), (-1, -1)),
        State.LIFT_OFF: (-1, 0),
    },
    Kind.INTAKE: {**dict.fromkeys((State.CRANKING, *RUNNING), (-2, -2)), State.LIFT_OFF: (-2, 0)},
    # At idle and light load the compressor hardly turns: about the open air's pressure, either side of it.
    Kind.CHARGE: {
        State.CRANKING: (-2, 0),
        State.IDLE: (-2, 1),
        State.CRUISE: (-2, 3),
        State.BOOST: (9, 9),
        State.LIFT_OFF: _LIFT,
        State.OVER_RUN: (-2, 1),
        State.COLD_START: (-2, 1),
    },
    Kind.MANIFOLD: {
        State.CRANKING: (-4, -3),
        State.IDLE: (-6, -6),
        State.CRUISE: (-6, -3),
        State.BOOST: (8, 8),
        State.LIFT_OFF: _DEEP,
        State.OVER_RUN: _DEEP,
        State.COLD_START: (-5, -5),
    },
    Kind.EXHAUST: {**dict.fromkeys(RUNNING, (1, 2)), State.BOOST: (4, 12), State.CRANKING: (0, 1)},
    Kind.CANISTER: {},
    Kind.TANK: dict.fromkeys(State, (0, 1)),
    Kind.VACUUM_PUMP: dict.fromkeys(RUNNING, (-7, -7)),
    Kind.OIL_GALLERY: dict.fromkeys((State.CRANKING, *RUNNING), _RUN),
    Kind.SUMP: {},
    Kind.PUMP_OUT: dict.fromkeys((State.CRANKING, *RUNNING), _RUN),
    Kind.PUMP_IN: {},
    Kind.FUEL_SUPPLY: dict.fromkeys((State.CRANKING, *RUNNING), _RUN),
    Kind.FUEL_RETURN: {},
    Kind.HARNESS: {},
}
LEVELS[Kind.AFTER_METER] = LEVELS[Kind.CHARGE]
"""Spaces whose pressure the engine gives; where a state is not named they stand at the open air's."""


def has_own_level(kind: Kind) -> bool:
    """Whether a kind of space has its pressure from the engine, not from its lines."""
    return kind in LEVELS


def level_of(kind: Kind, state: State) -> Levels:
    """Where a kind of space stands in a state. Raises KeyError for one that has no level of its own."""
    return LEVELS[kind].get(state, _NOTHING)


_WORDS: tuple[tuple[int, str], ...] = (
    (-7, "deep vacuum"),
    (VACUUM, "vacuum"),
    (-1, "a little suction"),
    (0, "the open air’s pressure"),
    (UNDER_PRESSURE - 1, "a little pressure"),
    (9, "boost"),
    (10, "boost, for a moment more"),
)
"""Up to which place in the order of pressures a word goes."""


def level_words(levels: Levels) -> str:
    """Where a space stands, in words; from one to another where it may be either. Definition."""
    least, most = (next((word for up_to, word in _WORDS if one <= up_to), "boost or more") for one in levels)
    return least if least == most else f"{least} to {most}"
