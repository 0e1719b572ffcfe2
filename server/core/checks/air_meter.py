"""Rules of the air meter: range at the peak, straights round it, its housing and the pipe before it."""

from collections.abc import Sequence
from math import log

from server.core.air.meter import meter_scale, meter_share
from server.core.checks.case import MeterPlace
from server.core.checks.facts import Facts
from server.core.checks.layout import End, piece_label
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    AIR,
    About,
    Caution,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
    plain,
)
from server.core.phrase import Amount, Phrase, length, percent
from server.core.sources import source
from server.core.tube.run import PieceKind, PiecePlan, Place
from server.core.units import Kind

_STRAIGHT = frozenset(
    {PieceKind.TUBE, PieceKind.COUPLER, PieceKind.HOSE, PieceKind.FLANGE, PieceKind.SALVAGED}
)

_LEAN = Caution(
    SignalWord.WARNING,
    "A meter that reads low lets the engine run lean under boost, which can break it. No boost until the "
    "calibration "
    "is re-scaled and the mixture proved with a wideband; leave that to somebody who does this work.",
)


def _meter_is_here(facts: Facts) -> bool:
    """Whether the engine counts its air on this run.

    A meter is drawn in it, or stands on its side of the compressor.
    """
    if facts.meters:
        return True
    if facts.case.engine is None:
        return False
    on_intake = facts.plan.place is Place.INTAKE
    return facts.case.engine.meter_place is (
        MeterPlace.BEFORE_COMPRESSOR if on_intake else MeterPlace.AFTER_COMPRESSOR
    )


def meter_range(facts: Facts) -> Findings:
    """Flow at the peak against the meter's greatest. Source: `air.meter`; the reserve is common practice."""
    if not _meter_is_here(facts):
        return ()
    flow = facts.engine.flow
    assert facts.case.engine is not None
    if facts.case.engine.meter_range is None:
        phrase = Phrase("Type the greatest flow the air meter reads on the engine sheet.")
        raise NotMeasured(phrase, "engine.meter_range")
    share = meter_share(flow, facts.case.engine.meter_range)
    most = facts.limit("meter.share")

    def about() -> About:
        amounts = {"flow": Amount(flow, Kind.mass_flow), "share": percent(share), "most": percent(most)}
        return About(
            Phrase(
                "The peak asks {flow}, {share} of what the meter reads; up to {most} passes.", {}, amounts
            ),
            "run",
            None,
            share,
            most,
            Kind.ratio,
            tight_margin=1.0 - share,
            doubt_scale=share,
            moves=(
                Phrase("Fit a meter of a larger range and re-scale the calibration, or lower the boost."),
            ),
        )

    return (Found("run", log(most / share), about),)


def meter_straights(facts: Facts) -> Findings:
    """Straight length before and after each meter drawn in the run. Source: common practice."""
    if not facts.meters:
        return ()
    return for_each(facts.meters, lambda piece: f"piece.{piece.id}", lambda piece: _straights(facts, piece))


def _straights(facts: Facts, meter: PiecePlan) -> tuple[Found, ...]:
    index = facts.plan.pieces.index(meter)
    before, after = facts.plan.pieces[:index][::-1], facts.plan.pieces[index + 1 :]
    bore = facts.bore(End(meter, False))
    findings = []
    # A meter that is the run's first or last piece has its straight in what the car brought along.
    if before:
        findings.append(_straight(facts, meter, "before", before, bore))
    if after:
        findings.append(_straight(facts, meter, "after", after, bore))
    return tuple(findings)


def _straight(facts: Facts, meter: PiecePlan, side: str, pieces: Sequence[PiecePlan], bore: float) -> Found:
    run = _straight_length(facts, pieces, at_outlet=side == "before")
    wanted = facts.limit(f"meter.{side}") * bore

    def about() -> About:
        words = {"meter": piece_label(meter), "side": side}
        amounts = {"run": length(run), "wanted": length(wanted)}
        levers: tuple[Lever, ...] = ()
        if not pieces[0].has_arc and facts.size_or_none("piece", pieces[0].id, "length") is not None:
            phrase = Phrase("{value} of {piece} turns this to go.", {"piece": piece_label(pieces[0])})
            levers = (Lever(f"piece.{pieces[0].id}.length", phrase, number=pieces[0].number),)
        return About(
            Phrase("{meter} has {run} of straight {side} it; {wanted} is asked.", words, amounts),
            "piece",
            meter.number,
            run,
            wanted,
            Kind.length,
            levers=levers,
            moves=(Phrase("Put {wanted} of straight tube {side} {meter}.", words, amounts),),
        )

    return Found(f"piece.{meter.id}.{side}", run - wanted, about)


