"""The exact search behind the cutting plan: patterns as they pay, then whole numbers of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array

from server.core.buying.fill import EPS, Master, Taken, choices, cost_by_length, longest_first, next_cost
from server.core.buying.patterns import (
    Floats,
    TooMany,
    Worthy,
    best_pattern,
    full_patterns,
    worths,
)

FIRST_NODES = 50
"""Nodes of the programme over the first patterns: it need not be the best."""
NODES = 2_000
"""Nodes of the programme for one choice of bars at the most."""
LOOKS = 400_000
"""Places of the search for patterns at the most."""
COLUMNS = 8_000
"""Patterns in one programme at the most."""
ROUNDS = 400
"""Times that new patterns are asked for at the most."""
CELLS = 6_000_000
"""Rooms times kinds in the tables of worths at the most; beyond, the plan is not improved."""
INFEASIBLE = 2
"""What the solver says where there is no answer."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The bars, and a number of whole units that no plan gets below, penalties counted."""

    taken: tuple[Taken, ...]
    bound: int


def solved(master: Master) -> Answer:
    """The best plan: longest first where that meets the simplest bound, else by programme."""
    first = longest_first(master)
    cost = master.objective(first)
    bound = cost_by_length(master)
    if cost <= bound or len(master.kinds.sizes) * max(master.rooms) > CELLS:
        return Answer(first, bound)
    return _Search(master, first, bound).answer()


