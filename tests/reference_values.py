"""Published values that the computations are compared with, read from `tests/reference/*.toml`.

Every check names where its value comes from; none was computed by this project.
"""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "reference"
SURENESS = frozenset(
    {"published", "reproduced with a reference library", "from memory", "common practice, no source"}
)
REQUIRED = frozenset({"id", "subject", "quantity", "source", "sureness", "inputs", "expected", "unit"})
OPTIONAL = frozenset({"tolerance_rel", "tolerance_abs", "note"})


@dataclass(frozen=True, slots=True)
class Check:
    """One value from outside: what it is, where it comes from, and how close ours has to be."""

    id: str
    subject: str
    quantity: str
    source: str
    sureness: str
    inputs: Mapping[str, Any]
    expected: Any
    unit: str
    tolerance_rel: float | None = None
    tolerance_abs: float | None = None
    note: str = ""

    def __str__(self) -> str:
        return self.id

    def allows(self, got: float) -> bool:
        """Whether a computed number is close enough to the published one."""
        wanted = float(self.expected)
        if self.tolerance_abs is not None:
            return abs(got - wanted) <= self.tolerance_abs
        assert self.tolerance_rel is not None, f"{self.id} states no tolerance"
        return math.isclose(got, wanted, rel_tol=self.tolerance_rel, abs_tol=0.0)


def load(name: str) -> list[Check]:
    """All checks of `tests/reference/NAME.toml`; a malformed entry fails here, naming itself."""
    entries = tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))["check"]
    checks = [_check(entry) for entry in entries]
    ids = [check.id for check in checks]
    twice = sorted({one for one in ids if ids.count(one) > 1})
    assert not twice, f"{name}.toml uses an id twice: {', '.join(twice)}"
    return checks


def _check(entry: dict[str, Any]) -> Check:
    label = entry.get("id", "an entry without id")
    missing = REQUIRED - entry.keys()
    unknown = entry.keys() - REQUIRED - OPTIONAL
    assert not missing, f"{label} lacks {', '.join(sorted(missing))}"
    assert not unknown, f"{label} has unknown fields {', '.join(sorted(unknown))}"
    assert entry["sureness"] in SURENESS, f"{label}: sureness must be one of {sorted(SURENESS)}"
    number = isinstance(entry["expected"], int | float)
    assert not number or ("tolerance_rel" in entry) != ("tolerance_abs" in entry), (
        f"{label} needs one tolerance, relative or absolute"
    )
    return Check(**entry)
