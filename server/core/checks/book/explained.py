"""A rule explained: the lines of its formula, and an example that is worked with those very lines."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from server.core.checks.answer import Check, answer
from server.core.checks.book.marks import Mark, line_mark, line_plain
from server.core.checks.book.signs import (
    Amount,
    Line,
    Relation,
    Sign,
    Value,
    holds,
    signs_of,
    with_amounts,
    worth,
)
from server.core.checks.case import Case
from server.core.units import System


@dataclass(frozen=True, slots=True)
class Told:
    """A sign whose value the check reports itself.

    item: key of the finding. field: "value", "limit" or "tight_margin" of it.
    """

    sign: Sign
    item: str
    field: str = "value"


@dataclass(frozen=True, slots=True)
class Example:
    """A case that the check answers, and the same worked by hand.

    text: what is there, in words. given: what the lines start from, read off the case [SI]. told: which
    signs the check reports itself. same: what the rule's own functions give for further signs [SI].
    """

    text: str
    case: Case
    given: Mapping[Sign, Value]
    told: tuple[Told, ...] = ()
    same: Mapping[Sign, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Explained:
    """What the handbook says about a rule beside what stands in the register.

    lines: what *go* asks; they are worked in order. tight: what still counts as *tight*. notes: sentences
    under the formula. marched: the run's loss or speed enters, so that loss coefficients do.
    """

    code: str
    lines: tuple[Line, ...]
    example: Callable[[], Example]
    tight: tuple[Line, ...] = ()
    notes: tuple[str, ...] = ()
    marched: bool = False

    @property
    def signs(self) -> tuple[Sign, ...]:
        """Every sign of the formula, in the order in which they are read."""
        return signs_of((*self.lines, *self.tight))


@dataclass(frozen=True, slots=True)
class Step:
    """A line with numbers in it. plain: on one line. holds: of a condition. tight: not asked for *go*."""

    marks: Mark
    plain: str
    holds: bool | None
    tight: bool


@dataclass(frozen=True, slots=True)
class Worked:
    """An example worked: values of every sign by the lines [SI], the steps, and what the check answers."""

    example: Example
    values: Mapping[Sign, Value]
    check: Check
    met: bool
    tight: bool


@lru_cache(maxsize=128)
def work(explained: Explained) -> Worked:
    """Work an example through its lines and let the check answer the same case.

    Raises KeyError for a sign without a value, StopIteration where the rule has nothing to say. Source: the
    rule's own.
    """
    example = explained.example()
    values = dict(example.given)
    for line in (*explained.lines, *explained.tight):
        if line.defines is not None:
            values[line.defines] = worth(line.right, values)
    check = next(one for one in answer(example.case).checks if one.rule.code == explained.code)
    conditions = [line for line in explained.lines if line.defines is None]
    still = [line for line in explained.tight if line.defines is None]
    return Worked(
        example,
        values,
        check,
        all(holds(line, values) for line in conditions),
        bool(still) and all(holds(line, values) for line in still),
    )


def steps(explained: Explained, system: System) -> tuple[Step, ...]:
    """The lines with the example's numbers in them, in a build's units."""
    worked = work(explained)
    rows = [(line, False) for line in explained.lines]
    # Where all that go asks is met, nobody looks at what would still be tight.
    rows += [] if worked.met else [(line, True) for line in explained.tight]
    return tuple(_step(line, worked.values, system, tight) for line, tight in rows)


def _step(line: Line, values: Mapping[Sign, Value], system: System, tight: bool) -> Step:
    right = with_amounts(line.right, values, system)
    if line.defines is None:
        put_in = Line(with_amounts(line.left, values, system), line.relation, right)
        return Step(line_mark(put_in), line_plain(put_in), holds(line, values), tight)
    put_in = Line(line.left, line.relation, right)
    text = line.defines.text(values[line.defines], system)
    result = Line(line.left, Relation.IS, Amount(text))
    return Step(line_mark(put_in, result), f"{line_plain(put_in)} = {text}", None, tight)