class _Search:
    """Patterns are made until none would lower the cost in parts; then whole numbers of them are sought."""

    def __init__(self, master: Master, first: Sequence[Taken], bound: int) -> None:
        self.master = master
        self.best = tuple(first)
        self.bound = bound
        self.columns = list(dict.fromkeys((*first, *self._alone())))
        self.values: Floats = np.zeros(len(master.kinds.sizes))
        self.toll: Floats = np.zeros(len(master.rooms))
        self.worth: list[Floats] = []
        self.in_parts = 0.0

    def _alone(self) -> list[Taken]:
        """Each kind alone in each stock."""
        kinds, none = self.master.kinds, [0] * len(self.master.kinds.sizes)
        found = []
        for at in self.master.usable:
            for kind, size in enumerate(kinds.sizes):
                many = min(self.master.rooms[at] // size, kinds.wanted[kind])
                if many:
                    found.append(Taken(at, (*none[:kind], many, *none[kind + 1 :])))
        return found

    def answer(self) -> Answer:
        """The best plan found, and how good any plan can be."""
        if not self._converged():
            return Answer(self.best, self.bound)
        self._raise(self.in_parts)
        if self._cost > self.bound:
            self._try(self.columns, FIRST_NODES)
        if self._cost > self.bound:
            self._whole()
        return Answer(self.best, min(self.bound, self._cost))

    @property
    def _cost(self) -> int:
        return self.master.objective(self.best)

    def _raise(self, least: float) -> None:
        """No plan is below this, so none is below the next cost that whole bars can add up to."""
        self.bound = max(self.bound, next_cost(self.master, ceil(least - EPS), self._cost))

    def _matrix(self, columns: Sequence[Taken]) -> tuple[Floats, Floats, Floats]:
        """Rows: at least what is wanted of each kind, at most what there is of each stock; and prices."""
        kinds, stocks = len(self.master.kinds.sizes), len(self.master.rooms)
        rows = np.zeros((kinds + stocks, len(columns) + kinds))
        for at, column in enumerate(columns):
            rows[:kinds, at] = column.pattern
            rows[kinds + column.stock, at] = -1.0
        rows[:kinds, len(columns) :] = np.eye(kinds)
        prices = [self.master.prices[column.stock] for column in columns]
        costs = np.array([*prices, *[self.master.penalty] * kinds], dtype=float)
        least = np.array([*self.master.kinds.wanted, *(-most for most in self.master.most)], dtype=float)
        return rows, least, costs

    def _converged(self) -> bool:
        """Whether no pattern is left that would lower the cost of bars in parts."""
        for _ in range(ROUNDS):
            rows, least, costs = self._matrix(self.columns)
            parts = linprog(costs, A_ub=-rows, b_ub=-least, method="highs-ds")
            if parts.status != 0 or parts.fun is None:
                return False
            kinds = len(self.master.kinds.sizes)
            duals = np.maximum(-parts.ineqlin.marginals, 0.0)
            self.values, self.toll, self.in_parts = duals[:kinds], duals[kinds:], float(parts.fun)
            if not self._added():
                self._make_safe()
                return True
        return False

    def _gain(self, stock: int) -> float:
        """By how much the best pattern of a stock would lower the cost, for each bar."""
        worth = float(self.worth[0][self.master.rooms[stock]])
        return max(worth - self.master.prices[stock] - float(self.toll[stock]), 0.0)

    def _make_safe(self) -> None:
        """What rounding left of gains goes into the tolls: the bound in parts then holds for every plan."""
        for at in self.master.usable:
            gain = self._gain(at)
            self.toll[at] += gain
            self.in_parts -= gain * self.master.most[at]

    def _added(self) -> bool:
        """Add the best new pattern of each stock, where one would lower the cost."""
        master = self.master
        self.worth = worths(master.kinds, self.values.tolist(), max(master.rooms))
        new = []
        for at in master.usable:
            if self._gain(at) > EPS:
                pattern = best_pattern(master.kinds, self.values.tolist(), self.worth, master.rooms[at])
                new.append(Taken(at, master.kinds.filled(pattern, master.rooms[at])))
        fresh = [one for one in new if one not in set(self.columns)]
        self.columns += fresh
        return bool(fresh)

    def _whole(self) -> None:
        """Ask of each choice of whole bars, the cheapest first, whether all pieces come out of it: exact.

        Two things hold of every pattern in such a plan. All reduced costs of a plan add up to what it costs
        over the bound in parts, so no single one is above that. And what is wasted of one bar is no more than
        what all those bars have over the pieces. Patterns that keep both are few enough to be written down.
        """
        master = self.master
        room = max(master.rooms)
        fill = worths(master.kinds, master.kinds.sizes, room)
        total = master.kinds.size_of(master.kinds.wanted)
        asked = choices(master, self.bound, min(self._cost, master.penalty))
        if asked is None:
            columns = self._columns(master.most, fill, room, self._cost - 1)
            if columns:
                self._raise(self._try(columns, NODES))
            return
        for cost, bars in asked:
            waste = sum(many * one for many, one in zip(bars, master.rooms, strict=True)) - total
            if waste < 0:
                continue
            columns = self._columns(bars, fill, waste, cost)
            found = None if columns is None else self._all_from(columns, bars)
            if found is None:
                self.bound = cost
                return
            if found:
                self.best, self.bound = found, cost
                return
        self.bound = min(self._cost, master.penalty)

    def _columns(
        self, bars: Sequence[int], fill: Sequence[Floats], waste: int, cost: int
    ) -> list[Taken] | None:
        """Every pattern that a plan of these bars can have in it; none where there are too many."""
        master = self.master
        columns: list[Taken] = []
        try:
            for at in master.usable:
                if not bars[at]:
                    continue
                least = master.prices[at] + float(self.toll[at]) - (cost - self.in_parts) - EPS
                asked = (
                    Worthy(self.values.tolist(), self.worth, least),
                    Worthy(master.kinds.sizes, fill, float(master.rooms[at] - waste)),
                )
                for pattern in full_patterns(master.kinds, master.rooms[at], asked, LOOKS):
                    columns.append(Taken(at, pattern))
                    if len(columns) > COLUMNS:
                        return None
        except TooMany:
            return None
        return columns

    def _all_from(self, columns: Sequence[Taken], bars: Sequence[int]) -> tuple[Taken, ...] | None:
        """A plan with all pieces out of at most these bars; empty where there is none, none where unknown."""
        if not columns:
            return ()
        rows, least, _ = self._matrix(columns)
        least[len(self.master.kinds.sizes) :] = [-many for many in bars]
        found = milp(
            np.zeros(len(columns)),
            integrality=np.ones(len(columns), dtype=int),
            bounds=Bounds(0.0, np.inf),
            constraints=LinearConstraint(csr_array(rows[:, : len(columns)]), lb=least),
            options={"node_limit": NODES},
        )
        if found.x is None:
            return () if found.status == INFEASIBLE else None
        taken = _taken(columns, found.x)
        return taken if self._allowed(taken) and not self._missing(taken) else None

    def _try(self, columns: Sequence[Taken], nodes: int) -> float:
        """Take whole numbers of these columns where that is better; none of them are below what is returned.

        What is proved already goes in as a row: the programme need not find it again.
        """
        rows, least, costs = self._matrix(columns)
        found = milp(
            costs,
            integrality=np.ones(len(costs), dtype=int),
            bounds=Bounds(0.0, np.inf),
            constraints=[
                LinearConstraint(csr_array(rows), lb=least),
                LinearConstraint(csr_array(costs[np.newaxis, :]), lb=float(self.bound)),
            ],
            options={"node_limit": nodes, "mip_rel_gap": 0.0},
        )
        if found.x is not None:
            taken = _taken(columns, found.x[: len(columns)])
            if self._allowed(taken) and self.master.objective(taken) < self._cost:
                self.best = taken
        return float(self.bound if found.mip_dual_bound is None else min(found.mip_dual_bound, self._cost))

    def _missing(self, taken: Sequence[Taken]) -> bool:
        return self.master.objective(taken) >= self.master.penalty

    def _allowed(self, taken: Sequence[Taken]) -> bool:
        """No more bars than there are; counted again in whole numbers."""
        used = [0] * len(self.master.most)
        for one in taken:
            used[one.stock] += 1
        return all(many <= most for many, most in zip(used, self.master.most, strict=True))


def _taken(columns: Sequence[Taken], amounts: Floats) -> tuple[Taken, ...]:
    """Each column as often as it is taken."""
    return tuple(
        one for one, many in zip(columns, np.rint(amounts).astype(int), strict=True) for _ in range(many)
    )
