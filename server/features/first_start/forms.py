"""What is typed at the gate: ticks and figures, names, reasons."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.first_start.stage import Number, Stage
from server.core.units import System
from server.errors import MissingVersion
from server.web.fields import Fields

MOST_NAME, MOST_REASON = 80, 300


@dataclass(frozen=True, slots=True)
class Typed:
    """A tick or figure as typed. value: SI, 1 for a tick, None where it is not there."""

    value: float | None
    text: str

    @property
    def shown(self) -> str:
        """As a form shows it."""
        return self.text or ("on" if self.value is not None else "")


@dataclass(frozen=True, slots=True)
class BackForm:
    version: int
    by: str
    reason: str


def entries(typed: Mapping[str, str], stage: Stage, system: System) -> dict[str, Typed]:
    """Every tick and figure of a stage, by its code. Raises BadInput."""
    fields = Fields(typed)
    found = {tick.code: Typed(1.0, "") if fields.flag(tick.code) else Typed(None, "") for tick in stage.ticks}
    found |= {number.code: _number(fields, number, system) for number in stage.numbers}
    fields.done()
    return found


def shown(typed: Mapping[str, str]) -> dict[str, str]:
    """What the form showed of each tick and figure before anything was typed: "on" or a text, by code."""
    return {name.removeprefix("was."): text for name, text in typed.items() if name.startswith("was.")}


def _number(fields: Fields, number: Number, system: System) -> Typed:
    if number.kind is None:
        count = fields.whole(number.code, number.text, least=int(number.least), most=int(number.most))
        return Typed(None if count is None else float(count), "" if count is None else str(count))
    unit = unit_of(number, system)
    found = fields.quantity(
        number.code, number.text, number.kind, unit=unit or None, least=number.least, most=number.most,
        accepts=f"a number{f' in {unit}, or with its unit' if unit else ''}, of a sound size for this",
    )  # fmt: skip
    return Typed(None, "") if found is None else Typed(found.value, fields.raw(number.code))


def unit_of(number: Number, system: System) -> str:
    """Of a bare number, as the form says beside the field."""
    return number.unit_inch if system is System.inch else number.unit


def signature(typed: Mapping[str, str], seen: str) -> str:
    """Who signs. seen: what the stage says now, as the form must say too. Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    if not fields.raw("seen"):
        raise MissingVersion("This signature does not say what it was given on. Load the page again.")
    by = _name(fields)
    if fields.raw("seen") != seen:
        fields.refuse("sign", "Something of this stage changed since it was shown. Read it again.", "")
    fields.done()
    return by


def taking_back(typed: Mapping[str, str]) -> BackForm:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    form = BackForm(
        version, _name(fields), fields.text("reason", "The reason", most=MOST_REASON, required=True)
    )
    fields.done()
    return form


def looks(typed: Mapping[str, str], closed: Mapping[str, str]) -> tuple[str, tuple[str, ...]]:
    """Who looked, and at which connections. closed: the state of each that is closed, by item; a form tells
    in which state it was seen, so that a look that comes late counts for nothing else. Raises BadInput.
    """
    fields = Fields(typed)
    by = _name(fields)
    ticked = [name.removeprefix("look.") for name in typed if name.startswith("look.") and fields.raw(name)]
    if not ticked:
        fields.refuse("looks", "No connection is ticked.", "at least one that you followed to both ends")
    if any(closed.get(one) != fields.raw(f"look.{one}") for one in ticked):
        message = "One of them was opened or changed since. Nothing is noted: look at it again."
        fields.refuse("looks", message, "connections as they are now")
    fields.done()
    return by, tuple(ticked)


def _name(fields: Fields) -> str:
    return " ".join(fields.text("by", "The name", most=MOST_NAME, required=True).split())
