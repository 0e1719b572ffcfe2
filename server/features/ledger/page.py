"""What the ledger's fields are called, the form of one entry, and what to beware of at which lines."""

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from server.core.lines.ledger import Closing, Device, LineKind, Medium
from server.core.lines.states import Kind
from server.core.units import Kind as Sort
from server.core.units import System, show
from server.web.view import Caution, FormState, Option

if TYPE_CHECKING:
    from server.features.ledger.store import Rows
    from server.features.ledger.tables import Entry, LedgerLine


class Way(StrEnum):
    """Which way round a device is fitted, in words."""

    AS_DRAWN = "as its maker draws it"
    TURNED = "the other way round"


class CutWord(StrEnum):
    """What is known of the over-boost cut, in words."""

    PROVED = "proved"
    NONE = "there is none"


class Act(StrEnum):
    """What was done to a line or point at the car, in words."""

    OFF = "taken off"
    JOINED = "joined"
    OUT = "taken out"
    BACK = "put back in the car"
    CAPPED = "capped"
    REMOVED = "removed"
    OPEN = "opened"

    @classmethod
    def of(cls, closing: str) -> "Act":
        """The act after which a point is closed so."""
        return {Closing.CAPPED: cls.CAPPED, Closing.REMOVED: cls.REMOVED}.get(Closing(closing), cls.OPEN)


LOOSE = "hangs loose"
NOT_SAID = "nobody has said"
LABELS = {
    "name": "Its name",
    "medium": "What it carries",
    "kind": "What it is",
    "tag": "Number on both ends",
    "first_id": "First end",
    "second_id": "Second end",
    "third_id": "Third side",
    "size": "Size",
    "clamp": "Held by",
    "rating": "Made for heat up to",
    "space_id": "Opens into",
    "closing": "Where no line joins it",
    "reason": "Reason",
    "height": "Height above the datum",
    "way": "Fitted",
    "signal_id": "Worked by",
    "hottest": "As hot as",
    "over_boost_cut": "Over-boost cut",
}
CAUTION = Caution(
    "WARNING",
    "Fuel, brake and refrigerant lines, and emission parts, fall under local codes and licensed practice,"
    " which have the last word. Fuel pressure off and the battery’s earth off before a fuel line is opened;"
    " coolant and oil cold; never under a car on a jack alone.",
)
SORTS = {"line": "Line", "point": "Connection point", "device": "Valve or consumer", "space": "Space"}
FIELDS = {
    "line": ("name", "tag", "medium", "kind", "first_id", "second_id", "size", "clamp", "rating"),
    "point": ("name", "space_id", "medium", "closing", "reason", "size", "height"),
    "device": ("kind", "name", "first_id", "second_id", "third_id", "way", "signal_id"),
    "space": ("kind", "name", "hottest"),
}
HINTS = {
    "line": {
        "tag": "write it on tape, at both ends",
        "first_id": "none where it hangs loose",
        "second_id": "none where it hangs loose",
        "size": "bore",
        "clamp": "such as a worm-drive clamp, a banjo bolt",
        "rating": "off the hose, or its maker; empty where nobody knows",
    },
    "point": {
        "name": "where it is: Manifold, rear nipple",
        "reason": "wanted where it is removed; who did it is kept with it",
        "size": "across the spigot",
        "height": "of turbo coolant points: steam must rise out",
    },
    "device": {
        "first_id": "where it comes from, as its maker draws it",
        "second_id": "where it leads; of a three-way solenoid at rest",
        "third_id": "of a three-way solenoid, driven",
        "way": "blow through it, or look for the arrow",
        "signal_id": "of a bypass valve its signal, of a solenoid its plug",
    },
    "space": {
        "name": "empty: as its kind",
        "hottest": "what touches a hose there; empty: as usual of its kind",
    },
}


@dataclass(frozen=True, slots=True)
class EntryField:
    """One field of the form of an entry; options: what a list offers, none for a line of text."""

    name: str
    label: str
    value: str
    hint: str = ""
    unit: str = ""
    options: tuple[Option, ...] = ()


