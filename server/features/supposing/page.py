"""The sheet of what is supposed: the dates then against those of now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.buying.order import OrderFace
from server.core.work.hours import Visit
from server.core.work.moved import Outlook
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.forecasts.page import NAMES, against, day_or_none
from server.web.view import FormState, Option, Page
from server.web.words import day_text

NOTHING = Option("", "as it is")
HOW = (
    "Nothing is changed by asking. A day more is counted from 9:00 to 17:00; express post brings what is owed"
    " of an order within two days; a visit a week later keeps its hours. The plan is made anew with that."
    " ‘No date’: in too many of the tries something misses the last stint or visit that is laid out for it."
    " A plan that begins sooner may be a tighter one: then chances can get worse though the date does not."
)


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
    visit: str
    visits: tuple[Option, ...]
    how: str
    form: FormState


def suppose_page(
    build: Face,
    today: date,
    orders: Sequence[OrderFace],
    visits: Sequence[Visit],
    asked: tuple[date | None, int | None, int | None],
    now: Outlook | None,
    then: Outlook | None,
    express: date,
    refused: Refused | None,
) -> SupposePage:
    """asked: the day more, the order by express, the visit a week later; now: as the plan stands.

    then: as it would, none where nothing was asked; express: when that post comes.
    """
    day, order_id, visit_id = asked
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
        day=day.isoformat() if day else "",
        order=str(order_id or ""),
        orders=(NOTHING, *(Option(str(one.id), _order_text(one)) for one in orders)),
        visit=str(visit_id or ""),
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
    orders: Sequence[OrderFace],
    visits: Sequence[Visit],
    asked: tuple[date | None, int | None, int | None],
    express: date,
) -> Sequence[str]:
    day, order_id, visit_id = asked
    told = []
    if day is not None:
        told.append(f"One more day in the garage: {day_text(day)}.")
    told += [
        f"By express, here {day_text(express)} at the latest: {_order_text(one)}."
        for one in orders
        if one.id == order_id
    ]
    told += [f"A week later: {one.helper}, not {day_text(one.day)}." for one in visits if one.id == visit_id]
    return told


def _order_text(order: OrderFace) -> str:
    owed = [line.part_name for line in order.lines if line.rest]
    more = f" and {len(owed) - 1} more" if len(owed) > 1 else ""
    return f"{order.supplier}: {owed[0] if owed else 'nothing owed'}{more}"
