"""A slow, plain simulation: one draw after the other, one piece of work after the other, as planned."""

from collections.abc import Mapping

import numpy as np

from server.core.work.forecast.foresee import DAY, Doubts
from server.core.work.plan.problem import Activity, Problem
from server.core.work.plan.schedule import Schedule


def simulated(problem: Problem, schedule: Schedule, doubts: Doubts, draws: int, seed: int) -> list[int]:
    """The minute at which all is done in each draw, rising; each resource is one of its kind."""
    rng = np.random.default_rng(seed)
    minutes = {one.id: _open_minutes(problem, one) for one in problem.activities}
    return sorted(_one(problem, schedule, doubts, minutes, rng) for _ in range(draws))


def _open_minutes(problem: Problem, one: Activity) -> bytes:
    """For each minute 1 where all that the work uses is there, else 0."""
    used = {use.resource for use in one.uses}
    each = [own.windows for own in problem.resources if own.id in used]
    count = bytearray(max(own.end for windows in each for own in windows))
    for windows in each:
        for own in windows:
            for at in range(own.start, own.end):
                count[at] += 1
    return bytes(found == len(each) for found in count)


def _one(
    problem: Problem,
    schedule: Schedule,
    doubts: Doubts,
    there: Mapping[int, bytes],
    rng: np.random.Generator,
) -> int:
    by_id = problem.by_id()
    arrives = dict.fromkeys(by_id, 0)
    for parcel in doubts.deliveries:
        assert parcel.lead is not None
        lead = -np.inf
        while lead <= parcel.waited:
            lead = parcel.lead.median * float(np.exp(parcel.lead.spread * rng.standard_normal()))
        for at in parcel.holds:
            arrives[at] = max(arrives[at], int(np.ceil((lead - parcel.waited) * DAY)))
    free: dict[str, int] = {}
    handed_on: dict[int, int] = {}
    finishes = [0]
    for placed in schedule.placed:
        one = by_id[placed.id]
        minutes, wait = _drawn(one, doubts, rng)
        ready = max(
            one.not_before if not arrives[one.id] else arrives[one.id],
            *(handed_on[link.task_id] + link.least_wait for link in one.after),
            *(free.get(use.resource, 0) for use in one.uses),
            0,
        )
        finish = _worked(there[one.id], one.splits, ready, minutes)
        finishes.append(finish)
        handed_on[one.id] = finish + wait
        free |= {use.resource: finish for use in one.uses}
    return max(finishes)


def _drawn(one: Activity, doubts: Doubts, rng: np.random.Generator) -> tuple[int, int]:
    minutes, wait = one.minutes, 0
    estimate = doubts.estimates.get(one.id)
    if estimate is not None:
        drawn = rng.beta(*estimate.shape)
        minutes = round(estimate.low + (estimate.high - estimate.low) * float(drawn))
    for risk in doubts.risks:
        if risk.task == one.id and rng.random() < risk.chance:
            minutes, wait = minutes + risk.minutes, wait + risk.wait
    return minutes, wait


def _worked(there: bytes, splits: bool, ready: int, minutes: int) -> int:
    """From one open time to the next until it is done; in one go means that one has to be long enough."""
    at, left = ready, minutes
    while True:
        at = there.index(1, at)
        closes = there.find(0, at)
        closes = len(there) if closes < 0 else closes
        if closes - at >= left:
            return at + left
        if splits:
            left -= closes - at
        at = closes
