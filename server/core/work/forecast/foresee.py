"""When it will be done: the chosen order under drawn times, parcels and re-cuts; what moves the date most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import ceil, isfinite

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv, ndtr
from scipy.stats import rankdata

from server.core.measure.draws import joint_draws
from server.core.work.forecast.chosen import Chosen, chosen
from server.core.work.forecast.lead_time import LeadTime
from server.core.work.forecast.replay import replayed
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.problem import Problem
from server.core.work.plan.schedule import Schedule

Floats = NDArray[np.float64]

DRAWS = 1000
DAY = 1440
LOOKED_AT = 8
"""Inputs that move most with the date, which are each held still to see what they cost."""
_TABLE = (1.0 - np.cos(np.linspace(0.0, np.pi, 129))) / 2.0
"""Shares between which a quantile is read off straight, close together at both ends."""


class Kind(StrEnum):
    """What a driver of the date is; ids count within a kind."""

    TASK = "task"
    DELIVERY = "delivery"
    RISK = "risk"


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

    id: stable, of the reading or check. task: id of the work. chance [-]: as the checks have it. minutes:
    what it takes to do it again [min]. wait: what passes before anything goes on that waits for the work,
    such as a new bend's way [min].
    """

    id: int
    task: int
    chance: float
    minutes: int
    wait: int = 0


@dataclass(frozen=True, slots=True)
class Doubts:
    """All that a plan leaves open. estimates: by id [min]; work without one takes what is planned."""

    estimates: Mapping[int, ThreePoint]
    deliveries: tuple[Delivery, ...] = ()
    risks: tuple[Risk, ...] = ()


@dataclass(frozen=True, slots=True)
class Driver:
    """What moves the date: with this as planned, the 80 % date were so many minutes earlier [min]."""

    kind: Kind
    id: int
    minutes: int


@dataclass(frozen=True, slots=True)
class Forecast:
    """When the goal is finished.

    ends: of each draw, rising [min]; infinite where the windows given have no room, so give them far enough
    ahead. planned: in the plan [min]. drivers: the largest first.
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
    order = chosen(problem, schedule)
    inputs = _inputs(order, doubts, draws, seed)
    ends = _ends(order, inputs, goal, draws)
    planned = schedule.makespan if goal is None else schedule.by_id()[goal].finish
    told = Forecast(tuple(np.sort(ends).tolist()), planned)
    return replace(told, drivers=_drivers(order, inputs, goal, ends, told.safe))


@dataclass(frozen=True, slots=True)
class _Input:
    """One drawn input: how long a task takes, when a delivery comes [min], or 1 where a risk comes true.

    bears_on: ids of the work. minutes: when the plan has the delivery; what the risk takes again [min]. wait:
    what the risk adds behind the work [min].
    """

    kind: Kind
    id: int
    bears_on: tuple[int, ...]
    drawn: Floats
    minutes: int = 0
    wait: int = 0


def _inputs(order: Chosen, doubts: Doubts, draws: int, seed: int) -> list[_Input]:
    """Every input that bears on work of the plan, risks last."""
    ids = {step.id for step in order.steps}

    def shares(kind: Kind, at: int) -> Floats:
        return np.asarray(ndtr(joint_draws([f"{kind} {at}"], seed, draws)[0]))

    found = [
        _Input(Kind.TASK, at, (at,), _durations(estimate, shares(Kind.TASK, at)))
        for at, estimate in sorted(doubts.estimates.items())
        if at in ids and estimate.high > estimate.low
    ]
    for one in doubts.deliveries:
        held = tuple(at for at in one.holds if at in ids)
        drawn = np.full(draws, float(one.planned))
        if one.lead is not None:
            days = one.lead.at(shares(Kind.DELIVERY, one.id), one.waited) - one.waited
            drawn = np.maximum(np.ceil(days * DAY), 0.0)
        found.append(_Input(Kind.DELIVERY, one.id, held, drawn, one.planned))
    for risk in doubts.risks:
        if risk.task in ids and risk.chance > 0.0:
            happens = shares(Kind.RISK, risk.id) < risk.chance
            drawn = np.where(happens, 1.0, 0.0)
            found.append(_Input(Kind.RISK, risk.id, (risk.task,), drawn, risk.minutes, risk.wait))
    return found


def _durations(estimate: ThreePoint, shares: Floats) -> Floats:
    """Whole minutes that so large a share of beta-PERT draws keep to [min]."""
    drawn = np.interp(shares, _TABLE, betaincinv(*estimate.shape, _TABLE))
    return np.asarray(np.rint(estimate.low + (estimate.high - estimate.low) * drawn))


def _ends(
    order: Chosen, inputs: Sequence[_Input], goal: int | None, draws: int, still: _Input | None = None
) -> Floats:
    """When the goal is finished in each draw [min], one input held still at what the plan has."""
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
    finishes = replayed(order, draws, minutes, releases, waits)
    if goal is not None:
        return finishes[goal]
    return np.asarray(np.max([np.zeros(draws), *finishes.values()], axis=0))


def _drivers(
    order: Chosen, inputs: Sequence[_Input], goal: int | None, ends: Floats, safe: int | None
) -> tuple[Driver, ...]:
    """What each of the inputs that move most with the end costs of the 80 % date, the dearest first."""
    if safe is None or ends.min() == ends.max():
        return ()
    ranks = rankdata(ends)
    together = [
        (-abs(float(np.corrcoef(rankdata(one.drawn), ranks)[0, 1])), one.kind, one.id, at)
        for at, one in enumerate(inputs)
        if one.bears_on and one.drawn.min() < one.drawn.max()
    ]
    found = []
    for *_, at in sorted(together)[:LOOKED_AT]:
        still = Forecast(tuple(np.sort(_ends(order, inputs, goal, ends.size, inputs[at])).tolist()), 0).safe
        if still is not None and still < safe:
            found.append(Driver(inputs[at].kind, inputs[at].id, safe - still))
    return tuple(sorted(found, key=lambda one: (-one.minutes, one.kind, one.id)))
