"""What is supposed: a day more in the garage, faster post for an order, a visit a week off."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from server.web.fields import Fields

FARTHEST = timedelta(days=200)
"""Stints are laid out so far ahead."""
WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Supposed:
    """day: one more in the garage; order_id: of the order that comes by express; earlier_id: of the visit
    that is offered a week earlier too; later_id: of the visit that is a week later."""

    day: date | None = None
    order_id: int | None = None
    earlier_id: int | None = None
    later_id: int | None = None

    @property
    def anything(self) -> bool:
        return self != Supposed()

    @property
    def only_better(self) -> bool:
        """Nothing in it takes away what there is."""
        return self.later_id is None


def supposed(
    typed: Mapping[str, str], order_ids: Sequence[int], visits: Mapping[int, date], today: date
) -> Supposed:
    """visits: their days, by number. Raises BadInput."""
    fields = Fields(typed)
    day = fields.day("day", "One more day")
    if day is not None and not today <= day <= today + FARTHEST:
        fields.refuse("day", "The plan does not reach that day.", "a day from today on, within half a year")
    order_id = fields.row_id("order", "The order", order_ids)
    earlier_id = fields.row_id("earlier", "The visit", list(visits))
    if earlier_id is not None and visits[earlier_id] - WEEK < today:
        fields.refuse("earlier", "A week before it is past.", "a visit that is more than a week off")
    later_id = fields.row_id("visit", "The visit", list(visits))
    fields.done()
    return Supposed(day, order_id, earlier_id, later_id)
