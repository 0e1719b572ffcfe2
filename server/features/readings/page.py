"""What was measured at a port and what is still to measure, as values for its page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from server.core.measure.conditions import MockUpOutcome, SeenFrom, Stance, Warmth
from server.core.measure.estimate import Combined, Estimate
from server.core.measure.instruments import instrument
from server.core.measure.opening import DIMENSIONS, FLAP_SIZES, WITH_FLAP, Reading, instruments_of
from server.core.tube.port import PortFacts
from server.core.units import Kind, System
from server.features.photos.page import Album
from server.web import urls
from server.web.view import Option, Quantity

READINGS_SHOWN = 12


@dataclass(frozen=True, slots=True)
class Size:
    """One size of a port, all its readings taken together; `warning` where they disagree."""

    label: str
    value: Quantity
    warning: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class DimensionLink:
    """A dimension to measure: `wanted` ones are still missing, `here` is the one that the form asks for."""

    code: str
    href: str
    label: str
    here: bool
    wanted: bool


@dataclass(frozen=True, slots=True)
class ReadingEntry:
    """The form for a new reading of one dimension."""

    dimension: str
    label: str
    hint: str
    last: str
    instruments: tuple[Option, ...]
    instrument: str
    asks_conditions: bool
    outcomes: tuple[Option, ...]
    stances: tuple[Option, ...]
    warmths: tuple[Option, ...]
    views: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading as it was taken."""

    id: int
    label: str
    typed: str
    value: Quantity | None
    meaning: str
    instrument: str
    taken_at: datetime
    taken_by: str
    conditions: str
    note: str
    withdrawn: bool
    photos: Album


def length(estimate: Estimate, system: System) -> Quantity:
    return Quantity.of(estimate.value, Kind.length, system, estimate.doubt or None)


def next_dimension(port: PortFacts, readings: Sequence[Reading], measure: str) -> str:
    """The dimension asked for; else the first still missing; else the one measured last."""
    if measure in DIMENSIONS:
        return measure
    if port.wanted:
        return port.wanted[0]
    return readings[0].dimension if readings else "bore"


def combined_size(size: str, all_of_it: Combined, system: System) -> Size:
    return Size(
        label=DIMENSIONS[size],
        value=length(all_of_it.estimate, system),
        warning="" if all_of_it.agree else all_of_it.note,
        note=all_of_it.note if all_of_it.agree else "",
    )


def contradiction(sizes: Mapping[str, Combined]) -> str:
    """A bore that the outside has no room for, in words; empty where nothing is wrong."""
    bore, outside = sizes.get("bore"), sizes.get("outside_diameter")
    if bore is None or outside is None or bore.value < outside.value:
        return ""
    return "The bore is not less than the outside diameter, so one of the two is wrong. Measure both again."


def entry(dimension: str, readings: Sequence[Reading], system: System) -> ReadingEntry:
    fitting = instruments_of(dimension)
    codes = [one.code for one in fitting]
    same = [reading for reading in readings if reading.dimension == dimension]
    alike = same + [reading for reading in readings if reading.dimension not in ("gap", dimension)]
    used = next((reading.instrument for reading in alike if reading.instrument in codes), "")
    before = next((reading for reading in same + list(readings) if not reading.withdrawn), None)
    unit = "mm" if system is System.metric else "inches"
    return ReadingEntry(
        dimension=dimension,
        label=DIMENSIONS[dimension].capitalize(),
        hint="" if dimension == "mock_up" else f"a bare number is {unit}; 3 1/4 in or 82,5 mm will do",
        last=_last(before, system),
        instruments=tuple(Option(one.code, one.name) for one in fitting),
        instrument=used or (codes[0] if codes else ""),
        asks_conditions=dimension in ("gap", "mock_up"),
        outcomes=_named(MockUpOutcome),
        stances=_named(Stance),
        warmths=_named(Warmth),
        views=_named(SeenFrom),
    )


def _named(words: type[StrEnum]) -> tuple[Option, ...]:
    """The members of an enum by name, as stored, and label; "not stated" first where there is one."""
    options = [Option(name, one.value) for name, one in words.__members__.items()]
    return tuple(sorted(options, key=lambda option: option.value != "not_stated"))


def _last(reading: Reading | None, system: System) -> str:
    """The last reading of the same dimension, else of any, to keep in sight while typing."""
    if reading is None:
        return ""
    value = None if reading.mock_up else _value(reading, system)
    told = reading.words if value is None else f"{value.text} · {value.other}"
    return f"{DIMENSIONS[reading.dimension]} {told}"


def _value(reading: Reading, system: System) -> Quantity | None:
    if reading.value is None:
        return None
    return Quantity.of(reading.value, Kind.length, system, reading.doubt)


def reading_line(reading: Reading, system: System, now: datetime, photos: Album) -> ReadingLine:
    meaning = ""
    if reading.dimension == "circumference" and reading.size is not None:
        meaning = f"outside diameter {length(reading.size[1], system).text}, string 1 mm thick"
    return ReadingLine(
        id=reading.id,
        label=DIMENSIONS[reading.dimension],
        typed=reading.words,
        value=_value(reading, system),
        meaning=meaning,
        instrument=instrument(reading.instrument).name if reading.instrument else "offered up",
        taken_at=reading.taken_at.astimezone(now.tzinfo),
        taken_by=reading.taken_by,
        conditions="" if reading.conditions is None else reading.conditions.label,
        note=reading.note,
        withdrawn=reading.withdrawn,
        photos=photos,
    )


def dimension_links(build_id: int, port: PortFacts, here: str) -> tuple[DimensionLink, ...]:
    """What can be measured at the port; `here`: what the form asks for now."""
    return tuple(
        DimensionLink(
            code, urls.port_measuring(build_id, port.id, code), label, code == here, code in port.wanted
        )
        for code, label in DIMENSIONS.items()
        if code not in FLAP_SIZES or port.medium == WITH_FLAP or code in port.sizes
    )


def what_photos_show(readings: Sequence[Reading]) -> tuple[Option, ...]:
    """What a new photo may show: the port, or one of its newest readings."""
    newest = (
        Option(str(one.id), f"the reading {DIMENSIONS[one.dimension]} {one.words}")
        for one in readings[:READINGS_SHOWN]
    )
    return (Option("", "the port"), *newest)
