"""Routes from port to port: what is asked, and each one found with its pieces, loss, cost and sketch."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product
from typing import ClassVar

from server.core.checks.keep_clear import Room
from server.core.tube.route.problem import Route
from server.core.tube.space.in_car import PieceInCar
from server.core.tube.space.keep_outs import Capsule
from server.core.tube.space.solids import Solid
from server.core.tube.space.vectors import vector
from server.core.units import Kind, System, show
from server.features.builds.page import Face, heading
from server.features.verdicts.page import Subsystem
from server.web import urls
from server.web.route_sketch import RouteSketch, Shadow, route_sketch
from server.web.view import Caution, FormState, Option, Page, Quantity
from server.web.words import counted

LABELS = {
    "start_port_id": "From",
    "end_port_id": "To",
    "outside": "Outside diameter",
    "wall": "Wall",
    "material": "Material",
    "shortest": "Shortest straight between bends",
    "most_bends": "Bends at the most",
    "cut_down": "Bends may be cut down to less",
    "from_parts": "Bends of the parts list",
}
JUST = 0.001
"""Room over all that is asked that is as good as none [m]."""
SPARSE = 4
"""Every so many points of a centre line are drawn."""
CAUTION = Caution(
    "CAUTION",
    "A route is reckoned from poses and simple solids, each with its doubt: it is no proof that the pipe"
    " fits. Tack it, offer it up, look lock to lock and with the engine rocked before it is welded out."
    " Makers' clearances, local codes and licensed practice come first.",
)


@dataclass(frozen=True, slots=True)
class WithoutPose:
    """A port that has to be read before a route can end on it, and what is missing of it."""

    href: str
    name: str


@dataclass(frozen=True, slots=True)
class RouteLine:
    """One route. mark: by which it is taken; nearest: how much room is left beside the nearest keep-out."""

    mark: str
    title: str
    bends: str
    pieces: str
    length: Quantity
    loss: Quantity | None
    cost: str
    nearest: str
    sketch: RouteSketch


@dataclass(frozen=True, kw_only=True)
class RoutesPage(Page):
    """Routes between two ports of a subsystem."""

    template: ClassVar[str] = "routing/routes.html"

    build_id: int
    subsystem_id: int
    subsystem: str
    ports: tuple[Option, ...]
    without: tuple[WithoutPose, ...]
    """The likely ends that no pose is known of."""
    bends: tuple[str, ...]
    """Bends of the parts list that fit."""
    keep_outs: int
    labels: dict[str, str]
    materials: tuple[str, ...]
    values: dict[str, str]
    asked: bool
    routes: tuple[RouteLine, ...]
    reason: str
    notes: tuple[str, ...]
    form: FormState
    taking: FormState
    caution: Caution = CAUTION


def routes_page(
    *,
    build: Face,
    subsystem: Subsystem,
    today: date,
    ports: Sequence[tuple[int, str]],
    without: Sequence[tuple[int, str]],
    bends: Sequence[str],
    keep_outs: int,
    materials: Sequence[str],
    values: dict[str, str],
    asked: bool,
    routes: Sequence[RouteLine],
    reason: str,
    notes: Sequence[str],
    form: FormState,
    taking: FormState,
) -> RoutesPage:
    """ports: with a pose, by number and name; without: likely ends that have none."""
    return RoutesPage(
        **heading(build, f"{subsystem.letter} · {subsystem.name}", today, within="Subsystems", note="Routes"),
        build_id=build.id,
        subsystem_id=subsystem.id,
        subsystem=subsystem.name,
        ports=tuple(Option(str(key), name) for key, name in ports),
        without=tuple(WithoutPose(urls.place(build.id, key), name) for key, name in without),
        bends=tuple(bends),
        keep_outs=keep_outs,
        labels=LABELS,
        materials=tuple(materials),
        values=values,
        asked=asked,
        routes=tuple(routes),
        reason=reason,
        notes=tuple(notes),
        form=form,
        taking=taking,
    )


def route_title(route: Route, place: int) -> str:
    """E.g. "1 · 2 bends"."""
    count = len(route.kinds)
    return f"{place} · {counted(count, 'bend') if count else 'straight'}"


def bends_words(route: Route, system: System) -> str:
    """E.g. "90° R 90 mm; 42.3° of a 90° bend, R 90 mm"."""
    told = []
    for row, kind in zip(route.table.rows, route.kinds, strict=True):
        angle, whole = (show(one, Kind.angle, system).text for one in (row.angle, kind.angle))
        radius = show(kind.radius, Kind.length, system).text
        told.append(f"{angle} of a {whole} bend, R {radius}" if angle != whole else f"{angle}, R {radius}")
    return "; ".join(told)


def route_line(
    build: Face,
    place: int,
    mark: str,
    route: Route,
    pieces: int,
    length: float,
    loss: float | None,
    price_minor: int | None,
    beside: Sequence[Room],
    drawn: RouteSketch,
) -> RouteLine:
    """length: port to port [m]; loss: [Pa]; price_minor: of all its bends; beside: the least room first."""
    system = build.system
    return RouteLine(
        mark=mark,
        title=route_title(route, place),
        bends=bends_words(route, system),
        pieces=counted(pieces, "piece"),
        length=Quantity.of(length, Kind.length, system),
        loss=None if loss is None else Quantity.of(loss, Kind.pressure, system),
        cost=cost_words(price_minor, build.currency),
        nearest=room_words(beside[0], system) if beside else "",
        sketch=drawn,
    )


def room_words(room: Room, system: System) -> str:
    """The least room left beside a keep-out, over all that is asked there."""
    text, name = show(abs(room.left), Kind.length, system).text, room.kept.solid.name
    if 0.0 <= room.left < JUST:
        return f"just what is asked beside {name}"
    return f"{text} more than asked beside {name}" if room.left >= 0.0 else f"{text} too near to {name}"


def sketch(pieces: Sequence[PieceInCar], across: float, solids: Sequence[Solid]) -> RouteSketch:
    """A route drawn small. across: its outside diameter [m]."""
    points = [point for piece in pieces for point in piece.points[::SPARSE]]
    ends = [pieces[-1].points[-1]] if pieces else []
    line = [(float(x), float(y), float(z)) for x, y, z in (*points, *ends)]
    return route_sketch(line, across, [_shadow(one) for one in solids])


def _shadow(solid: Solid) -> Shadow:
    shape = solid.keep_out()
    if isinstance(shape, Capsule):
        start, end = ((float(x), float(y), float(z)) for x, y, z in (shape.start, shape.end))
        return Shadow((start, end), 2.0 * shape.radius, solid=False)
    corners = [
        shape.centre + (vector(signs) * shape.half_sizes) @ shape.axes
        for signs in product((-1.0, 1.0), repeat=3)
    ]
    return Shadow(tuple((float(x), float(y), float(z)) for x, y, z in corners), 0.0, solid=True)


def cost_words(price_minor: int | None, currency: str) -> str:
    """What the bends cost, where every one of them has a price."""
    return "" if price_minor is None else f"{price_minor // 100}.{price_minor % 100:02d} {currency} for bends"
