"""Which sheet an act was pressed on, so that it is answered there."""

from collections.abc import Mapping
from enum import StrEnum

from server.web.fields import Fields


class Sheet(StrEnum):
    """Sheets that carry acts on tasks and deliveries."""

    GARAGE = "garage"
    ORDERS = "orders"
    WORK = "work"
    TASK = "task"


def pressed_on(typed: Mapping[str, str]) -> Sheet:
    """The sheet that the form came from; the garage where that is not said or not one of them."""
    named = Fields(typed).raw("back")
    return Sheet(named) if named in set(Sheet) else Sheet.GARAGE
