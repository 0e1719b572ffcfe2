"""How much of a large sweep a run of the tests looks at: the same sample each time, or all of it.

`.ci/run` has to end soon, so it takes samples. `make prove` asks for the whole: WITNESS_MARK_TESTS=whole.
"""

import os
from collections.abc import Sequence
from typing import TypeVar

from hypothesis import settings

WHOLE = os.environ.get("WITNESS_MARK_TESTS") == "whole"

T = TypeVar("T")


def sample(everything: Sequence[T], count: int) -> list[T]:
    """So many of them, spread evenly from the first on; all of them where the whole is asked for."""
    if WHOLE or count >= len(everything):
        return list(everything)
    return [everything[number * len(everything) // count] for number in range(count)]


def draw_examples() -> None:
    """How hypothesis draws its examples: always the same fifty, or six hundred that nobody saw before.

    A test that says how many it draws draws so many. How long an example takes is no matter of tests.
    """
    settings.register_profile("sample", deadline=None, derandomize=True, database=None, max_examples=50)
    settings.register_profile("whole", deadline=None, max_examples=600)
    settings.load_profile("whole" if WHOLE else "sample")
