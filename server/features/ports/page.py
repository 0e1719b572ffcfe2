"""Ports and one port: what was measured, how sure it is, and what is still to measure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from server.core.measure.estimate import Combined
from server.core.measure.opening import DIMENSIONS, SIZES, WITH_FLAP, Reading
from server.core.tube.port import AT_METER, PortFacts
from server.core.tube.run import EndForm, Frame, Stretch
from server.core.tube.space.siting import Found
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.photos.page import Album
from server.features.places.page import facing_words, place_words
from server.features.readings.page import (
    READINGS_SHOWN,
    DimensionLink,
    ReadingEntry,
    ReadingLine,
    Size,
    combined_size,
    contradiction,
    dimension_links,
    entry,
    length,
    next_dimension,
    reading_line,
    what_photos_show,
)
from server.web import urls
from server.web.view import Caution, FormState, Link, News, Option, Page, Undo

ROLES = ("run end", "side port")
SHAPES = ("spigot", "hose", "flange", "V-band", "hole")
END_FORMS = tuple(form.value for form in EndForm if form is not EndForm.WELD)
_GASES = ("air", AT_METER, "crankcase breather", "boost or vacuum signal", "exhaust gas", WITH_FLAP)
MEDIA = (*_GASES, "oil", "coolant", "fuel", "other")
MATERIALS = ("aluminium", "steel", "stainless steel", "cast iron", "plastic", "silicone", "rubber")

LABELS = {
    "name": "Name",
    "role": "It is",
    "shape": "Shape",
    "end_form": "How it ends",
    "medium": "What flows there",
    "subsystem_id": "Subsystem",
    "stretch": "Has to stand",
    "material": "Material",
    "frame": "Moves with",
    "facing": "Faces",
    "note": "Note",
}

CAUTION = Caution(
    "WARNING",
    "Measure with the engine stopped and the ignition off. Exhaust and turbo burn long after. "
    "Never reach under a car that stands on a jack alone: rigid stands, firm level ground, wheels chocked. "
    "The car maker's manual and local rules come first.",
)


@dataclass(frozen=True, slots=True)
class PortLine:
    """One port of the list."""

    number: int
    href: str
    name: str
    about: str
    sizes: tuple[Size, ...]
    wanted: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PortChoices:
    """What the form of a port offers."""

    roles: tuple[Option, ...]
    shapes: tuple[Option, ...]
    end_forms: tuple[Option, ...]
    media: tuple[Option, ...]
    stretches: tuple[Option, ...]
    frames: tuple[Option, ...]
    subsystems: tuple[Option, ...]
    materials: tuple[str, ...] = MATERIALS


@dataclass(frozen=True, slots=True)
class PortFields:
    """What stands in the form of a port."""

    name: str = ""
    role: str = "run end"
    shape: str = "spigot"
    end_form: str = ""
    medium: str = "air"
    subsystem_id: str = ""
    stretch: str = "anywhere"
    material: str = ""
    frame: str = ""
    facing: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class PortsPage(Page):
    """Every opening of a build, and the form for one more."""

    template: ClassVar[str] = "ports/list.html"
    fragments: ClassVar[dict[str, str]] = {"ports": "ports"}

    id: int
    ports: tuple[PortLine, ...]
    total: int
    to_measure: int
    next: Link | None
    more: Link | None
    back: Link | None
    aside: tuple[Link, ...]
    """The ports set aside, each with the address where it is put back."""
    resting: tuple[PortLine, ...]
    """Ports of subsystems that are set aside: kept for runs that end on them, not asked for."""
    news: News | None
    fields: PortFields
    choices: PortChoices
    form: FormState


@dataclass(frozen=True, slots=True)
class Side:
    """What stands beside a port's sizes: pictures by reading (0: of the port), and two small forms."""

    albums: Mapping[int, Album]
    set_aside: bool
    picturing: FormState
    placing: FormState
    found: Found
    """Where it is."""
    counts: bool
    """Neither it nor its subsystem is set aside."""


