"""Money as pictures and as tables: spent, on order, to come, by subsystem against the budget, and by week."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from server.core.buying.spending import Spending
from server.core.buying.weekly import Week
from server.features.builds.page import Face, heading
from server.web.view import Page
from server.web.words import day_text, money, plain_money

WIDTH = 360.0
ROW, BAR, FIRST = 40.0, 13.0, 6.0
"""Heights: of a row, of its bar, and of what stands over the first row."""
LEFT = 2.0
MOST_WEEKS = 16
"""Weeks that stand by themselves; those before them are one."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One part of a bar: `fill` is spent, committed or come."""

    fill: str
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Row:
    """One subsystem: its bar in the picture and its amounts in the table, without the currency.

    amounts: spent, on order and to buy, empty where nothing.
    """

    name: str
    amounts: tuple[str, ...]
    plain: str
    total: str
    text_y: float
    bar_y: float
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class WeekRow:
    """A week on the ruled strip. running: all up to its end; rule_y: of the rule over it, heavy where what is
    still ahead begins.
    """

    row: Row
    running: str
    rule_y: float
    heavy: bool


@dataclass(frozen=True, kw_only=True)
class SpendingPage(Page):
    """What the build costs; `budget_x` is where the budget's line stands, none where there is none."""

    template: ClassVar[str] = "spending/money.html"

    build_id: int
    currency: str
    lead: str
    rows: tuple[Row, ...]
    total: Row
    budget: str
    budget_x: float | None
    over: bool
    width: float
    height: float
    bar: float
    weeks: tuple[WeekRow, ...]
    weeks_height: float


def spending_page(
    build: Face,
    found: Sequence[Spending],
    weeks: Sequence[Week],
    unpriced: int,
    budget_minor: int | None,
    today: date,
) -> SpendingPage:
    """unpriced: lines to buy of which nobody knows the price."""
    whole = Spending(
        "All of it",
        sum(one.spent_minor for one in found),
        sum(one.committed_minor for one in found),
        sum(one.to_come_minor for one in found),
    )
    most = max(whole.total_minor, budget_minor or 0, 1)
    scale = (WIDTH - 2 * LEFT) / most
    rows = [_row(build, one, at, scale) for at, one in enumerate((whole, *found))]
    over = budget_minor is not None and whole.total_minor > budget_minor
    return SpendingPage(
        **heading(build, "Money", today, within="Shopping"),
        build_id=build.id,
        currency=build.currency,
        lead=_lead(build, whole, unpriced, budget_minor),
        rows=tuple(rows[1:]),
        total=rows[0],
        budget=money(budget_minor, build.currency),
        budget_x=None if budget_minor is None else round(LEFT + budget_minor * scale, 1),
        over=over,
        width=WIDTH,
        height=FIRST + ROW * len(rows),
        bar=BAR,
        weeks=_week_rows(build, _last_weeks(weeks), today),
        weeks_height=FIRST + ROW * len(_last_weeks(weeks)),
    )


BEFORE = "Before that"


def _last_weeks(weeks: Sequence[Week]) -> list[tuple[str, Week]]:
    """The last weeks with their names, all earlier ones together first."""
    named = [(day_text(one.monday) if one.monday else "No day yet", one) for one in weeks]
    if len(named) <= MOST_WEEKS:
        return named
    early = weeks[: len(weeks) - MOST_WEEKS]
    together = Week(
        early[-1].monday,
        sum(one.spent_minor for one in early),
        sum(one.committed_minor for one in early),
        sum(one.to_come_minor for one in early),
    )
    return [(BEFORE, together), *named[-MOST_WEEKS:]]


def _week_rows(build: Face, weeks: Sequence[tuple[str, Week]], today: date) -> tuple[WeekRow, ...]:
    most = max((one.total_minor for _, one in weeks), default=1)
    scale = (WIDTH - 2 * LEFT) / max(most, 1)
    rows, running, heavy = [], 0, False
    for at, (name, one) in enumerate(weeks):
        running += one.total_minor
        told = Spending(name, one.spent_minor, one.committed_minor, one.to_come_minor)
        ahead = one.monday is None or one.monday + timedelta(days=6) >= today
        rows.append(WeekRow(_row(build, told, at, scale), _plain(running), FIRST + ROW * at, ahead != heavy))
        heavy = ahead
    return tuple(rows)


def _row(build: Face, one: Spending, at: int, scale: float) -> Row:
    amounts = (
        ("spent", max(one.spent_minor, 0)),
        ("committed", one.committed_minor),
        ("come", one.to_come_minor),
    )
    stretches, x = [], LEFT
    for fill, minor in amounts:
        if minor:
            stretches.append(Stretch(fill, round(x, 1), round(minor * scale, 1)))
        x += minor * scale
    top = FIRST + ROW * at
    return Row(
        one.name,
        tuple(
            _plain(minor) if minor else ""
            for minor in (one.spent_minor, one.committed_minor, one.to_come_minor)
        ),
        _plain(one.total_minor),
        _amount(one.total_minor, build.currency),
        top + 14.0,
        top + 20.0,
        tuple(stretches),
    )


def _amount(minor: int, currency: str) -> str:
    return f"{_plain(minor)} {currency}"


def _plain(minor: int) -> str:
    """More may have come back than was paid."""
    return plain_money(minor) if minor >= 0 else f"−{plain_money(-minor)}"


def _lead(build: Face, whole: Spending, unpriced: int, budget_minor: int | None) -> str:
    words = f"{_amount(whole.total_minor, build.currency)} in all"
    if budget_minor is not None:
        left = budget_minor - whole.total_minor
        more = "less than the budget" if left >= 0 else "more than the budget"
        words += f", {money(abs(left), build.currency)} {more}"
    if unpriced:
        words += f"; {unpriced} {'line has' if unpriced == 1 else 'lines have'} no price yet"
    return f"{words}."
