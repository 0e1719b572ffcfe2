"""What the elements of a run do in many draws, whatever the stream does: for all of them in one go.

With a few hundred draws most of the time of a march goes by in calls, not in sums.
Source of each relation: the function of `march` or `losses` that it repeats.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.core.air import losses
from server.core.air.many_stream import Numbers, Whole
from server.core.air.march import Element
from server.core.measure.many import plain

Floats = NDArray[np.float64]

Linear = tuple[Floats, Floats]
"""Loss coefficients: what of them is fixed, and what a Darcy friction factor of 1 would add."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change of bore. asked: `Whole.number` over the area after it, [Pa].

    widening: lost of the speed before it, in draws that widen. narrowing: lost of the speed after it, in
    those that narrow. None where no draw loses anything so.
    """

    asked: Floats
    widening: Linear | None
    narrowing: Linear | None


@dataclass(frozen=True, slots=True)
class Steps:
    """A change of bore of every element. asked: as `Change`.

    moving: numbers of the elements that change bore in any draw. losing: of those that may lose something by
    it. widening, narrowing: as `Change`, a row for each of the latter.
    """

    asked: Floats
    moving: Sequence[int]
    losing: Sequence[int]
    widening: Linear | None
    narrowing: Linear | None

    def together(self) -> Change | None:
        """All of them as one."""
        if not self.moving:
            return None
        return Change(self.asked, self._of_all(self.widening), self._of_all(self.narrowing))

    def each(self) -> list[Change | None]:
        """One an element."""
        found: list[Change | None] = [None] * len(self.asked)
        for at in self.moving:
            found[at] = Change(self.asked[at], None, None)
        for row, at in enumerate(self.losing):
            widening, narrowing = (
                None if lost is None else _if_any((lost[0][row], lost[1][row]))
                for lost in (self.widening, self.narrowing)
            )
            found[at] = Change(self.asked[at], widening, narrowing)
        return found

    def _of_all(self, lost: Linear | None) -> Linear | None:
        """With a row for every element; None where no draw of any loses something."""
        if lost is None or _if_any(lost) is None:
            return None
        fixed, rubbed = (np.zeros((len(self.asked), some.shape[1])) for some in lost)
        fixed[self.losing], rubbed[self.losing] = lost
        return fixed, rubbed


@dataclass(frozen=True, slots=True)
class ManyElement:
    """An element in every draw, or all elements of a run, one row each.

    into: the step into it. narrowing, widening: its own change of bore, before and after its smaller bore.
    None where no draw changes bore. asked: `Whole.number` over the area of the smaller bore, [Pa]. friction:
    f L/D + K in it. reynolds: Reynolds number times the viscosity, [Pa s]. roughness: over the bore, [-].
    """

    into: Change | None
    narrowing: Change | None
    widening: Change | None
    asked: Floats
    friction: Linear
    reynolds: Floats
    roughness: Floats


@dataclass(frozen=True, slots=True)
class ManyElements:
    """The elements of a run in every draw, one row each, the numbers as in `ManyElement`.

    before: `Whole.number` over the area before each, [Pa].
    """

    before: Floats
    into: Steps
    narrowing: Steps
    widening: Steps
    asked: Floats
    friction: Linear
    reynolds: Floats
    roughness: Floats

    @property
    def draws(self) -> int:
        """How many there are, by what is told of the elements: 1 where no draw moves any of it."""
        steps = (self.into, self.narrowing, self.widening)
        lost = [one[0] for some in steps for one in (some.widening, some.narrowing) if one is not None]
        draws: int = max(some.shape[1] for some in (*lost, self.friction[0], self.asked))
        return draws

    def together(self) -> ManyElement:
        """All of them as one."""
        return ManyElement(
            self.into.together(),
            self.narrowing.together(),
            self.widening.together(),
            self.asked,
            self.friction,
            self.reynolds,
            self.roughness,
        )

    def each(self) -> list[ManyElement]:
        """One by one."""
        changes = self.into.each(), self.narrowing.each(), self.widening.each()
        friction = zip(*self.friction, strict=True)
        each = zip(*changes, self.asked, friction, self.reynolds, self.roughness, strict=True)
        return [ManyElement(*numbers) for numbers in each]


def area_of(bore: Any) -> Any:
    """Area of a round bore [m], [m2]. Source: geometry."""
    return 0.25 * pi * bore * bore


def many_elements(elements: Sequence[Element], whole: Whole) -> ManyElements:
    """Elements as `march` takes them, no mitres among them, each number one or an array of draws.

    Source: as `march`.
    """
    first, last = np.split(
        _rows([*(one.bore_in for one in elements), *(one.bore_out for one in elements)]), 2
    )
    before = np.concatenate([first[:1], last[:-1]])
    smaller = np.minimum(first, last)
    asked = whole.number / area_of(smaller)
    narrow, by_narrowing = _own_steps(elements, first, last, last < first)
    wide, by_widening = _own_steps(elements, first, last, last > first)
    return ManyElements(
        whole.number / area_of(before),
        _joins(elements, before, first, whole.number / area_of(first)),
        Steps(asked, narrow, narrow, None, by_narrowing),
        Steps(whole.number / area_of(last), wide, wide, by_widening, None),
        asked,
        _friction_numbers(elements, first == last, smaller),
        reynolds=4.0 * whole.flow / (pi * smaller),
        roughness=_rows([one.roughness for one in elements]) / smaller,
    )


def _rows(numbers: Sequence[Numbers]) -> Floats:
    """One row each; one column alone where no draw moves any."""
    draws = max((one.size for one in numbers if isinstance(one, np.ndarray)), default=0)
    if not draws:
        return np.array(numbers, dtype=np.float64)[:, np.newaxis]
    rows = np.empty((len(numbers), draws))
    for at, one in enumerate(numbers):
        rows[at] = plain(one)
    return rows


def _met_by(meets: NDArray[np.bool_]) -> list[int]:
    """Numbers of the elements that meet a condition in any draw."""
    found: list[int] = np.flatnonzero(meets.any(axis=1)).tolist()
    return found


def _joins(elements: Sequence[Element], before: Floats, after: Floats, asked: Floats) -> Steps:
    """The square steps into elements."""
    moving = _met_by(before != after)
    losing = [at for at in moving if not elements[at].flush]
    before, after = before[losing], after[losing]
    fixed = _rows([elements[at].step_factor for at in losing]) * _square_step(before, after)
    lost = fixed, np.zeros_like(fixed)
    return Steps(asked, moving, losing, _where(after > before, lost), _where(after < before, lost))


def _where(meets: NDArray[np.bool_], lost: Linear) -> Linear:
    """In the draws that meet a condition; nothing in the others."""
    fixed, rubbed = lost
    return np.where(meets, fixed, 0.0), np.where(meets, rubbed, 0.0)


def _if_any(lost: Linear) -> Linear | None:
    """None where no draw loses anything."""
    fixed, rubbed = lost
    return lost if np.any(fixed + rubbed) else None


def _own_steps(
    elements: Sequence[Element], first: Floats, last: Floats, meets: NDArray[np.bool_]
) -> tuple[list[int], Linear]:
    """Elements' own changes of bore in the draws that meet a condition: whose, and what each loses."""
    going = _met_by(meets)
    some, first, last = [elements[at] for at in going], first[going], last[going]
    # A square step is a cone of 90 degrees without a wall to rub at.
    angle = _rows([0.5 * pi if one.half_angle is None else one.half_angle for one in some])
    fixed, rubbed = _cone(first, last, angle)
    rubbed[[at for at, one in enumerate(some) if one.half_angle is None]] = 0.0
    factor = _rows([one.step_factor for one in some])
    return going, _where(meets[going], (factor * fixed, factor * rubbed))


