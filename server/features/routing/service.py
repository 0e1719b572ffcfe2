"""Finding routes between two ports, and making a design of one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.buying.part import PartFace
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.flow import can_flow, flow_of
from server.core.checks.keep_clear import Kept, kept_clear, rooms
from server.core.checks.rule import HOT
from server.core.tube.bought import bend_of
from server.core.tube.centreline import lay_out
from server.core.tube.laid import (
    ONE_SIZE,
    Fit,
    LaidPiece,
    LaidRun,
    fit_of,
    laid_run,
    plans_of,
    typed_piece,
)
from server.core.tube.port import PortFacts
from server.core.tube.route.problem import Asked, BendKind, End, Route, Routes
from server.core.tube.route.ranked import worth_showing
from server.core.tube.route.search import find_routes
from server.core.tube.run import JointKind, PieceKind, Place, RunPlan
from server.core.tube.shorten import OVERLAP
from server.core.tube.space.in_car import in_car
from server.core.tube.space.keep_outs import room
from server.core.tube.space.poses import PortPose, flow_at
from server.core.tube.space.siting import Found
from server.core.tube.space.solids import Solid
from server.core.units import Kind, show
from server.errors import BadInput, Refused
from server.features.builds import service as builds
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.designing import service as designing
from server.features.designs.service import Surroundings, engine_at, surroundings
from server.features.keepouts.service import known_solids
from server.features.places.service import known_places
from server.features.proposing.forms import METALS, as_typed, taken
from server.features.proposing.service import gone, likely_ends, mark_of, usual
from server.features.routing import forms, page
from server.features.routing.forms import RouteForm
from server.features.runs import service as runs
from server.features.runs import store as run_store
from server.web.view import FormState


@dataclass(frozen=True, slots=True)
class _Ground:
    """What the routes of one subsystem are looked for in."""

    build: BuildFace
    subsystem: SubsystemFace
    around: Surroundings
    found: Mapping[int, Found]
    solids: tuple[Solid, ...]

    @property
    def limits(self) -> dict[str, float]:
        return {one.limit.key: one.value for one in self.around.limits}

    def port(self, port_id: int) -> PortFacts:
        return next(port for port in self.around.ports if port.id == port_id)

    def pose(self, port_id: int) -> PortPose | None:
        return self.found[port_id].pose if port_id in self.found else None

    @property
    def placed(self) -> list[PortFacts]:
        """Run ends with a pose."""
        return [port for port in self.around.ports if port.role == "run end" and self.pose(port.id)]


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A route with what it is made of."""

    route: Route
    run: LaidRun
    plan: RunPlan
    mark: str


@dataclass(frozen=True, slots=True)
class _Answer:
    """What was found, and what stands in the way at the ports themselves."""

    candidates: tuple[_Candidate, ...]
    kept: tuple[Kept, ...]
    reason: str
    notes: tuple[str, ...]


def _ground(session: Session, build_id: int, subsystem_id: int) -> _Ground:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    subsystem = builds.subsystem_face(session, build_id, subsystem_id)
    around = surroundings(session, build)
    return _Ground(build, subsystem, around, known_places(session, build), known_solids(session, build))


def routes_page(
    session: Session, build_id: int, subsystem_id: int, now: datetime, typed: Mapping[str, str]
) -> tuple[page.RoutesPage, bool]:
    """The sheet, with the routes where they are asked for, and whether what was asked is sound.

    Raises NotFound.
    """
    ground = _ground(session, build_id, subsystem_id)
    if "find" not in typed:
        return _page(session, ground, now, _usual(session, ground)), True
    try:
        form = forms.route_form(typed, [port.id for port in ground.placed])
    except BadInput as refused:
        return _page(session, ground, now, as_typed(typed, forms.NAMES), refused=refused), False
    return _page(session, ground, now, as_typed(typed, forms.NAMES), form), True


def refused_page(
    session: Session, build_id: int, subsystem_id: int, now: datetime, refused: Refused | None
) -> page.RoutesPage:
    """The sheet again after a route could not be taken. Raises NotFound."""
    ground = _ground(session, build_id, subsystem_id)
    typed = as_typed(refused.typed, forms.NAMES) if isinstance(refused, BadInput) else _usual(session, ground)
    return _page(session, ground, now, typed, taking=refused)


