"""The sheets of what is supposed, and of what late orders do: the dates then against those of now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.buying.order import OrderFace
from server.core.work.hours import Visit
from server.core.work.moved import Outlook
from server.core.work.tasks import is_first_start
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.forecasts.page import NAMES, against, day_or_none
from server.web import urls
from server.web.view import FormState, Link, Option, Page
from server.web.words import counted, day_text, days_late

NOTHING = Option("", "as it is")
HOW = (
    "Nothing is changed by asking. A day more is counted from 9:00 to 17:00; express post brings what is owed"
    " of an order within two days; a visit a week earlier comes on top of the day that was offered, one a"
    " week later in its place; both keep its hours. The plan is made anew with that, and with the order of"
    " work that stands: the better counts. What only adds may be left unused, so it never makes a date worse."
    " ‘No date’: in too many of the tries something misses the last stint or visit that is laid out for it."
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What was chosen: the day more, the order by express, the visits a week earlier and later."""

    day: date | None
    order_id: int | None
    earlier_id: int | None
    later_id: int | None


@dataclass(frozen=True, slots=True)
class Row:
    """One of the dates: now, then, and what lies between."""

    name: str
    now: str
    then: str
    step: str


@dataclass(frozen=True, kw_only=True)
class SupposePage(Page):
    """What is supposed, and what it would do to the dates."""

    template: ClassVar[str] = "supposing/suppose.html"

    build_id: int
    lead: str
    supposed: tuple[str, ...]
    rows: tuple[Row, ...]
    day: str
    order: str
    orders: tuple[Option, ...]
    earlier: str
    visit: str
    visits: tuple[Option, ...]
    how: str
    form: FormState


def suppose_page(
    build: Face,
    today: date,
    orders: Sequence[OrderFace],
    visits: Sequence[Visit],
    asked: Asked,
    now: Outlook | None,
    then: Outlook | None,
    express: date,
    refused: Refused | None,
) -> SupposePage:
    """now: as the plan stands; then: as it would, none where nothing was asked; express: when it comes."""
    rows: tuple[Row, ...] = ()
    if now is not None and then is not None:
        rows = tuple(
            Row(name, day_or_none(was), day_or_none(would), _step(was, would))
            for name, was, would in zip(NAMES, now.dates, then.dates, strict=True)
        )
    return SupposePage(
        **heading(build, "Suppose", today, within="Work"),
        build_id=build.id,
        lead=_lead(now, then),
        supposed=tuple(_supposed(orders, visits, asked, express)) if rows else (),
        rows=rows,
        day=asked.day.isoformat() if asked.day else "",
        order=str(asked.order_id or ""),
        orders=(NOTHING, *(Option(str(one.id), _order_text(one)) for one in orders)),
        earlier=str(asked.earlier_id or ""),
        visit=str(asked.later_id or ""),
        visits=(NOTHING, *(Option(str(one.id), f"{one.helper}, {day_text(one.day)}") for one in visits)),
        how=HOW,
        form=FormState.of(refused),
    )


def _lead(now: Outlook | None, then: Outlook | None) -> str:
    if now is None:
        return "There is no plan yet to suppose anything of."
    if then is None:
        return "What if? Choose one thing or several."
    if then.dates == now.dates:
        return "That would move none of the dates."
    was, would = now.finish, then.finish
    if was == would:
        return "The date by the plan would stay; the chances would change."
    if was is None or would is None:
        return f"By the plan: {day_or_none(would)}, not {day_or_none(was)}."
    return f"By the plan: {day_or_none(would)}, {against(was, would)}."


def _step(was: date | None, would: date | None) -> str:
    if was == would:
        return "the same"
    return against(was, would) if was and would else "-"


def _supposed(
    orders: Sequence[OrderFace], visits: Sequence[Visit], asked: Asked, express: date
) -> Sequence[str]:
    told = []
    if asked.day is not None:
        told.append(f"One more day in the garage: {day_text(asked.day)}.")
    told += [
        f"By express, here {day_text(express)} at the latest: {_order_text(one)}."
        for one in orders
        if one.id == asked.order_id
    ]
    told += [
        f"A week earlier too: {one.helper}, before {day_text(one.day)}."
        for one in visits
        if one.id == asked.earlier_id
    ]
    told += [
        f"A week later: {one.helper}, not {day_text(one.day)}." for one in visits if one.id == asked.later_id
    ]
    return told


def _order_text(order: OrderFace) -> str:
    owed = [line.part_name for line in order.lines if line.rest]
    more = f" and {len(owed) - 1} more" if len(owed) > 1 else ""
    return f"{order.supplier}: {owed[0] if owed else 'nothing owed'}{more}"


@dataclass(frozen=True, slots=True)
class LateOrder:
    """A late order and what that does to the dates, in words."""

    order: Link
    late: str
    moves: str


@dataclass(frozen=True, kw_only=True)
class LatePage(Page):
    """What each late order does to the dates."""

    template: ClassVar[str] = "supposing/late.html"
    fragments: ClassVar[dict[str, str]] = {"late-orders": "late_orders"}

    build_id: int
    lead: str
    orders: tuple[LateOrder, ...]
    how: str


def late_page(
    build: Face,
    today: date,
    late: Sequence[tuple[OrderFace, Outlook | None]],
    now: Outlook | None,
    goal: str,
) -> LatePage:
    """late: each order with the dates as they were if it were here; now: as they stand; goal: whose date."""
    name = "first start" if is_first_start(goal) else f"‘{goal}’"
    return LatePage(
        **heading(build, "Late orders", today, within="Orders"),
        build_id=build.id,
        lead=f"{counted(len(late), 'late order')}." if late else "No order is late.",
        orders=tuple(
            LateOrder(
                Link(urls.order(build.id, order.id), _order_text(order)),
                days_late(order.late_days(today)),
                _moves(name, now, here),
            )
            for order, here in late
        ),
        how=HOW_LATE if late else "",
    )


HOW_LATE = (
    "Against a plan made as if what is owed were here today; one order at a time, the latest first. A late"
    " order is counted as not here yet, and may take longer still."
)


def _moves(name: str, now: Outlook | None, here: Outlook | None) -> str:
    """E.g. "first start moves 3 days, to Sat 16 Jan; the four-in-five date 7 days, to Sat 23 Jan"."""
    if now is None or here is None:
        return "there is no plan that it could move"
    told = []
    for what, was, stands in (
        (name, here.finish, now.finish),
        ("the four-in-five date", here.by(0.8), now.by(0.8)),
    ):
        if was == stands:
            continue
        if was is None or stands is None:
            told.append(f"{what}: {day_or_none(stands)}, were it here {day_or_none(was)}")
        else:
            told.append(f"{what} moves {counted((stands - was).days, 'day')}, to {day_text(stands)}")
    return "; ".join(told) or f"{name} stays where it is, and so does the four-in-five date"
