"""What the builder types about lines, connection points, devices and spaces."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from server.core.lines.ledger import SIDES, Closing, Device, LineKind, Medium
from server.core.lines.states import Kind as SpaceKind
from server.core.units import Kind, System
from server.features.ledger.page import LABELS, CutWord, Way
from server.web.fields import Fields

HIGHEST_TAG = 9999
Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Offered:
    """What an entry may name, besides itself.

    spaces: those that stand. points: those that no other line joins. tags: taken by other lines. kinds: of
    the other spaces.
    """

    spaces: Collection[int] = ()
    points: Collection[int] = ()
    tags: Collection[int] = ()
    kinds: Collection[str] = ()


@dataclass(slots=True)
class _Reading:
    """A form while it is read."""

    fields: Fields
    system: System
    values: Values = field(default_factory=dict)

    def text(self, name: str, most: int, *, required: bool = False) -> None:
        self.values[name] = self.fields.text(name, LABELS[name], most=most, required=required)

    def choice(self, name: str, allowed: list[str], default: str | None = None) -> None:
        self.values[name] = self.fields.choice(name, LABELS[name], allowed, default=default)

    def row(self, name: str, allowed: Collection[int], *, required: bool = False) -> None:
        self.values[name] = self.fields.row_id(name, LABELS[name], list(allowed), required=required)

    def length(self, name: str, least: float, most: float, accepts: str) -> None:
        self._quantity(
            name, Kind.length, "mm" if self.system is System.metric else "in", least, most, accepts
        )

    def heat(self, name: str) -> None:
        accepts = "a temperature from 40 to 1300 °C, such as 150 °C or 300 °F"
        unit = "°C" if self.system is System.metric else "°F"
        self._quantity(name, Kind.temperature, unit, 313.15, 1573.15, accepts)

    def _quantity(self, name: str, kind: Kind, unit: str, least: float, most: float, accepts: str) -> None:
        raw = self.fields.raw(name)
        if len(raw) > 40:
            self.fields.refuse(name, f"{LABELS[name]} is {len(raw)} characters long.", accepts)
            return
        found = self.fields.quantity(
            name, LABELS[name], kind, unit=unit, least=least, most=most, accepts=accepts
        )
        self.values |= {name: None if found is None else found.value, f"{name}_typed": raw}


def entry_form(sort: str, typed: Mapping[str, str], system: System, offered: Offered, by: str) -> Values:
    """Values of the columns of a line, point, device or space. by: who types. Raises BadInput."""
    form = _Reading(Fields(typed), system)
    {"line": _line, "point": _point, "device": _device, "space": _space}[sort](form, offered)
    if sort == "point":
        form.values["by"] = by if form.values["closing"] != Closing.OPEN else ""
    form.fields.done()
    return form.values


def _line(form: _Reading, offered: Offered) -> None:
    form.text("name", 80, required=True)
    form.choice("medium", list(Medium))
    form.choice("kind", list(LineKind), LineKind.HOSE)
    tag = form.fields.whole("tag", LABELS["tag"], least=1, most=HIGHEST_TAG)
    if tag in offered.tags:
        form.fields.refuse("tag", f"Number {tag} is on another line.", "one that is free, or none")
    form.values["tag"] = tag or 0
    form.row("first_id", offered.points)
    form.row("second_id", offered.points)
    if form.values["first_id"] is not None and form.values["first_id"] == form.values["second_id"]:
        form.fields.refuse("second_id", "Both ends are on one point.", "another point, or none")
    form.length("size", 0.0005, 0.2, "a bore from 0.5 mm to 200 mm, such as 4 mm or 5/16 in")
    form.text("clamp", 80)
    form.heat("rating")


def _point(form: _Reading, offered: Offered) -> None:
    form.text("name", 80, required=True)
    form.row("space_id", offered.spaces, required=True)
    form.choice("medium", list(Medium))
    form.choice("closing", list(Closing), Closing.OPEN)
    form.text("reason", 300, required=form.values["closing"] == Closing.REMOVED)
    form.length("size", 0.0005, 0.2, "a diameter from 0.5 mm to 200 mm, such as 8 mm or 5/16 in")
    form.length("height", -1.0, 3.0, "a height from -1 m to 3 m, such as 620 mm")


def _device(form: _Reading, offered: Offered) -> None:
    form.choice("kind", list(Device))
    form.text("name", 80, required=True)
    form.row("first_id", offered.spaces, required=True)
    form.row("second_id", offered.spaces, required=True)
    form.row("third_id", offered.spaces)
    three = SIDES.get(Device(form.values["kind"]), 2) == 3
    third = form.values["third_id"]
    if three and third is None:
        form.fields.refuse("third_id", "A three-way solenoid has a third side.", "the space it joins driven")
    elif third is not None and not three:
        form.fields.refuse("third_id", "Only a three-way solenoid has a third side.", "none")
    form.choice("way", ["", *Way], "")
    form.row("signal_id", offered.spaces)


def _space(form: _Reading, offered: Offered) -> None:
    form.choice("kind", list(SpaceKind))
    kind = form.values["kind"]
    if kind == SpaceKind.ATMOSPHERE and kind in offered.kinds:
        form.fields.refuse("kind", "The open air is in the ledger already.", "another kind of space")
    form.text("name", 80)
    form.values["name"] = form.values["name"] or kind
    form.heat("hottest")


@dataclass(frozen=True, slots=True)
class Out:
    """How a line is taken out, and the version of it that this was said of."""

    version: int
    closing: Closing
    reason: str


def out_form(typed: Mapping[str, str]) -> Out:
    """Raises BadInput, MissingVersion."""
    fields = Fields(typed)
    version = fields.version()
    closing = fields.choice("closing", LABELS["closing"], [Closing.CAPPED, Closing.REMOVED])
    reason = fields.text("reason", LABELS["reason"], most=300, required=True)
    fields.done()
    return Out(version, Closing(closing), reason)


def cut_form(typed: Mapping[str, str]) -> tuple[int, str]:
    """The version that it was said on, 0 for the first time, and what was said. Raises BadInput."""
    fields = Fields(typed)
    version = fields.version()
    said = fields.choice("over_boost_cut", LABELS["over_boost_cut"], ["", *CutWord], default="")
    fields.done()
    return version, said
