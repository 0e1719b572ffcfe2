"""What a figure of what is fitted is made of, and how figures are kept."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from server.core.measure.estimate import Estimate
from server.core.units import Kind

OWNER = "figure"
"""First part of a figure's name as a variable: `figure.fuel.injector_flow`."""

Table = tuple[tuple[float, ...], ...]
"""Rows of figures [SI units of their columns]."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. unit: pint name of a bare number."""

    heading: str
    kind: Kind
    unit: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure that may be typed.

    kind: of a quantity, None for a choice or a table. unit: pint name of a bare number. least, most: [SI].
    doubt: standard uncertainty where none is typed, of the value [-]. whole: it counts things. choices: value
    and label. columns: of a table. sort: of size in `measure.plausible.USUAL`, empty where `least` and `most`
    are what is usual.
    """

    key: str
    words: str
    kind: Kind | None = None
    unit: str = ""
    least: float = 0.0
    most: float = 0.0
    doubt: float = 0.0
    whole: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    columns: tuple[Column, ...] = ()
    hint: str = ""
    sort: str = ""

    @property
    def variable(self) -> str:
        """Its name as a variable."""
        return f"{OWNER}.{self.key}"


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of a subsystem as typed: by key, numbers [SI] with doubt, choices, tables."""

    numbers: Mapping[str, Estimate] = field(default_factory=dict)
    said: Mapping[str, str] = field(default_factory=dict)
    tables: Mapping[str, Table] = field(default_factory=dict)
    taken: frozenset[str] = frozenset()
    """Keys of numbers that nobody typed here: they come from another sheet of the build."""

    def __bool__(self) -> bool:
        """Whether anything was typed."""
        return bool(self.numbers or self.said or self.tables)

    def with_number(self, key: str, value: float) -> "Figures":
        """The same with one number [SI] changed, its doubt kept. Raises KeyError where it was not typed."""
        changed = Estimate(value, self.numbers[key].doubt)
        return replace(self, numbers={**self.numbers, key: changed})

    def taking(self, key: str, number: Estimate) -> "Figures":
        """The same with a number [SI] that comes from another sheet."""
        return replace(self, numbers={**self.numbers, key: number}, taken=self.taken | {key})


YES_NO = (("yes", "yes"), ("no", "no"))
