"""Where ports are: one port with its readings and a form, and all ports of a build with their datum."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, ClassVar

from server.core.measure.instruments import instrument
from server.core.tube.port import PortFacts
from server.core.tube.space.poses import Level, Tilt
from server.core.tube.space.siting import FACING_WAYS, PLACE_WAYS, Found, Sight, Sights, Way
from server.core.units import Kind, System, show
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.places.page import (
    HINTS,
    LABELS,
    TAPE_INSTRUMENTS,
    WAYS,
    doubt_words,
    facing_words,
    place_words,
    sight_words,
)
from server.web import urls
from server.web.view import Caution, FormState, News, Option, Page, Undo

if TYPE_CHECKING:
    from server.features.places.tables import Datum, PoseReading

CAUTION = Caution(
    "WARNING",
    "Measure with the engine stopped and cold and the ignition off. Never reach under a car that stands on a"
    " jack alone: rigid stands, firm level ground, wheels chocked. The car maker's manual and local rules"
    " come first.",
)
NO_DATUM = "not said yet"


@dataclass(frozen=True, slots=True)
class WayLink:
    """One way to read, as a link that changes the form."""

    href: str
    label: str
    here: bool


@dataclass(frozen=True, slots=True)
class PoseLine:
    """One reading. counts: it is the newest of its kind that stands."""

    id: int
    label: str
    read: str
    instrument: str
    taken_at: datetime
    taken_by: str
    note: str
    counts: bool
    withdrawn: bool


@dataclass(frozen=True, kw_only=True)
class PlacePage(Page):
    """Where one port is and which way it faces: what is known, a form for a reading, the readings."""

    template: ClassVar[str] = "placing/place.html"
    fragments: ClassVar[dict[str, str]] = {"placing": "placing"}

    build_id: int
    id: int
    number: int
    name: str
    datum: str
    place: str
    place_doubt: str
    facing: str
    facing_doubt: str
    point: tuple[float, ...]
    """Forward, left and up of the datum [m]; empty where not known."""
    direction: tuple[float, ...]
    """Unit direction out of the opening [-]; empty where not known."""
    way: str
    way_label: str
    place_ways: tuple[WayLink, ...]
    facing_ways: tuple[WayLink, ...]
    unit: str
    labels: dict[str, str]
    hints: dict[str, str]
    instruments: tuple[Option, ...]
    levels: tuple[Option, ...]
    tilts: tuple[Option, ...]
    hooks: tuple[Option, ...]
    others: tuple[Option, ...]
    """Ports with a place, to be read from."""
    readings: tuple[PoseLine, ...]
    news: News | None
    form: FormState
    caution: Caution = CAUTION


def place_page(
    *,
    build: Face,
    now: datetime,
    port: PortFacts,
    ports: Mapping[int, str],
    found: Mapping[int, Found],
    datum: "Datum | None",
    rows: Sequence[tuple["PoseReading", Sight]],
    counting: Sights,
    way: str,
    refused: Refused | None,
    told: str,
) -> PlacePage:
    """found: of every port; rows: this port's readings, newest first; counting: those that count."""
    own = found.get(port.id, Found())
    chosen = Way(way) if way in list(Way) else _next_way(own)
    others = tuple(
        Option(str(key), name) for key, name in ports.items() if key != port.id and _placed(found, key)
    )
    lines = tuple(_line(row, sight, ports, counting, build.system) for row, sight in rows)
    return PlacePage(
        **heading(build, f"Port {port.number}", now.date(), within="Ports"),
        build_id=build.id,
        id=port.id,
        number=port.number,
        name=port.name,
        datum=datum.words if datum is not None else NO_DATUM,
        place=place_words(own.place, build.system) if own.place is not None else "",
        place_doubt=doubt_words(own.place, build.system) if own.place is not None else "",
        facing=facing_words(own.facing, build.system) if own.facing is not None else "",
        facing_doubt=_facing_doubt(own, build.system),
        point=tuple(map(float, own.place.point)) if own.place is not None else (),
        direction=tuple(map(float, own.facing.way)) if own.facing is not None else (),
        way=chosen.value,
        way_label=WAYS[chosen],
        place_ways=_links(build.id, port.id, PLACE_WAYS, chosen),
        facing_ways=_links(build.id, port.id, FACING_WAYS, chosen),
        unit="mm" if build.system is System.metric else "in",
        labels=LABELS,
        hints=HINTS,
        instruments=tuple(Option(code, instrument(code).name) for code in TAPE_INSTRUMENTS),
        levels=tuple(Option(way, way) for way in Level),
        tilts=tuple(Option(tilt, tilt) for tilt in Tilt),
        hooks=(Option("datum", "the datum"), *others, Option("typed", "a point, typed below")),
        others=others,
        readings=lines,
        news=_told(build.id, port.id, lines, told),
        form=FormState.of(refused),
    )


