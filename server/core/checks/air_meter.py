"""Rules of the air meter: range at the peak, straights round it, its housing and the pipe before it."""

from collections.abc import Sequence
from dataclasses import dataclass

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
from server.core.measure.many import log
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
    if meters_of(facts):
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


@dataclass(frozen=True, slots=True)
class _Meter:
    """An air meter on a run: a piece of it, or the port where it starts or ends.

    before, after: the pieces on either side, the nearest first.
    """

    end: End
    item: str
    number: int | None
    before: tuple[PiecePlan, ...]
    after: tuple[PiecePlan, ...]

    @property
    def concerns(self) -> str:
        return self.end.owner_kind


def meters_of(facts: Facts) -> list[_Meter]:
    """Every air meter that the run starts at, ends at or has in it."""
    pieces, start, end = facts.plan.pieces, facts.plan.start, facts.plan.end
    found = []
    if start is not None and start.is_meter:
        found.append(_Meter(End(start, True), f"port.{start.id}", None, (), pieces))
    for index, piece in enumerate(pieces):
        if piece.kind is PieceKind.METER:
            sides = (pieces[:index][::-1], pieces[index + 1 :])
            found.append(_Meter(End(piece, False), f"piece.{piece.id}", piece.number, *sides))
    if end is not None and end.is_meter:
        found.append(_Meter(End(end, False), f"port.{end.id}", None, pieces[::-1], ()))
    return found


def meter_straights(facts: Facts) -> Findings:
    """Straight length before and after each meter of the run. Source: common practice."""
    return for_each(meters_of(facts), lambda meter: meter.item, lambda meter: _straights(facts, meter))


def _straights(facts: Facts, meter: _Meter) -> tuple[Found, ...]:
    bore = facts.bore(meter.end)
    # Where the run begins or ends at the meter, the straight beyond is what the car brought along.
    return tuple(
        _straight(facts, meter, side, pieces, bore)
        for side, pieces in (("before", meter.before), ("after", meter.after))
        if pieces
    )


def _straight(facts: Facts, meter: _Meter, side: str, pieces: Sequence[PiecePlan], bore: float) -> Found:
    run = _straight_length(facts, pieces, at_outlet=side == "before")
    wanted = facts.limit(f"meter.{side}") * bore

    def about() -> About:
        words = {"meter": meter.end.label, "side": side}
        amounts = {"run": length(run), "wanted": length(wanted)}
        levers: tuple[Lever, ...] = ()
        if pieces[0].is_straight and facts.size_or_none("piece", pieces[0].id, "length") is not None:
            phrase = Phrase("{value} of {piece} turns this to go.", {"piece": piece_label(pieces[0])})
            levers = (Lever(f"piece.{pieces[0].id}.length", phrase, number=pieces[0].number),)
        return About(
            Phrase("{meter} has {run} of straight {side} it; {wanted} is asked.", words, amounts),
            meter.concerns,
            meter.number,
            run,
            wanted,
            Kind.length,
            levers=levers,
            moves=(Phrase("Put {wanted} of straight tube {side} {meter}.", words, amounts),),
        )

    return Found(f"{meter.item}.{side}", run - wanted, about)


def _straight_length(facts: Facts, pieces: Sequence[PiecePlan], at_outlet: bool) -> float:
    """Straight length next to a meter [m], up to the first bend and its leg included."""
    total = 0.0
    for piece in pieces:
        if not piece.is_straight:
            return total + (facts.leg_or_none(piece, at_outlet=at_outlet) or 0.0)
        if piece.kind not in _STRAIGHT:
            return total
        total += facts.free_length(piece)
    return total


def meter_housing(facts: Facts) -> Findings:
    """Meter housing and the pipe just before it as calibrated, or re-scaled.

    Source: continuity; common practice.
    """
    return for_each(meters_of(facts), lambda meter: meter.item, lambda meter: _housing(facts, meter))


def _housing(facts: Facts, meter: _Meter) -> tuple[Found, ...]:
    words = {"meter": meter.end.label}
    if facts.plan.meter_rescaled:
        text = Phrase("The calibration is said to be re-scaled to {meter} as fitted.", words)
        return (plain(meter.item, True, lambda: About(text, meter.concerns, meter.number)),)
    fitted = facts.bore(meter.end)
    original = facts.values.get("meter.original_bore")
    if original is None:
        raise facts.missing("meter.original_bore")
    _refuse_changed(facts, meter)
    slack = facts.limit("bore.slack")

    def about() -> About:
        amounts = {"fitted": length(fitted), "original": length(original)}
        text = Phrase("{meter} has {fitted} bore, calibrated in {original}: unchanged.", words, amounts)
        return About(text, meter.concerns, meter.number, fitted, original, Kind.length)

    return (
        Found(meter.item + ".larger", slack - (fitted - original), about),
        Found(meter.item + ".smaller", slack + (fitted - original), about),
    )


def _refuse_changed(facts: Facts, meter: _Meter) -> None:
    """A changed housing, or a new pipe before it, is not measured until said to be re-scaled.

    Judged by the best estimates: what was changed is no matter of chance.
    """
    best = facts.best
    fitted, original = best.bore(meter.end), best.values["meter.original_bore"]
    words = {"meter": meter.end.label}
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
    # A straight coupler only joins: the pipe is what stands before it.
    before = next((piece for piece in meter.before if piece.kind is not PieceKind.COUPLER), None)
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
