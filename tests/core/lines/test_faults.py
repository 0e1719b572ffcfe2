"""Changes to a right map are found in the states written down beforehand, and harmless ones raise nothing.

All of them, on several cars, are asked by `python -m tests.bench.line_maps`; here a seeded few.
"""

from random import Random

import pytest

from tests.line_faults import Fault, faults, wrongly_answered
from tests.line_maps import right_car

SOME = Random(7).sample(list(faults(right_car())), 60)


@pytest.mark.parametrize("fault", SOME, ids=lambda fault: fault.name)
def test_a_change_breaks_what_it_was_said_to_break_and_nothing_else(fault: Fault) -> None:
    car = right_car()
    fault.change(car)
    assert wrongly_answered(car, fault) == ""


def test_there_are_harmless_changes_and_undecided_ones_among_them() -> None:
    every = list(faults(right_car()))
    assert len(every) > 250
    assert sum(not fault.breaks and not fault.unknown for fault in every) > 60
    assert sum(bool(fault.unknown) for fault in every) >= 4
