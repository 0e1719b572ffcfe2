"""What is supposed: a day more in the garage, faster post for an order, a visit a week later."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from server.web.fields import Fields

FARTHEST = timedelta(days=200)
"""Stints are laid out so far ahead."""


@dataclass(frozen=True, slots=True)
class Supposed:
    """day: one more in the garage; order_id: of the order that comes by express; visit_id: of the visit that
    is a week later."""

    day: date | None = None
    order_id: int | None = None
    visit_id: int | None = None

    @property
    def anything(self) -> bool:
        return (self.day, self.order_id, self.visit_id) != (None, None, None)


def supposed(
    typed: Mapping[str, str], order_ids: Sequence[int], visit_ids: Sequence[int], today: date
) -> Supposed:
    """Raises BadInput."""
    fields = Fields(typed)
    day = fields.day("day", "One more day")
    if day is not None and not today <= day <= today + FARTHEST:
        fields.refuse("day", "The plan does not reach that day.", "a day from today on, within half a year")
    order_id = fields.row_id("order", "The order", order_ids)
    visit_id = fields.row_id("visit", "The visit", visit_ids)
    fields.done()
    return Supposed(day, order_id, visit_id)
