"""What the elements of a run do in many draws, whatever the stream does: for all of them in one go.

With a few hundred draws most of the time of a march goes by in calls, not in sums.
Source of each relation: the function of `march` or `losses` that it repeats.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.core.air import losses
from server.core.air.many_stream import Whole
from server.core.air.march import Element
from server.core.measure.many import plain

Floats = NDArray[np.float64]

Linear = tuple[Floats, Floats]
"""Loss coefficients: what of them is fixed, and what a Darcy friction factor of 1 would add."""
Sizes = Mapping[str, Floats]
"""Numbers of elements by their names there: one row an element, one column a draw."""

_SIZES = (
    *("bore_in", "bore_out", "length", "roughness", "half_angle", "bend_angle", "bend_radius"),
    *("bend_factor", "step_factor", "extra_loss_coefficient"),
)


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
    """A change of bore of every element, one row each: as `Change`. moves: whether any draw changes bore."""

    moves: Sequence[bool]
    asked: Floats
    widening: Linear
    narrowing: Linear

    def together(self) -> Change | None:
        """All of them as one."""
        if not any(self.moves):
            return None
        widening, narrowing = (
            lost if any(_any_lost(lost)) else None for lost in (self.widening, self.narrowing)
        )
        return Change(self.asked, widening, narrowing)

    def each(self) -> list[Change | None]:
        """One an element."""
        if not any(self.moves):
            return [None] * len(self.moves)
        widening, narrowing = _by_row(self.widening), _by_row(self.narrowing)
        return [
            Change(self.asked[at], widening[at], narrowing[at]) if some else None
            for at, some in enumerate(self.moves)
        ]


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
    cones = [at for at, one in enumerate(elements) if one.half_angle is not None]
    edges = np.array([[0.0 if one.flush else 1.0] for one in elements])
    sizes = _sizes(elements)
    first, last = sizes["bore_in"], sizes["bore_out"]
    before = np.concatenate([first[:1], last[:-1]])
    smaller = np.minimum(first, last)
    asked = whole.number / area_of(smaller)
    join = edges * sizes["step_factor"] * _square_step(before, first)
    own = _own_steps(sizes, cones)
    into = _steps(before, first, whole.number / area_of(first), (join, np.zeros_like(join)))
    narrowing = _steps(first, smaller, asked, own)
    widening = _steps(smaller, last, whole.number / area_of(last), own)
    fixed, rubbed = _friction_numbers(sizes, smaller, cones)
    _add_turns(elements, sizes, smaller, (fixed, rubbed))
    return ManyElements(
        whole.number / area_of(before),
        into,
        narrowing,
        widening,
        asked,
        (fixed, rubbed),
        reynolds=4.0 * whole.flow / (pi * smaller),
        roughness=sizes["roughness"] / smaller,
    )


def _sizes(elements: Sequence[Element]) -> Sizes:
    """A row holds one column alone where no draw moves any."""
    numbers = {name: [plain(getattr(one, name)) for one in elements] for name in _SIZES}
    draws = max(
        (one.size for some in numbers.values() for one in some if isinstance(one, np.ndarray)), default=1
    )
    found = {}
    for name, some in numbers.items():
        rows = np.empty((len(some), draws))
        for at, one in enumerate(some):
            rows[at] = 0.0 if one is None else one
        found[name] = rows
    return found


def _steps(before: Floats, after: Floats, asked: Floats, lost: Linear) -> Steps:
    """lost: on the speed in the smaller bore, whichever way a draw goes."""
    moves = (before != after).any(axis=1).tolist()
    return Steps(moves, asked, _where(after > before, lost), _where(after < before, lost))


def _where(meets: NDArray[np.bool_], lost: Linear) -> Linear:
    """In the draws that meet a condition; nothing in the others."""
    fixed, rubbed = lost
    return np.where(meets, fixed, 0.0), np.where(meets, rubbed, 0.0)


def _any_lost(lost: Linear) -> list[bool]:
    """Of each element, whether any draw loses something."""
    fixed, rubbed = lost
    some: list[bool] = np.any(fixed + rubbed, axis=1).tolist()
    return some


def _by_row(lost: Linear) -> list[Linear | None]:
    """Of each element; None where no draw loses anything."""
    fixed, rubbed = lost
    return [(fixed[at], rubbed[at]) if some else None for at, some in enumerate(_any_lost(lost))]


def _own_steps(sizes: Sizes, cones: Sequence[int]) -> Linear:
    """Of each element's own change of bore; `cones`: which of them have an angle."""
    first, last = sizes["bore_in"], sizes["bore_out"]
    fixed = _square_step(first, last)
    rubbed = np.zeros_like(fixed)
    if cones:
        fixed[cones], rubbed[cones] = _cone(first[cones], last[cones], sizes["half_angle"][cones])
    return sizes["step_factor"] * fixed, sizes["step_factor"] * rubbed


def _square_step(before: Floats, after: Floats) -> Floats:
    """As `losses.sudden_expansion` and `sudden_contraction`; nothing between equal bores."""
    widens = (1.0 - (before / after) ** 2) ** 2
    return np.where(after > before, widens, 0.5 * (1.0 - (after / before) ** 2))


def _cone(first: Floats, last: Floats, angle: Floats) -> Linear:
    """As `losses.cone` and `losses.cone_friction`; not a number where there is no angle."""
    steep = np.sin(angle)
    ratio = np.minimum(first, last) / np.maximum(first, last)
    narrow = angle <= pi / 8.0
    reducer = np.where(narrow, 0.8 * steep, 0.5 * np.sqrt(steep)) * (1.0 - ratio**2)
    diffuser = np.where(narrow, 2.6 * steep, 1.0) * (1.0 - ratio**2) ** 2
    return np.where(last <= first, reducer, diffuser), (1.0 - ratio**4) / (8.0 * steep)


def _friction_numbers(sizes: Sizes, smaller: Floats, cones: Sequence[int]) -> Linear:
    """f L/D + K of what each element does in its smaller bore. A cone's wall friction is in its step."""
    fixed, rubbed = sizes["extra_loss_coefficient"], sizes["length"] / smaller
    if cones:
        same = sizes["bore_in"][cones] == sizes["bore_out"][cones]
        rubbed[cones] = np.where(same, rubbed[cones], 0.0)
    bent = sizes["bend_angle"].any(axis=1)
    if bent.any():
        angle, radius, factor = (sizes[name][bent] for name in ("bend_angle", "bend_radius", "bend_factor"))
        alone, along = losses.smooth_bends(smaller[bent], angle, radius)
        fixed[bent] += factor * alone
        rubbed[bent] += factor * along
    return fixed, rubbed


def _add_turns(elements: Sequence[Element], sizes: Sizes, smaller: Floats, lost: Linear) -> None:
    """What further bends and mitres of an element lose, put to the rest of its friction number."""
    fixed, rubbed = lost
    for at, one in enumerate(elements):
        factor = sizes["bend_factor"][at]
        for angle, radius in one.turns:
            if radius:
                alone, along = losses.smooth_bends(smaller[at], np.full(1, angle), np.full(1, radius))
                fixed[at] += factor * alone
                rubbed[at] += factor * along
            else:
                fixed[at] += factor * losses.mitre(angle).value
