"""Pieces of a run that may turn out not to fit, by the chances of the checks of its fit."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.core.checks.answer import Check, Finding
from server.core.tube.run import PiecePlan, RunPlan

OF_FIT = frozenset({"coupler-fit", "overlap", "gap", "line-gap", "reach"})
"""Rules that a piece fails by not fitting: bore against spigot, length, gap, and where the run ends."""


@dataclass(frozen=True, slots=True)
class Misfit:
    """A piece that may not fit. chance [-]; why: the title of the check that makes it most likely."""

    piece: PiecePlan
    chance: float
    why: str


def misfits(checks: Iterable[Check], plan: RunPlan) -> tuple[Misfit, ...]:
    """Every piece of a run that may not fit, in its order.

    What fails by its best estimate is left out: a no-go holds the work until it is cured, and what is tight
    or conceded is fitted as it is. So is what was not measured. Of several doubts about one piece the worst
    counts, as they rest on much the same readings: common practice, no source.
    """
    worst: dict[int, Misfit] = {}
    for check in checks:
        if check.rule.code not in OF_FIT or check.holds_work or check.conceded is not None:
            continue
        for item in check.items:
            piece = _changed(item, plan)
            if piece is None or item.margin < 0.0 or item.probability is None or item.probability >= 1.0:
                continue
            one = Misfit(piece, 1.0 - item.probability, check.rule.title)
            worst[piece.id] = max(worst.get(piece.id, one), one, key=lambda known: known.chance)
    return tuple(worst[piece.id] for piece in plan.pieces if piece.id in worst)


OF_SIZE = "coupler-fit"
"""The rule that weighs a hose's bore against the spigots that it goes over."""


def sizes_wrong(checks: Iterable[Check], plan: RunPlan) -> dict[int, float]:
    """The chance that the size of a hose is wrong for its spigots [-], by the number of the piece.

    Only where the check has all that it asks for and none fails by its best estimate. Source: as `misfits`.
    """
    found: dict[int, float] = {}
    for check in checks:
        if check.rule.code != OF_SIZE or check.missing or any(item.margin < 0.0 for item in check.items):
            continue
        for item in check.items:
            piece = _changed(item, plan)
            if piece is not None and item.probability is not None:
                found[piece.id] = max(found.get(piece.id, 0.0), 1.0 - item.probability)
    return found


def _changed(item: Finding, plan: RunPlan) -> PiecePlan | None:
    """The piece that is made again where this fails: at a joint the hose, at the port the last one."""
    if not plan.pieces:
        return None
    if item.concerns == "piece":
        return next((piece for piece in plan.pieces if piece.number == item.number), None)
    if item.concerns != "joint" or item.number is None:
        return plan.pieces[-1]
    beside = plan.pieces[max(item.number - 2, 0) : item.number]
    return next((piece for piece in beside if piece.is_hose), beside[-1])