def take(session: Session, build_id: int, subsystem_id: int, typed: Mapping[str, str]) -> int:
    """Make a route the run of a new design; the design's number. Raises NotFound, BadInput."""
    ground = _ground(session, build_id, subsystem_id)
    form = forms.route_form(typed, [port.id for port in ground.placed])
    mark, name = taken(typed, "route")
    found = next((one for one in _answer(ground, form).candidates if one.mark == mark), None)
    if found is None:
        raise gone("route", "a place, a bend or a keep-out", typed)
    ends = {"start_port_id": str(form.start_port_id), "end_port_id": str(form.end_port_id)}
    design_id = designing.add_design(session, build_id, subsystem_id, {"name": name, **ends})
    parts = _bend_parts(ground, form)
    for piece, kind in _with_kinds(found):
        part = parts.get(kind) if kind is not None else None
        linked = {"part_id": str(part.id)} if part is not None else {}
        known = [part.id] if part is not None else []
        runs.add_piece(session, design_id, "", typed_piece(piece) | linked, known)
    _overlap_hoses(session, design_id)
    return design_id


def _with_kinds(found: _Candidate) -> list[tuple[LaidPiece, BendKind | None]]:
    """Each piece, with the bend that it is bought as."""
    kinds = iter(found.route.kinds)
    return [(one, next(kinds) if one.kind is PieceKind.BEND else None) for one in found.run.pieces]


def _overlap_hoses(session: Session, design_id: int) -> None:
    """Every hose covers what it is clamped on by the usual overlap."""
    rows = run_store.runs_of(session, [design_id])[design_id]
    for joint in rows.joints:
        if joint.kind == JointKind.HOSE_AND_CLAMP:
            typed = {"version": str(joint.version), "kind": joint.kind, "overlap": f"{OVERLAP * 1000:g} mm"}
            runs.edit_joint(session, design_id, joint.key, typed)


# What is asked, and what is found


def _bend_parts(ground: _Ground, form: RouteForm) -> dict[BendKind, PartFace]:
    """The cheapest part for each bend of the parts list that suits the tube."""
    found: dict[BendKind, PartFace] = {}
    for part in ground.around.parts if form.from_parts else ():
        bend = bend_of(f"{part.name}; {part.spec}") if part.kind == "bend" else None
        if (
            bend is None
            or abs(bend.outside - form.tube.outside) > ONE_SIZE
            or not _of_metal(part, form.tube.material)
        ):
            continue
        kind = BendKind(bend.radius, bend.angle, form.cut_down, bend.leg_in, bend.leg_out)
        before = found.get(kind)
        if before is None or _price(part) < _price(before):
            found[kind] = part
    return found


def _of_metal(part: PartFace, material: str) -> bool:
    """Whether a part's words name the metal, as "304 stainless" is one: its last word."""
    return material.rsplit(maxsplit=1)[-1] in f"{part.name} {part.spec}".casefold()


def _price(part: PartFace) -> float:
    return float("inf") if part.price_minor is None else float(part.price_minor)


def _answer(ground: _Ground, form: RouteForm) -> _Answer:
    start, end = ground.pose(form.start_port_id), ground.pose(form.end_port_id)
    if start is None or end is None:
        return _Answer((), (), "One of the two ports has no pose.", ())
    first, last = (_fit(ground.port(key)) for key in (form.start_port_id, form.end_port_id))
    frames = frozenset(str(ground.port(key).frame) for key in (form.start_port_id, form.end_port_id))
    doubt = max(float(one.place.doubt.max()) for one in (start, end))
    kept = tuple(kept_clear(solid, frames, ground.limits, doubt) for solid in ground.solids)
    asked = Asked(
        start=_end(start, first, starts=True),
        end=_end(end, last, starts=False),
        bends=(*_bend_parts(ground, form), *form.typed),
        shortest_straight=form.shortest,
        outside=form.tube.outside,
        most_bends=form.most_bends,
        keep_outs=tuple(one.shape for one in kept),
    )
    found: Routes = builds.kept_for("routes", asked, lambda: find_routes(asked))
    shown = worth_showing(found.found)
    made = tuple(_candidate(ground, form, route, asked, (first, last)) for route in shown)
    return _Answer(made, kept, found.reason, _notes(ground, form, kept, (start, end)))


def _fit(port: PortFacts) -> Fit:
    outside = port.sizes.get("outside_diameter")
    return fit_of(port.end_form, outside.value if outside is not None else None)