def _square_step(before: Floats, after: Floats) -> Floats:
    """As `losses.sudden_expansion` and `sudden_contraction`; nothing between equal bores."""
    widens = (1.0 - (before / after) ** 2) ** 2
    return np.where(after > before, widens, 0.5 * (1.0 - (after / before) ** 2))


def _cone(first: Floats, last: Floats, angle: Floats) -> Linear:
    """As `losses.cone` and `losses.cone_friction`."""
    steep = np.sin(angle)
    ratio = np.minimum(first, last) / np.maximum(first, last)
    narrow = angle <= pi / 8.0
    reducer = np.where(narrow, 0.8 * steep, 0.5 * np.sqrt(steep)) * (1.0 - ratio**2)
    diffuser = np.where(narrow, 2.6 * steep, 1.0) * (1.0 - ratio**2) ** 2
    return np.where(last <= first, reducer, diffuser), (1.0 - ratio**4) / (8.0 * steep)


def _friction_numbers(elements: Sequence[Element], same: NDArray[np.bool_], smaller: Floats) -> Linear:
    """f L/D + K of what each element does in its smaller bore. same: in which draws its bores are.

    A cone's wall friction is in its step.
    """
    factor = _rows([one.bend_factor for one in elements])
    bent = [at for at, one in enumerate(elements) if isinstance(one.bend_angle, np.ndarray) or one.bend_angle]
    bends = [elements[at] for at in bent]
    angle, radius = _rows([one.bend_angle for one in bends]), _rows([one.bend_radius for one in bends])
    alone, along = (factor[bent] * one for one in losses.smooth_bends(smaller[bent], angle, radius))
    rough = _rows([one.length for one in elements]) / smaller
    shape = np.broadcast_shapes(rough.shape, factor.shape, (1, along.shape[1]))
    fixed, rubbed = np.empty(shape), np.empty(shape)
    fixed[:], rubbed[:] = _rows([one.extra_loss_coefficient for one in elements]), rough
    cones = [at for at, one in enumerate(elements) if one.half_angle is not None]
    rubbed[cones] = np.where(same[cones], rubbed[cones], 0.0)
    fixed[bent] += alone
    rubbed[bent] += along
    _add_turns(elements, factor, smaller, (fixed, rubbed))
    return fixed, rubbed


def _add_turns(elements: Sequence[Element], factors: Floats, smaller: Floats, lost: Linear) -> None:
    """What further bends and mitres of an element lose, put to the rest of its friction number."""
    fixed, rubbed = lost
    for at, one in enumerate(elements):
        factor = factors[at]
        for angle, radius in one.turns:
            if radius:
                alone, along = losses.smooth_bends(smaller[at], np.full(1, angle), np.full(1, radius))
                fixed[at] += factor * alone
                rubbed[at] += factor * along
            else:
                fixed[at] += factor * losses.mitre(angle).value