@dataclass(frozen=True, kw_only=True)
class PortPage(Page):
    """One port: its sizes, a form for the next reading, its readings, and the port itself to edit."""

    template: ClassVar[str] = "ports/port.html"
    fragments: ClassVar[dict[str, str]] = {"measuring": "measuring"}

    id: int
    build_id: int
    version: int
    number: int
    name: str
    about: str
    where: str
    """Where it is and which way it faces; empty where neither is known."""
    counts: bool
    """It can be placed: neither it nor its subsystem is set aside."""
    sizes: tuple[Size, ...]
    wanted: tuple[str, ...]
    contradiction: str
    dimensions: tuple[DimensionLink, ...]
    entry: ReadingEntry
    readings: tuple[ReadingLine, ...]
    older: tuple[ReadingLine, ...]
    photos: Album
    shows: tuple[Option, ...]
    """What a new photo may show: the port, or one of its newest readings."""
    set_aside: bool
    news: News | None
    taking: FormState
    picturing: FormState
    placing: FormState
    fields: PortFields
    choices: PortChoices
    editing: FormState
    caution: Caution = CAUTION


PORTS_SHOWN = 25


def news_of(build: Face, port_id: int, ports: Sequence[PortFacts], aside: Sequence[Link]) -> News | None:
    """A port was set aside or put back, with the way back."""
    where = urls.port_removal(build.id, port_id)
    gone = next((link for link in aside if link.href == where), None)
    if gone is not None:
        undo = Undo(where, (("to", "back"),), "Put it back")
        return News(f"Set aside: {gone.text}.", "Its readings are kept with it.", undo=undo)
    port = next((one for one in ports if one.id == port_id), None)
    if port is None:
        return None
    return News(f"Put back: {port.name}.", undo=Undo(where, (("to", "aside"),), "Set it aside"))


def ports_page(
    build: Face,
    today: date,
    ports: Sequence[PortFacts],
    subsystems: Mapping[int, str],
    refused: Refused | None,
    news: News | None = None,
    aside: Sequence[Link] = (),
    start: int = 0,
) -> PortsPage:
    """subsystems: names of those that count; start: how many ports to pass over."""
    counting = [port for port in ports if port.subsystem_id is None or port.subsystem_id in subsystems]
    there = {port.id for port in counting}
    resting = [port for port in ports if port.id not in there]
    unfinished = [port for port in counting if port.wanted]
    start = start if start < len(counting) else 0
    stop = start + PORTS_SHOWN
    rest = min(len(counting) - stop, PORTS_SHOWN)
    following = None
    if unfinished:
        following = Link(urls.port(build.id, unfinished[0].id), f"Measure: {unfinished[0].name}")
    elif ports:
        words = "On to the designs" if subsystems else "Name what is to be made"
        following = Link(urls.subsystems(build.id), words)
    return PortsPage(
        **heading(build, "Ports", today),
        id=build.id,
        ports=tuple(_port_line(build, port, subsystems) for port in counting[start:stop]),
        total=len(counting),
        to_measure=len(unfinished),
        next=following,
        more=Link(urls.ports_from(build.id, stop), f"The next {rest}") if rest > 0 else None,
        back=Link(urls.ports_from(build.id, max(start - PORTS_SHOWN, 0)), "The ones before")
        if start
        else None,
        aside=tuple(aside),
        resting=tuple(_port_line(build, port, subsystems) for port in resting[:PORTS_SHOWN]),
        news=news,
        fields=PortFields(),
        choices=_choices(subsystems),
        form=FormState.of(refused),
    )


def _port_line(build: Face, port: PortFacts, subsystems: Mapping[int, str]) -> PortLine:
    return PortLine(
        number=port.number,
        href=urls.port(build.id, port.id),
        name=port.name,
        about=_about(port, subsystems),
        sizes=tuple(
            Size(DIMENSIONS[size], length(port.sizes[size], build.system))
            for size in SIZES
            if size in port.sizes
        ),
        wanted=_wanted(port),
    )


def _where(found: Found, build: Face) -> str:
    place = place_words(found.place, build.system) if found.place is not None else ""
    facing = f"faces {facing_words(found.facing, build.system)}" if found.facing is not None else ""
    return "; ".join(part for part in (place, facing) if part)