def _straight_length(facts: Facts, pieces: Sequence[PiecePlan], at_outlet: bool) -> float:
    """Straight length next to a meter [m], up to the first bend and its leg included."""
    total = 0.0
    for piece in pieces:
        if piece.has_arc:
            leg = facts.size_or_none("piece", piece.id, "length_out" if at_outlet else "length")
            return total + (leg or 0.0)
        if piece.kind not in _STRAIGHT or "bend_angle" in piece.sizes:
            return total
        total += facts.free_length(piece)
    return total


def meter_housing(facts: Facts) -> Findings:
    """Meter housing and the pipe just before it as calibrated, or re-scaled.

    Source: continuity; common practice.
    """
    if not facts.meters:
        return ()
    return for_each(facts.meters, lambda piece: f"piece.{piece.id}", lambda piece: _housing(facts, piece))


def _housing(facts: Facts, meter: PiecePlan) -> tuple[Found, ...]:
    item, words = f"piece.{meter.id}", {"meter": piece_label(meter)}
    if facts.plan.meter_rescaled:
        text = Phrase("The calibration is said to be re-scaled to {meter} as fitted.", words)
        return (plain(item, True, lambda: About(text, "piece", meter.number)),)
    fitted = facts.bore(End(meter, False))
    original = facts.values.get("meter.original_bore")
    if original is None:
        raise facts.missing("meter.original_bore")
    _refuse_changed(facts, meter)
    slack = facts.limit("bore.slack")

    def about() -> About:
        amounts = {"fitted": length(fitted), "original": length(original)}
        text = Phrase("{meter} has {fitted} bore, calibrated in {original}: unchanged.", words, amounts)
        return About(text, "piece", meter.number, fitted, original, Kind.length)

    return (
        Found(item + ".larger", slack - (fitted - original), about),
        Found(item + ".smaller", slack + (fitted - original), about),
    )


def _refuse_changed(facts: Facts, meter: PiecePlan) -> None:
    """A changed housing, or a new pipe before it, is not measured until said to be re-scaled.

    Judged by the best estimates: what was changed is no matter of chance.
    """
    best = facts.best
    fitted, original = best.bore(End(meter, False)), best.values["meter.original_bore"]
    words = {"meter": piece_label(meter)}
    if abs(fitted - original) > facts.limit("bore.slack"):
        scale = meter_scale(original, fitted)
        way = "low" if scale.reads < 1.0 else "high"
        amounts = {
            "off": percent(abs(1.0 - scale.reads)),
            "fitted": length(fitted),
            "original": length(original),
        }
        text = (
            "{meter} has {fitted} bore, calibrated in {original}: it reads about {off} {way}. "
            "Say so when the calibration is re-scaled."
        )
        raise NotMeasured(Phrase(text, words | {"way": way}, amounts))
    index = facts.layout.positions[meter.id]
    # A straight coupler only joins: the pipe is what stands before it.
    pipes = (piece for piece in facts.plan.pieces[:index][::-1] if piece.kind is not PieceKind.COUPLER)
    before = next(pipes, None)
    if before is not None and before.kind is not PieceKind.SALVAGED:
        text = (
            "{before} just before {meter} is new and may change what it reads. Say so when the calibration "
            "is re-scaled."
        )
        raise NotMeasured(Phrase(text, words | {"before": piece_label(before)}))


RULES = (
    Rule(
        "meter-range",
        "Air meter range",
        AIR,
        RuleClass.PERFORMANCE,
        "flow at the peak / greatest flow the meter reads",
        "A share of the range at the peak; up to all of it is tight.",
        ("meter.share",),
        (source("practice"),),
        _LEAN,
        meter_range,
    ),
    Rule(
        "meter-straights",
        "Straights round the air meter",
        AIR,
        RuleClass.PERFORMANCE,
        "straight length ≥ n × d(meter), before and after",
        "In bores of the meter. A maker's figure for the meter goes before these.",
        ("meter.before", "meter.after"),
        (source("practice"),),
        None,
        meter_straights,
    ),
    Rule(
        "meter-housing",
        "Meter housing unchanged",
        AIR,
        RuleClass.PERFORMANCE,
        "reading ∝ d(calibrated)² / d(fitted)²",
        "Housing and the pipe just before it as calibrated; else not measured until said to be re-scaled.",
        ("bore.slack",),
        (source("practice"),),
        _LEAN,
        meter_housing,
    ),
)
