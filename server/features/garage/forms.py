"""Which sheet an act was pressed on, so that it is answered there."""

from collections.abc import Mapping
from enum import StrEnum
from urllib.parse import parse_qsl, urlencode

from server.web.fields import Fields


class Sheet(StrEnum):
    """Sheets that carry acts on tasks and deliveries."""

    GARAGE = "garage"
    ORDERS = "orders"
    WORK = "work"
    TASK = "task"
    STINT = "stint"


def pressed_on(typed: Mapping[str, str]) -> Sheet:
    """The sheet that the form came from; the garage where that is not said or not one of them."""
    named = Fields(typed).raw("back")
    return Sheet(named) if named in set(Sheet) else Sheet.GARAGE


def asked_on(typed: Mapping[str, str]) -> str:
    """What the sheet that the form came from was asked for, as a query; empty where it can't be one."""
    text = Fields(typed).raw("asked")
    return urlencode(parse_qsl(text)) if len(text) < 300 else ""
