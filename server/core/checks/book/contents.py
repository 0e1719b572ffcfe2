"""Every rule explained, by its code."""

from collections.abc import Mapping

from server.core.checks.book import (
    of_air,
    of_any_run,
    of_coolant,
    of_direction,
    of_exhaust,
    of_fuel,
    of_gate,
    of_joints,
    of_meters_and_hoses,
    of_neighbours,
    of_oil,
    of_openings,
    of_origin,
    of_reach,
    of_strength,
    of_turbo,
)
from server.core.checks.book.explained import Explained

ALL: tuple[Explained, ...] = (
    *of_any_run.EXPLAINED,
    *of_direction.EXPLAINED,
    *of_reach.EXPLAINED,
    *of_joints.EXPLAINED,
    *of_origin.EXPLAINED,
    *of_neighbours.EXPLAINED,
    *of_air.EXPLAINED,
    *of_strength.EXPLAINED,
    *of_meters_and_hoses.EXPLAINED,
    *of_exhaust.EXPLAINED,
    *of_openings.EXPLAINED,
    *of_fuel.EXPLAINED,
    *of_oil.EXPLAINED,
    *of_gate.EXPLAINED,
    *of_coolant.EXPLAINED,
    *of_turbo.EXPLAINED,
)
"""The tests see to it that every rule of the register is here once."""

BOOK: Mapping[str, Explained] = {one.code: one for one in ALL}
"""What is explained, by the code of its rule."""
