"""When it will be done: the chosen order under drawn times, parcels and re-cuts; what moves the date most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache
from math import ceil, isfinite

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv, ndtr
from scipy.stats import rankdata

from server.core.measure.draws import joint_draws
from server.core.work.forecast.chosen import Chosen, before, chosen
from server.core.work.forecast.lead_time import LeadTime
from server.core.work.forecast.replay import Replayed, replayed
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.problem import Problem
from server.core.work.plan.schedule import Schedule

Floats = NDArray[np.float64]

DRAWS = 1000
DAY = 1440
LOOKED_AT = 6
"""Inputs that move most with the date, which are each held still to see what they cost."""
_TABLE = (1.0 - np.cos(np.linspace(0.0, np.pi, 129))) / 2.0
"""Shares between which a quantile is read off straight, close together at both ends."""


class Kind(StrEnum):
    """What a driver of the date is; ids count within a kind."""

    TASK = "task"
    DELIVERY = "delivery"
    RISK = "risk"
    FIT = "fit"
    """A piece that may not fit, by the number of the piece."""
    TRIM = "trim"
    """A piece that may be cut too short, by the number of the piece."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """A parcel that work waits for.

    id: stable. holds: ids of the work that can't begin before it. planned: the minute that the plan counts on
    [min]. lead: of its supplier, None where the day is certain. waited: how long it is on its way [day]; a
    parcel not ordered yet has waited for less than nothing, the days until it is ordered.
    """

    id: int
    holds: tuple[int, ...]
    planned: int
    lead: LeadTime | None = None
    waited: float = 0.0


@dataclass(frozen=True, slots=True)
class Risk:
    """Something that may go wrong in a piece of work, such as a cut too short, and what that costs.

    id: stable within its kind. task: id of the work. chance [-]: as noted, or as the checks have it. minutes:
    what it takes to do it again [min]. wait: what passes before anything goes on that waits for the work,
    such as a new bend's way [min].
    """

    id: int
    task: int
    chance: float
    minutes: int
    wait: int = 0
    kind: Kind = Kind.RISK


@dataclass(frozen=True, slots=True)
class Doubts:
    """All that a plan leaves open. estimates: by id [min]; work without one takes what is planned."""

    estimates: Mapping[int, ThreePoint]
    deliveries: tuple[Delivery, ...] = ()
    risks: tuple[Risk, ...] = ()


@dataclass(frozen=True, slots=True)
class Driver:
    """What moves the date: with this as planned, the date looked at were so many minutes earlier [min].

    mean: how much earlier it were on average [min]; where the end waits for a visit the date may stay.
    """

    kind: Kind
    id: int
    minutes: int
    mean: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Forecast:
    """When the goal is finished.

    ends: of each draw, rising [min]; infinite where the windows given have no room, so give them far enough
    ahead. planned: in the plan [min]. drivers: of the date at `looked_at`, the largest first.
    """

    ends: tuple[float, ...]
    planned: int
    drivers: tuple[Driver, ...] = ()

    def by(self, share: float) -> int | None:
        """The minute by which so large a share of the draws is done, None where the windows end before [min].

        share: over 0, to 1. Source: the order statistic.
        """
        end = self.ends[max(ceil(share * len(self.ends) - 1e-9), 1) - 1]
        return int(end) if isfinite(end) else None

    @property
    def looked_at(self) -> float:
        """The share whose date is asked what it hangs on: four fifths, half where those have no date [-]."""
        return 0.5 if self.safe is None else 0.8

    @property
    def without_date(self) -> float:
        """The share of the draws for which the windows have no room [-]."""
        return sum(not isfinite(end) for end in self.ends) / len(self.ends)

    @property
    def likely(self) -> int | None:
        """The 50 % date [min]."""
        return self.by(0.5)

    @property
    def safe(self) -> int | None:
        """The 80 % date [min]."""
        return self.by(0.8)


def forecast(
    problem: Problem,
    schedule: Schedule,
    doubts: Doubts,
    goal: int | None = None,
    draws: int = DRAWS,
    seed: int = 0,
) -> Forecast:
    """When `goal`, or all of the plan, is finished if its order is kept to.

    Each input draws from a stream of its own, named by its kind and id, so that changing one leaves the
    others' draws as they are. With no spread every draw is the plan. A drawn delivery takes the place of
    `not_before` of what it holds. Work without a place in the plan is left out: say so beside the date.
    Errors: KeyError where the goal has no place. Source: JCGM 101:2008, 7; beta-PERT, `ThreePoint.shape`;
    `replayed`.
    """
    order = before(chosen(problem, schedule), goal)
    inputs = _inputs(order, doubts, draws, seed)
    through = _through(order, inputs, draws)
    ends = _ends(through, goal, draws)
    planned = schedule.makespan if goal is None else schedule.by_id()[goal].finish
    told = Forecast(tuple(np.sort(ends).tolist()), planned)
    return replace(told, drivers=_drivers(inputs, through, goal, ends, told))


@dataclass(frozen=True, slots=True)
class _Input:
    """One drawn input: how long a task takes, when a delivery comes [min], or 1 where a risk comes true.

    bears_on: ids of the work. minutes: when the plan has the delivery; what the risk takes again [min]. wait:
    what the risk adds behind the work [min]. ranks: of what is drawn; none where that has two values at most,
    which are as good as ranked.
    """

    kind: Kind
    id: int
    bears_on: tuple[int, ...]
    drawn: Floats
    minutes: int = 0
    wait: int = 0
    ranks: Floats | None = None


def _inputs(order: Chosen, doubts: Doubts, draws: int, seed: int) -> list[_Input]:
    """Every input that bears on work of the plan, risks last."""
    ids = {step.id for step in order.steps}
    found: list[_Input] = []
    for at, estimate in sorted(doubts.estimates.items()):
        if at in ids and estimate.high > estimate.low:
            drawn, ranks = _durations(estimate, at, seed, draws)
            found.append(_Input(Kind.TASK, at, (at,), drawn, ranks=ranks))
    for one in doubts.deliveries:
        held = tuple(at for at in one.holds if at in ids)
        if one.lead is None:
            certain = np.full(draws, float(one.planned))
            found.append(_Input(Kind.DELIVERY, one.id, held, certain, one.planned))
        else:
            drawn, ranks = _ways(one.lead, one.waited, one.id, seed, draws)
            found.append(_Input(Kind.DELIVERY, one.id, held, drawn, one.planned, ranks=ranks))
    for risk in doubts.risks:
        if risk.task in ids and risk.chance > 0.0:
            happens = _shares(f"{risk.kind} {risk.id}", seed, draws) < risk.chance
            drawn = np.where(happens, 1.0, 0.0)
            found.append(_Input(risk.kind, risk.id, (risk.task,), drawn, risk.minutes, risk.wait))
    return found


@lru_cache(maxsize=512)
def _shares(name: str, seed: int, draws: int) -> Floats:
    """Drawn evenly from 0 to 1, the same for the same name; kept, as a plan is made again and again."""
    drawn = np.asarray(ndtr(joint_draws([name], seed, draws)[0]))
    drawn.flags.writeable = False
    return drawn


@lru_cache(maxsize=512)
def _durations(estimate: ThreePoint, task: int, seed: int, draws: int) -> tuple[Floats, Floats]:
    """Whole minutes that a task takes, drawn from beta-PERT [min], and their ranks; kept as shares are."""
    shares = _shares(f"{Kind.TASK} {task}", seed, draws)
    drawn = np.interp(shares, _TABLE, betaincinv(*estimate.shape, _TABLE))
    return _ranked(np.rint(estimate.low + (estimate.high - estimate.low) * drawn))


@lru_cache(maxsize=256)
def _ways(lead: LeadTime, waited: float, delivery: int, seed: int, draws: int) -> tuple[Floats, Floats]:
    """Whole minutes until a parcel is there [min], and their ranks; kept as the shares are."""
    days = lead.at(_shares(f"{Kind.DELIVERY} {delivery}", seed, draws), waited) - waited
    return _ranked(np.maximum(np.ceil(days * DAY), 0.0))


def _ranked(drawn: Floats) -> tuple[Floats, Floats]:
    """What was drawn, and its ranks; neither is written to, as both are kept."""
    both = np.asarray(drawn), np.asarray(rankdata(drawn))
    for one in both:
        one.flags.writeable = False
    return both


def _through(
    order: Chosen,
    inputs: Sequence[_Input],
    draws: int,
    before: Replayed | None = None,
    still: _Input | None = None,
) -> Replayed:
    """The order gone through in each draw; before: the same, without the one input that is held still now."""
    planned = {step.id: step.minutes for step in order.steps if step.id is not None}
    minutes: dict[int, Floats] = {}
    releases: dict[int, Floats] = {}
    waits: dict[int, Floats] = {}
    for one in inputs:
        drawn = np.full(draws, float(one.minutes)) if one is still else one.drawn
        for at in one.bears_on:
            if one.kind is Kind.DELIVERY:
                releases[at] = np.maximum(releases.get(at, 0.0), drawn)
            elif one is not still and one.kind is Kind.TASK:
                minutes[at] = drawn
            elif one is not still:
                minutes[at] = minutes.get(at, float(planned[at])) + one.minutes * drawn
                waits[at] = waits.get(at, 0.0) + one.wait * drawn
    changed = frozenset(still.bears_on) if still is not None else frozenset[int]()
    return replayed(order, draws, minutes, releases, waits, before, changed)


def _ends(through: Replayed, goal: int | None, draws: int) -> Floats:
    """When the goal, or all of it, is finished in each draw [min]."""
    finishes = through.by_id()
    if goal is not None:
        return finishes[goal]
    return np.asarray(np.max([np.zeros(draws), *finishes.values()], axis=0))


def _drivers(
    inputs: Sequence[_Input], through: Replayed, goal: int | None, ends: Floats, told: Forecast
) -> tuple[Driver, ...]:
    """What each of the inputs that move most with the end costs of the date looked at, the dearest first."""
    date = told.by(told.looked_at)
    if date is None or ends.min() == ends.max():
        return ()
    found = []
    for one in _moving_most(inputs, ends)[:LOOKED_AT]:
        still = _ends(_through(through.order, inputs, ends.size, through, one), goal, ends.size)
        then = Forecast(tuple(np.sort(still).tolist()), 0).by(told.looked_at)
        dated = np.isfinite(ends) & np.isfinite(still)
        mean = int(np.mean(ends[dated] - still[dated])) if dated.any() else 0
        if then is not None and (then < date or mean > 0):
            found.append(Driver(one.kind, one.id, max(date - then, 0), mean))
    return tuple(sorted(found, key=lambda one: (-one.minutes, -one.mean, one.kind, one.id)))


def _moving_most(inputs: Sequence[_Input], ends: Floats) -> list[_Input]:
    """The inputs that do not stand still, by how closely the end follows their rank (Spearman)."""
    some = [one for one in inputs if one.bears_on and one.drawn.min() < one.drawn.max()]
    if not some:
        return []
    ranked = np.array([one.drawn if one.ranks is None else one.ranks for one in some])
    ranked -= ranked.mean(axis=1, keepdims=True)
    ends = rankdata(ends)
    together = np.abs(ranked @ (ends - ends.mean())) / np.linalg.norm(ranked, axis=1)
    by_closeness = sorted(
        zip(together.round(9).tolist(), some, strict=True),
        key=lambda pair: (-pair[0], pair[1].kind, pair[1].id),
    )
    return [one for _, one in by_closeness]
