"""Typed input about limits."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.checks.limits import Limit
from server.core.units import System, show
from server.web.fields import Fields

LONGEST_REASON = 300


@dataclass(frozen=True, slots=True)
class LimitForm:
    """A limit as a build wants it. value: [SI unit of the limit's kind]."""

    value: float
    typed: str
    reason: str


@dataclass(frozen=True, slots=True)
class LimitEdit:
    """A change of a limit, and the version that it was made on: 0 where it was never changed before."""

    version: int
    form: LimitForm


def limit_edit(typed: Mapping[str, str], limit: Limit, system: System) -> LimitEdit:
    """Raises BadInput with what may be typed, MissingVersion."""
    fields = Fields(typed)
    version = fields.version()
    least, most = limit.range
    accepts = f"{_text(limit, least, system)} to {_text(limit, most, system)}"
    label = limit.words[:1].upper() + limit.words[1:]
    unit = "percent" if limit.unit == "percent" else None
    value = fields.quantity(
        "value",
        label,
        limit.kind,
        unit=unit,
        required=True,
        least=least,
        most=most,
        accepts=accepts,
    )
    reason = fields.text("reason", "The reason", most=LONGEST_REASON, required=True)
    fields.done()
    assert value is not None  # or `done` would have raised
    return LimitEdit(version, LimitForm(value.value, fields.raw("value"), reason))


def withdrawal(typed: Mapping[str, str]) -> int:
    """The version on which a changed limit is to be the usual one again. Raises MissingVersion."""
    return Fields(typed).version()


def _text(limit: Limit, value: float, system: System) -> str:
    return show(value, limit.kind, system, unit=limit.unit).text