def _end(pose: PortPose, fit: Fit, *, starts: bool) -> End:
    """Where the route itself begins or ends: off the port, past what joins it."""
    flow = flow_at(pose.facing.way, starts=starts)
    return End(pose.place.point + (fit.taken + fit.straight) * pose.facing.way, flow)


def _candidate(
    ground: _Ground, form: RouteForm, route: Route, asked: Asked, fits: tuple[Fit, Fit]
) -> _Candidate:
    run = laid_run(route, asked.start.flow, form.tube, *fits)
    plans = ground.around.plans
    start, end = plans[form.start_port_id], plans[form.end_port_id]
    plan = RunPlan(Place(ground.subsystem.kind), start, end, *plans_of(run))
    return _Candidate(route, run, plan, mark_of(route.corners))


def _notes(
    ground: _Ground, form: RouteForm, kept: Sequence[Kept], poses: tuple[PortPose, PortPose]
) -> tuple[str, ...]:
    """What the builder has to know of what was asked."""
    notes = []
    for key, pose in zip((form.start_port_id, form.end_port_id), poses, strict=True):
        stands = room(pose.place.point[None], [one.shape for one in kept], 0.5 * form.tube.outside)
        for one, left in zip(kept, stands.tolist(), strict=True):
            if left < 0.0:
                short = show(-left, Kind.length, ground.build.system).text
                port = ground.port(key).name
                notes.append(f"{port} itself is {short} nearer to {one.solid.name} than is asked there.")
    unswept = [one.solid.name for one in kept if not one.swept]
    if unswept:
        names = ", ".join(unswept)
        notes.append(f"How far these swing was not said, the usual way of an engine is taken: {names}.")
    if Place(ground.subsystem.kind) in HOT:
        notes.append("A flex is not placed by itself: add it where the run changes frame.")
    return tuple(notes)


# The sheet


def _usual(session: Session, ground: _Ground) -> dict[str, str]:
    """What is asked until somebody says otherwise."""
    likely = usual(session, ground.build.id, ground.subsystem, ground.around.ports)
    return dict.fromkeys(forms.NAMES, "") | forms.USUAL | likely


def _page(
    session: Session,
    ground: _Ground,
    now: datetime,
    values: dict[str, str],
    form: RouteForm | None = None,
    *,
    refused: Refused | None = None,
    taking: Refused | None = None,
) -> page.RoutesPage:
    placed = ground.placed
    there = {port.id for port in placed}
    ends = likely_ends(session, ground.build.id, ground.subsystem.id, ground.around.ports)
    likely = [int(one) for one in ends if one]
    names = {port.id: port.name for port in ground.around.ports}
    answer = _answer(ground, form) if form is not None else _Answer((), (), "", ())
    return page.routes_page(
        build=ground.build,
        subsystem=ground.subsystem,
        today=now.date(),
        ports=[(port.id, port.name) for port in placed],
        without=[(key, names[key]) for key in likely if key not in there and key in names],
        bends=[part.name for part in _bend_parts(ground, form).values()] if form is not None else [],
        keep_outs=len(ground.solids),
        materials=METALS,
        values=values,
        asked=form is not None,
        routes=[
            _line(ground, form, answer.kept, one, at) for at, one in enumerate(answer.candidates, 1) if form
        ],
        reason=answer.reason,
        notes=answer.notes,
        form=FormState.of(refused),
        taking=FormState.of(taking),
    )


def _line(
    ground: _Ground, form: RouteForm, kept: Sequence[Kept], one: _Candidate, place: int
) -> page.RouteLine:
    start = ground.pose(form.start_port_id)
    line = lay_out(one.plan)
    pieces = in_car(line, start) if start is not None else ()
    prices = [
        part.price_minor if (part := _bend_parts(ground, form).get(kind)) is not None else None
        for kind in one.route.kinds
    ]
    known = [price for price in prices if price is not None]
    return page.route_line(
        ground.build,
        place,
        one.mark,
        one.route,
        len(one.run.pieces),
        line.length,
        _loss(ground, one.plan),
        sum(known) if known and len(known) == len(prices) else None,
        rooms(pieces, kept),
        page.sketch(pieces, form.tube.outside, [each.solid for each in kept]),
    )


def _loss(ground: _Ground, plan: RunPlan) -> float | None:
    """What the run takes off the pressure at the engine's peak [Pa], where that can be told."""
    facts = Facts.at_best(Case(plan, engine_at(ground.around, plan.place), limits=ground.limits))
    return flow_of(facts).loss if can_flow(facts) else None
