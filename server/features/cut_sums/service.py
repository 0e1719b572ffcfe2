"""The cutting plan as a sum: the same pure function that the shopping list uses."""

from collections import Counter
from collections.abc import Mapping, Sequence
from math import isclose

from server.core.buying.cutting import Piece, Plan, Stock, piece_tenths, plan_cuts, stock_tenths
from server.errors import BadInput, FieldError
from server.features.bench import service as bench
from server.features.cut_sums import forms, page

MM = 1e-3
PARTS = 10_000
"""Parts of one unit of money in which prices are counted: four places."""
NO_PRICE = "a price for each stock, or for none; only an off-cut at 0 may stand beside stock without"
_ROUNDED = "Lengths are taken in whole tenths of a millimetre: pieces rounded up, stock rounded down."


def cut_plan(asked: forms.CutPlanIn) -> page.CutPlanOut:
    """The cheapest cutting plan, or what there is no stock for. Raises BadInput."""
    pieces = [Piece(piece_tenths(one.length_mm * MM), one.count) for one in asked.pieces]
    if sum(one.count for one in pieces) > forms.MOST_PIECES:
        accepts = f"up to {forms.MOST_PIECES:,} pieces in all"
        raise BadInput((FieldError("pieces", "These are too many pieces.", accepts),), {})
    parts = _prices(asked.stock)
    stock = [
        Stock(stock_tenths(one.length_mm * MM), one.count, price)
        for one, price in zip(asked.stock, parts, strict=True)
    ]
    plan = plan_cuts(stock, pieces, piece_tenths(asked.kerf_mm * MM))
    notes = _notes(asked)
    if any(plan.short):
        return page.CutPlanOut(reason=_reason(asked, plan), short=_short(asked, plan), notes=notes)
    priced = any(one.price for one in asked.stock)
    unit = PARTS if priced else 1
    bars = tuple(_bar(asked, bar.stock, bar.pieces) for bar in plan.bars)
    return page.CutPlanOut(
        verdict=_verdict(plan, unit, priced),
        bars_used=len(bars),
        cost=plan.cost / unit,
        lower_bound=plan.lower_bound / unit,
        alike=_alike(bars),
        bars=bars,
        offcuts_mm=round(sum(bar.offcut_mm for bar in bars), 6),
        notes=notes,
    )


def _prices(stock: Sequence[forms.StockIn]) -> list[int]:
    """The price of each stock in whole parts; one a bar where there are none. Raises BadInput."""
    if not any(one.price for one in stock):
        any_free = any(one.price is not None for one in stock) and any(one.price is None for one in stock)
        return [0 if any_free and one.price is not None else 1 for one in stock]
    for at, one in enumerate(stock):
        if one.price is None:
            message = "This has no price, other stock has one."
            raise BadInput((FieldError(f"stock[{at}].price", message, NO_PRICE),), {})
    return [round((one.price or 0.0) * PARTS) for one in stock]


def _bar(asked: forms.CutPlanIn, stock: int, pieces: Sequence[int]) -> page.BarOut:
    """One bar in the lengths that were asked; off-cuts are counted from them."""
    length = asked.stock[stock].length_mm
    cuts = tuple(sorted((asked.pieces[at].length_mm for at in pieces), reverse=True))
    left = max(length - sum(cuts) - asked.kerf_mm * len(cuts), 0.0)
    return page.BarOut(stock_mm=length, cuts_mm=cuts, offcut_mm=round(left, 6))


def _alike(bars: Sequence[page.BarOut]) -> tuple[page.AlikeOut, ...]:
    return tuple(
        page.AlikeOut(bars=many, stock_mm=bar.stock_mm, cuts=_cuts(bar.cuts_mm), offcut_mm=bar.offcut_mm)
        for bar, many in Counter(bars).items()
    )


def _cuts(cuts: Sequence[float]) -> str:
    """E.g. "2 × 765, 410"."""
    return ", ".join(
        f"{many} × {_plain(length)}" if many > 1 else _plain(length) for length, many in Counter(cuts).items()
    )


def _plain(length: float) -> str:
    return f"{length:,.2f}".rstrip("0").rstrip(".")


def _verdict(plan: Plan, unit: int, priced: bool) -> str:
    many = len(plan.bars)
    bars = "1 bar" if many == 1 else f"{many:,} bars"
    cost = f", {plan.cost / unit:,.2f} in all" if priced else ""
    if plan.is_best:
        return f"{bars}{cost}: no plan {'costs less' if priced or plan.cost != many else 'takes fewer'}"
    least = f"{plan.lower_bound / unit:,.2f}" if priced else f"{plan.lower_bound:,}"
    return f"{bars}{cost}: a better plan can't be ruled out, but none is under {least}"


def _short(asked: forms.CutPlanIn, plan: Plan) -> tuple[page.ShortOut, ...]:
    return tuple(
        page.ShortOut(length_mm=one.length_mm, count=many)
        for one, many in zip(asked.pieces, plan.short, strict=True)
        if many
    )


def _reason(asked: forms.CutPlanIn, plan: Plan) -> str:
    """What there is no stock for, and the way out."""
    longest = max((one.length_mm for one in asked.stock if one.count != 0), default=0.0)
    short = _short(asked, plan)
    too_long = [one for one in short if stock_tenths(longest * MM) < piece_tenths(one.length_mm * MM)]
    if too_long:
        return (
            f"{_told(too_long)} {'is' if sum(one.count for one in too_long) == 1 else 'are'} longer than the "
            f"longest stock, {_plain(longest)} mm. Find longer stock, or make the piece of two."
        )
    return f"Not enough stock: nothing is left for {_told(short)}. Add stock of that length or longer."


def _told(short: Sequence[page.ShortOut]) -> str:
    """E.g. "2 pieces of 600 mm and 1 piece of 450 mm"."""
    return " and ".join(
        f"{one.count} piece{'' if one.count == 1 else 's'} of {_plain(one.length_mm)} mm" for one in short
    )


def _notes(asked: forms.CutPlanIn) -> tuple[str, ...]:
    lengths = [asked.kerf_mm, *(one.length_mm for one in asked.stock)]
    lengths += [one.length_mm for one in asked.pieces]
    whole = all(isclose(length * 10, round(length * 10), rel_tol=0.0, abs_tol=1e-6) for length in lengths)
    return () if whole else (_ROUNDED,)


BENCH: Mapping[str, bench.Answering] = {"cut-plan": (forms.CutPlanIn, cut_plan)}
"""What the sum is asked, and how it answers."""
