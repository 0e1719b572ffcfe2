"""The plan: the best schedule that a bounded search finds, the same for the same seed and number of passes.

A genetic search over two crowds of plans, one with all as early and one with all as late as it can be, as in
D. Debels and M. Vanhoucke (2007): a child of two plans of one crowd is passed over in the other direction and
stands in the other crowd. So each pass is a justification as well (V. Valls, F. Ballestin and S. Quintanilla,
2005); how two plans are crossed is told in `crossing`. Every forward and every backward pass counts as one
schedule.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from server.core.work.plan.bound import Alone, earliest, lower_bound
from server.core.work.plan.crossing import Crossing, draws
from server.core.work.plan.generate import Pass, parallel, serial
from server.core.work.plan.indexed import Indexed, backwards, indexed
from server.core.work.plan.network import network
from server.core.work.plan.problem import FOREVER, Problem
from server.core.work.plan.schedule import Schedule
from server.core.work.plan.telling import told, without_place

PASSES = 400
"""Schedules generated where nothing else is said: for sixty tasks in evenings a third of a second."""
CROWD = 1.6
"""Plans in a crowd, times the root of the number of passes; settled by trial on the open cases."""
NOISE = 0.4
"""How far the first orders stray from that by latest finish, as a share of the whole."""

FEW = 20
"""With fewer passes the parallel scheme is left out: where there is much work it takes as long as many serial
ones."""

Cost = tuple[int, int, int]
"""Pieces of work without a place, the end [min], changes of the car: the less the better, the first first."""


def plan(problem: Problem, passes: int = PASSES, seed: int = 0) -> Schedule:
    """The best schedule found in so many passes [-]; fewer where one is proved best before.

    What has no place in its windows is told in the schedule, with all behind it. Errors: ValueError for a
    ring, KeyError for a use of a resource that is not given.
    """
    alone = earliest(problem)
    finishes = alone[1]
    missing = sorted(one for one, finish in finishes.items() if finish >= FOREVER)
    rest = tuple(one for one in problem.activities if one.id not in missing)
    if rest:
        placed, known = (replace(problem, activities=rest), None) if missing else (problem, alone)
        found = _Search(placed, max(passes, 1), seed, known).best()
    else:
        found = Schedule((), passes=0)
    if not missing:
        return found
    missing += [one.id for one in found.no_place]
    return replace(found, no_place=without_place(problem, missing))


def replay(problem: Problem, order: Sequence[int]) -> Schedule:
    """The schedule of one serial pass over the ids in this order, which heeds what comes first.

    What is not in the order is left out, such as what has no place. Errors: as `plan`. Source: `generate`.
    """
    wanted = frozenset(order)
    problem = replace(problem, activities=tuple(one for one in problem.activities if one.id in wanted))
    forth = indexed(problem)
    at = {one: place for place, one in enumerate(forth.ids)}
    done = serial(forth, [at[one] for one in order])
    return told(problem, forth, done, tuple(order))


@dataclass(frozen=True, slots=True)
class _Plan:
    """A plan in a crowd, its keys counted in the direction in which it is passed over next."""

    cost: Cost
    keys: Sequence[int]


class _Search:
    def __init__(self, problem: Problem, passes: int, seed: int, alone: Alone | None = None) -> None:
        self.problem = problem
        self.forth = indexed(problem)
        self.left = self.passes = passes
        self.luck = draws(seed)
        self.alone = alone
        work = _relative_work(problem, self.forth)
        self.onwards = Crossing(self.forth, work)
        self.back = Crossing(backwards(self.forth), work[::-1])
        self.found: tuple[Cost, Pass, tuple[int, ...]] | None = None

    def best(self) -> Schedule:
        """Run the search to its end."""
        crowd: list[_Plan] = []
        for made in self._first():
            crowd.append(made)
            if self._over():
                return self._told()
        early, late = crowd, []
        for one in crowd:
            late.append(self._later(self.back.order(one.keys)))
            if self._over():
                return self._told()
        while not self._over():
            self._generation(late, early, onwards=True)
            if not self._over():
                self._generation(early, late, onwards=False)
        return self._told()

    def _told(self) -> Schedule:
        assert self.found is not None
        _, done, order = self.found
        ids = tuple(self.forth.ids[place] for place in order)
        return replace(told(self.problem, self.forth, done, ids), passes=self.passes - self.left)

    def _over(self) -> bool:
        if self.left <= 0:
            return True
        assert self.found is not None
        missing, end, changes = self.found[0]
        return not missing and not changes and end <= self.aim

    @cached_property
    def aim(self) -> int:
        """The end that no plan goes below [min]; asked for only where a plan could be proved best by it."""
        return lower_bound(self.problem, self.alone).end

    def _first(self) -> Iterator[_Plan]:
        """The first crowd: by latest finish, what can start first first; then the same with some noise."""
        dates = network(self.problem.activities).dates
        latest = [dates[one].late_finish for one in self.forth.ids]
        by_latest = self.onwards.order(latest)
        yield self._sooner(by_latest)
        rank = [0] * len(latest)
        for turn, place in enumerate(by_latest):
            rank[place] = turn
        if self.passes >= FEW:
            self.left -= 1
            yield self._sooner(self.onwards.order(parallel(self.forth, rank).starts))
        stray = NOISE * (max(latest) - min(latest) + 1)
        for _ in range(max(2, round(CROWD * self.passes**0.5) - 2)):
            yield self._sooner(self.onwards.order([one + stray * next(self.luck) for one in latest]))

    def _generation(self, parents: Sequence[_Plan], children: list[_Plan], onwards: bool) -> None:
        """Each place in the other crowd is given to a child that is no worse."""
        crossing = self.onwards if onwards else self.back
        for at, parent in enumerate(parents):
            if self._over():
                return
            first, second = self._drawn(parents), self._drawn(parents)
            mate = first if first.cost <= second.cost else second
            own, other = (mate, parent) if next(self.luck) < 0.5 else (parent, mate)
            order = crossing.child(own.keys, other.keys, self.luck)
            child = self._sooner(order) if onwards else self._later(order)
            if child.cost <= children[at].cost:
                children[at] = child

    def _drawn(self, crowd: Sequence[_Plan]) -> _Plan:
        return crowd[int(len(crowd) * next(self.luck))]

    def _sooner(self, order: Sequence[int]) -> _Plan:
        """A forward pass."""
        self.left -= 1
        return self._kept(serial(self.forth, order), order)

    def _later(self, order: Sequence[int]) -> _Plan:
        """A backward pass from the best end known; where it promises a better one, a forward pass follows."""
        self.left -= 1
        assert self.found is not None
        end = self.found[0][1]
        done = serial(self.back.forth, order, -end)
        missing, last, changes = _cost(done)
        made = _Plan((missing, last + end, changes), _keys(done))
        if made.cost < self.found[0] and self.left > 0:
            self._sooner(self.onwards.order(made.keys))
        return made

    def _kept(self, done: Pass, order: Sequence[int]) -> _Plan:
        made = _Plan(_cost(done), _keys(done))
        if self.found is None or made.cost < self.found[0]:
            self.found = (made.cost, done, tuple(order))
        return made


def _keys(done: Pass) -> list[int]:
    """The starts of a plan turned round in time, places too."""
    return [-one for one in reversed(done.finishes)]


def _cost(done: Pass) -> Cost:
    end = max(done.finishes)
    if end < FOREVER:
        return 0, end, len(done.changes)
    missing = sum(one >= FOREVER for one in done.finishes)
    return missing, max((one for one in done.finishes if one < FOREVER), default=0), len(done.changes)


def _relative_work(problem: Problem, forth: Indexed) -> list[float]:
    """For each place its minutes times the share of all there is that it uses [min]."""
    most = {one.id: max(one.most, 1) for one in problem.resources}
    by_id = problem.by_id()
    return [
        by_id[one].minutes * sum(use.amount / most[use.resource] for use in by_id[one].uses)
        for one in forth.ids
    ]