@dataclass(frozen=True, slots=True)
class EntryForm:
    """The form of a new entry, or of one that is there."""

    sort: str
    words: str
    id: int | None
    version: int
    fields: tuple[EntryField, ...]
    form: FormState


@dataclass(frozen=True, slots=True)
class CutForm:
    """Whether the over-boost cut is proved."""

    version: int
    value: str
    options: tuple[Option, ...]
    form: FormState


def entry_form_of(system: System, rows: "Rows", sort: str, edit: int | None, form: FormState) -> EntryForm:
    """The form of an entry, or of a new one where none has that number; its lists hold what may be chosen."""
    row = next((one for one in rows.of(sort) if one.key == edit), None)
    values = entry_values(sort, row)
    if row is None and sort == "line":
        values["tag"] = str(rows.next_tag())
    offered = options_for(sort, rows, row)
    length, heat = ("mm", "°C") if system is System.metric else ("in", "°F")
    units = {"size": length, "height": length, "rating": heat, "hottest": heat}
    return EntryForm(
        sort,
        SORTS[sort],
        row.key if row is not None else None,
        row.version if row is not None else 0,
        tuple(
            EntryField(
                name,
                LABELS[name],
                values[name],
                HINTS[sort].get(name, ""),
                units.get(name, ""),
                offered.get(name, ()),
            )
            for name in FIELDS[sort]
        ),
        form,
    )


def entry_values(sort: str, row: "Entry | None") -> dict[str, str]:
    """What stands in each field of an entry, as typed."""
    if row is None:
        return dict.fromkeys(FIELDS[sort], "")
    stored = row.model_dump()
    shown = {name: stored.get(f"{name}_typed", stored[name]) for name in FIELDS[sort]}
    return {name: "" if value in {None, 0} else str(value) for name, value in shown.items()}


def options_for(sort: str, rows: "Rows", row: "Entry | None") -> dict[str, tuple[Option, ...]]:
    """What the lists of a form offer. row: the entry itself, None for a new one."""
    spaces = tuple(Option(str(one.key), one.name) for one in rows.spaces if one.removed_at is None)
    none = (Option("", "none"),)
    if sort == "line":
        points = tuple(Option(str(one.key), one.name) for one in rows.free_points(row))
        ends = (Option("", LOOSE), *points)
        media = tuple(Option(one, one) for one in Medium)
        kinds = tuple(Option(one, one) for one in LineKind)
        return {"medium": media, "kind": kinds, "first_id": ends, "second_id": ends}
    if sort == "point":
        media, closings = (tuple(Option(one, one) for one in words) for words in (Medium, Closing))
        return {"medium": media, "space_id": spaces or none, "closing": closings}
    if sort == "device":
        ways = (Option("", "nobody has looked"), *(Option(one, one) for one in Way))
        devices = tuple(Option(one, one) for one in Device)
        sides = dict.fromkeys(("first_id", "second_id"), spaces or none)
        some = dict.fromkeys(("third_id", "signal_id"), none + spaces)
        return {"kind": devices, "way": ways} | sides | some
    return {"kind": tuple(Option(one, one) for one in Kind)}


def cut_form_of(rows: "Rows", form: FormState) -> CutForm:
    """The form that says whether the cut is proved."""
    options = tuple(Option(one, one or NOT_SAID) for one in ("", *CutWord))
    if rows.fact is None:
        return CutForm(0, "", options, form)
    return CutForm(rows.fact.version, rows.fact.over_boost_cut, options, form)


def line_detail(row: "LedgerLine", system: System) -> str:
    """What a line is, in a few words, with its sizes in the build's units."""
    size = show(row.size, Sort.length, system).text if row.size is not None else ""
    heat = f"up to {show(row.rating, Sort.temperature, system).text}" if row.rating is not None else ""
    return ", ".join(one for one in (row.medium, row.kind, size, row.clamp, heat) if one)