def _about(port: PortFacts, subsystems: Mapping[int, str]) -> str:
    """Role, shape, medium, place and subsystem in one line."""
    ending = "" if port.end_form.value in ("plain", port.shape) else f", {port.end_form.value}"
    parts = [port.role, f"{port.shape}{ending}", port.medium]
    if port.role == "side port":
        parts.append(port.stretch.value)
    if port.subsystem_id is not None and port.subsystem_id in subsystems:
        parts.append(subsystems[port.subsystem_id])
    return " · ".join(parts)


def _wanted(port: PortFacts) -> tuple[str, ...]:
    """The sizes to measure in words; a spigot's bore may be had from its wall."""
    either = port.shape == "spigot" and port.role == "run end"
    return tuple("wall or bore" if size == "bore" and either else DIMENSIONS[size] for size in port.wanted)


def _choices(subsystems: Mapping[int, str]) -> PortChoices:
    return PortChoices(
        roles=(Option("run end", "a run end"), Option("side port", "a side port, to find a place on a run")),
        shapes=_same(SHAPES),
        end_forms=(Option("", "as usual for its shape"), *_same(END_FORMS)),
        media=_same(MEDIA),
        stretches=_same(list(Stretch)),
        frames=tuple(Option(frame, frame or "not said yet") for frame in Frame),
        subsystems=(
            Option("", "not said yet"),
            *(Option(str(key), name) for key, name in subsystems.items()),
        ),
    )


def _same(words: Sequence[str]) -> tuple[Option, ...]:
    return tuple(Option(word, word) for word in words)


def _told(build: Face, port: PortFacts, readings: Sequence[Reading], told: str) -> News | None:
    """A reading that was saved, withdrawn or put back, a photo that was kept, or the port itself saved."""
    words = {"port": f"Saved: {port.name}.", "photo": "The photo is kept."}
    if told in words:
        return News(words[told])
    reading = next((one for one in readings if told == f"reading-{one.id}"), None)
    if reading is None:
        return None
    where = urls.reading_withdrawal(build.id, port.id, reading.id)
    text = f"{DIMENSIONS[reading.dimension]} {reading.words}"
    if reading.withdrawn:
        return News(f"Withdrawn: {text}.", undo=Undo(where, (("to", "standing"),), "Put it back"))
    return News(f"Saved: {text}.", undo=Undo(where, (("to", "withdrawn"),), "Withdraw it"))


def port_page(
    build: Face,
    now: datetime,
    port: PortFacts,
    fields: PortFields,
    sizes: Mapping[str, Combined],
    readings: Sequence[Reading],
    subsystems: Mapping[int, str],
    measure: str,
    editing: Refused | None,
    taking: Refused | None,
    side: Side,
    told: str = "",
) -> PortPage:
    """fields: what stands in the port's form; readings: newest first; sizes: those that stand, combined;
    told: what was just done, e.g. "reading-7" or "port".
    """
    dimension = next_dimension(port, readings, measure)
    lines = tuple(
        reading_line(reading, build.system, now, side.albums.get(reading.id, Album())) for reading in readings
    )
    return PortPage(
        **heading(build, f"Port {port.number}", now.date(), within="Ports"),
        id=port.id,
        build_id=build.id,
        version=port.version,
        number=port.number,
        name=port.name,
        about=_about(port, subsystems),
        where=_where(side.found, build),
        counts=side.counts,
        sizes=tuple(combined_size(size, sizes[size], build.system) for size in SIZES if size in sizes),
        wanted=_wanted(port),
        contradiction=contradiction(sizes),
        dimensions=dimension_links(build.id, port, dimension),
        entry=entry(dimension, readings, build.system),
        readings=lines[:READINGS_SHOWN],
        older=lines[READINGS_SHOWN:],
        photos=side.albums[0],
        shows=what_photos_show(readings),
        set_aside=side.set_aside,
        news=_told(build, port, readings, told),
        taking=FormState.of(taking),
        picturing=side.picturing,
        placing=side.placing,
        fields=fields,
        choices=_choices(subsystems),
        editing=FormState.of(editing),
    )