def _placed(found: Mapping[int, Found], port: int) -> bool:
    return port in found and found[port].place is not None


def _next_way(own: Found) -> Way:
    """The place first, then the facing, each in the plainest way."""
    return Way.WORDS if own.place is not None and own.facing is None else Way.OFFSETS


def _links(build_id: int, port_id: int, ways: Sequence[Way], here: Way) -> tuple[WayLink, ...]:
    return tuple(WayLink(urls.place_by(build_id, port_id, way), WAYS[way], way is here) for way in ways)


def _facing_doubt(own: Found, system: System) -> str:
    if own.facing is None:
        return ""
    aside, upright = (show(one, Kind.angle, system).text for one in (own.facing.aside, own.facing.upright))
    return f"± {aside} sideways, ± {upright} up and down"


def _line(
    row: "PoseReading", sight: Sight, ports: Mapping[int, str], counting: Sights, system: System
) -> PoseLine:
    return PoseLine(
        id=row.key,
        label=WAYS[sight.way],
        read=sight_words(sight, ports, system),
        instrument=instrument(row.instrument).name,
        taken_at=row.taken_at,
        taken_by=row.taken_by,
        note=row.note,
        counts=row.withdrawn_at is None and sight in (counting.place, counting.facing),
        withdrawn=row.withdrawn_at is not None,
    )


def _told(build_id: int, port_id: int, lines: Sequence[PoseLine], told: str) -> News | None:
    """A reading that was saved, withdrawn or put back."""
    line = next((one for one in lines if told == f"reading-{one.id}"), None)
    if line is None:
        return None
    where = urls.place_withdrawal(build_id, port_id, line.id)
    if line.withdrawn:
        return News(f"Withdrawn: {line.read}.", undo=Undo(where, (("to", "standing"),), "Put it back"))
    return News(f"Saved: {line.read}.", undo=Undo(where, (("to", "withdrawn"),), "Withdraw it"))


@dataclass(frozen=True, slots=True)
class PlacedPort:
    """One port of the list; texts are empty where not known."""

    number: int
    href: str
    name: str
    place: str
    facing: str


@dataclass(frozen=True, kw_only=True)
class PlacesPage(Page):
    """Where the ports of a build are: the datum, those with a pose, those without."""

    template: ClassVar[str] = "placing/places.html"

    build_id: int
    datum: str
    version: int
    said: bool
    placed: tuple[PlacedPort, ...]
    half: tuple[PlacedPort, ...]
    """With a place or a facing, not both."""
    without: tuple[PlacedPort, ...]
    form: FormState
    caution: Caution = CAUTION


def places_page(
    build: Face,
    today: date,
    datum: "Datum | None",
    ports: Sequence[PortFacts],
    found: Mapping[int, Found],
    refused: Refused | None,
) -> PlacesPage:
    lines = [(_placed_port(build, port, found.get(port.id, Found())), port) for port in ports]
    return PlacesPage(
        **heading(build, "Where ports are", today, within="Ports"),
        build_id=build.id,
        datum=datum.words if datum is not None else "",
        version=datum.version if datum is not None else 0,
        said=datum is not None,
        placed=tuple(line for line, _ in lines if line.place and line.facing),
        half=tuple(line for line, _ in lines if bool(line.place) != bool(line.facing)),
        without=tuple(
            line for line, port in lines if not line.place and not line.facing and port.role == "run end"
        ),
        form=FormState.of(refused),
    )


def _placed_port(build: Face, port: PortFacts, own: Found) -> PlacedPort:
    return PlacedPort(
        port.number,
        urls.place(build.id, port.id),
        port.name,
        place_words(own.place, build.system) if own.place is not None else "",
        facing_words(own.facing, build.system) if own.facing is not None else "",
    )
