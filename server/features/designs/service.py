"""What the designs of a build answer, and what they are made of."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import hypot

from sqlmodel import Session

from server.core.buying.part import PartFace
from server.core.checks.answer import Answers, answer_again, answer_figures
from server.core.checks.case import Case, EngineCase, MeterPlace, engine_case
from server.core.checks.figures import Figures
from server.core.checks.in_space import InCar, seen_in_car
from server.core.checks.limits import Changed
from server.core.checks.oil_feed import passed_by
from server.core.measure.estimate import Estimate
from server.core.tube.bill import Item, bill
from server.core.tube.port import AT_METER, PortFacts
from server.core.tube.run import EndForm, JointKind, JointPlan, Place, PortPlan, RunPlan, Stretch, variable
from server.core.tube.space.poses import PortPose
from server.core.tube.space.siting import Found
from server.core.tube.space.solids import Solid
from server.features.builds import service as builds
from server.features.builds import store as build_store
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.designs import store
from server.features.designs.store import DesignRows
from server.features.designs.tables import Concession, Design
from server.features.engine import service as engine
from server.features.engine.service import EngineNumbers
from server.features.figures.page import Conceded
from server.features.figures.service import known_figures
from server.features.keepouts.service import known_solids
from server.features.limits.service import changed_limits
from server.features.neighbours import store as neighbours
from server.features.parts import service as parts
from server.features.places.service import known_places
from server.features.ports import service as ports
from server.features.runs import store as run_store
from server.features.verdicts.page import DesignStanding, standing

METER_BORE_DOUBT = 0.0001
"""Standard uncertainty of the air meter's bore as typed [m]; common practice, no source."""
NOT_TRIED = "not tried"


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What every design of a build is checked with: read once, used for all of them."""

    build_id: int
    meter_place: MeterPlace
    every_subsystem: Mapping[int, SubsystemFace]
    ports: tuple[PortFacts, ...]
    engine: EngineNumbers | None
    parts: tuple[PartFace, ...] = ()
    limits: tuple[Changed, ...] = ()
    figures: Mapping[int, Figures] = field(default_factory=dict)
    """Of what is fitted, by the number of its subsystem."""
    conceded: tuple[Conceded, ...] = ()
    """On what is fitted."""
    plans: Mapping[int, PortPlan] = field(default_factory=dict)
    """Each port as a run sees it, by its number."""
    tried: Mapping[int, str] = field(default_factory=dict)
    """Of each borrowed part, how trying it on went, by its number."""
    side_ports: tuple[PortFacts, ...] = ()
    coarse: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    """Of each port, how its sizes were taken where that was coarse, by its number."""
    found: Mapping[int, Found] = field(default_factory=dict)
    """Where each port is, as far as it is known, by its number."""
    solids: tuple[Solid, ...] = ()
    """What pipes must stay clear of."""

    @property
    def subsystems(self) -> dict[int, SubsystemFace]:
        """Those that were not set aside."""
        return {number: face for number, face in self.every_subsystem.items() if not face.removed}

    def conceded_on(self, subsystem_id: int) -> dict[str, Conceded]:
        """What was conceded on the figures of a subsystem, by rule code."""
        return {row.rule: row for row in self.conceded if row.subsystem_id == subsystem_id}


def surroundings(session: Session, build: BuildFace) -> Surroundings:
    """Read once for each state of the build."""
    return builds.kept(build, ("surroundings",), lambda: _surroundings(session, build))


def _surroundings(session: Session, build: BuildFace) -> Surroundings:
    faces = [build_store.subsystem_face(row) for row in build_store.every_subsystem(session, build.id)]
    facts = ports.known_ports(session, build)
    there_are = tuple(part for part in parts.known_parts(session, build) if not part.set_aside)
    fitted = known_figures(session, build)
    return Surroundings(
        build.id,
        MeterPlace(build.meter_place),
        {face.id: face for face in faces},
        facts,
        engine.engine_numbers(session, build),
        there_are,
        changed_limits(session, build),
        fitted.figures,
        fitted.conceded,
        {port.id: port_plan(port) for port in facts},
        {part.id: part.tried or NOT_TRIED for part in there_are if part.origin == "borrowed"},
        tuple(port for port in facts if port.role == "side port"),
        {port.id: port.coarse for port in facts},
        known_places(session, build),
        known_solids(session, build),
    )


def port_plan(facts: PortFacts) -> PortPlan:
    """A port as a run sees it."""
    return PortPlan(
        id=facts.id,
        name=facts.name,
        end_form=EndForm(facts.end_form),
        stretch=Stretch(facts.stretch),
        medium=facts.medium,
        material=facts.material,
        frame=facts.frame,
        is_meter=facts.medium == AT_METER,
        sizes=facts.sizes,
    )


def side_ports_of(around: Surroundings, rows: DesignRows) -> tuple[PortFacts, ...]:
    """The side ports that must find a place on this run: its subsystem's, and any other placed on it."""
    standing = {piece.id for piece in rows.run.pieces}
    placed = {bung.port_id for bung in rows.run.bungs if bung.piece_id in standing}
    return tuple(
        port
        for port in around.side_ports
        if port.subsystem_id == rows.design.subsystem_id or port.id in placed
    )


@dataclass(frozen=True, slots=True)
class _Seen:
    """What one design takes from its surroundings."""

    place: Place
    ends: tuple[PortPlan | None, ...]
    sides: tuple[PortPlan, ...]
    coarse: tuple[tuple[int, Mapping[str, str]], ...]
    found: tuple[Found, ...]
    """Of its two ends."""
    solids: tuple[Solid, ...]
    tried: Mapping[int, str]
    engine: EngineCase | None
    meter_bore: float | None
    limits: tuple[Changed, ...]
    conceded: tuple[Conceded, ...]
    figures: Figures


def _seen_by(rows: DesignRows, around: Surroundings) -> _Seen:
    design, subsystem = rows.design, around.every_subsystem[rows.design.subsystem_id]
    ends = (design.start_port_id or 0, design.end_port_id or 0)
    sides = [port.id for port in side_ports_of(around, rows)]
    return _Seen(
        place=Place(subsystem.kind),
        ends=tuple(around.plans.get(port) for port in ends),
        sides=tuple(around.plans[port] for port in sides),
        coarse=tuple((port, around.coarse.get(port, {})) for port in (*ends, *sides)),
        found=tuple(around.found.get(port, Found()) for port in ends),
        solids=around.solids,
        tried=around.tried,
        engine=engine_at(around, Place(subsystem.kind)),
        meter_bore=None if around.engine is None else around.engine.meter_bore,
        limits=around.limits,
        conceded=tuple(around.conceded_on(subsystem.id).values()),
        figures=figures_at(subsystem, around),
    )


def case_of(rows: DesignRows, around: Surroundings) -> Case:
    """A design as the checks see it; made anew where its rows or what it takes from around it changed."""
    seen = _seen_by(rows, around)
    name = ("case", rows.design.key)
    return builds.kept_while(around.build_id, name, (rows.told(), seen), lambda: _case(rows, seen))


def _case(rows: DesignRows, seen: _Seen) -> Case:
    bore = seen.meter_bore
    plan, laid = _run_of(rows, seen)
    return Case(
        plan=plan,
        engine=seen.engine,
        original_meter_bore=None if bore is None else Estimate(bore, METER_BORE_DOUBT),
        limits={one.limit.key: one.value for one in seen.limits},
        limit_reasons={one.limit.key: one.reason for one in seen.limits},
        concessions=_reasons((*seen.conceded, *rows.concessions)),
        taken_with={
            variable("port", port_id, size): how
            for port_id, sizes in seen.coarse
            for size, how in sizes.items()
        },
        figures=_with_fall(seen),
        lies=None if laid is None else laid.lies,
    )


def _with_fall(seen: _Seen) -> Figures:
    """A drain's fall by where its two ports are, unless it was typed; below zero where it runs uphill."""
    start, end = (one.place for one in seen.found)
    typed = "drain.fall" in seen.figures.numbers
    if seen.place != Place.OIL_DRAIN or typed or start is None or end is None:
        return seen.figures
    fall = float(start.point[2] - end.point[2])
    return seen.figures.taking("drain.fall", Estimate(fall, hypot(start.doubt[2], end.doubt[2])))


def _run_of(rows: DesignRows, seen: _Seen) -> tuple[RunPlan, InCar | None]:
    """A run with what stands near it, and where it lies in the car."""
    design, (start, end) = rows.design, seen.ends
    run = run_store.run_plan(rows.run, seen.place, start, end, seen.sides, design.meter_rescaled, seen.tried)
    near = neighbours.plans(rows.neighbours)
    plan = replace(run, neighbours=near, looked_round=design.looked_round)
    poses = [None if end is None else one.pose for end, one in zip(seen.ends, seen.found, strict=True)]
    laid = _laid(plan, poses, seen.solids)
    return plan if laid is None else replace(plan, neighbours=(*near, *laid.near)), laid


def in_car_of(plan: RunPlan, around: Surroundings) -> InCar | None:
    """Where a run lies in the car; None where one of its two ports has no pose."""
    ends = [port.id if port is not None else 0 for port in (plan.start, plan.end)]
    return _laid(plan, [around.found.get(port, Found()).pose for port in ends], around.solids)


def _laid(plan: RunPlan, ends: Sequence[PortPose | None], solids: Sequence[Solid]) -> InCar | None:
    start, end = ends
    if start is None or end is None or not plan.pieces:
        return None
    return seen_in_car(plan, start, end, solids)


def figures_at(subsystem: SubsystemFace, around: Surroundings) -> Figures:
    """What was typed of a subsystem, and what another sheet of the build tells about it.

    A drain takes what the one oil feed's restrictor passes, unless that was typed on its own sheet.
    """
    own = around.figures.get(subsystem.id, Figures())
    if subsystem.kind != Place.OIL_DRAIN or "drain.flow" in own.numbers:
        return own
    feeds = [one.id for one in around.subsystems.values() if one.kind == Place.OIL_FEED]
    told = [flow for one in feeds if (flow := passed_by(around.figures.get(one, Figures()))) is not None]
    return own.taking("drain.flow", told[0]) if len(told) == 1 else own


def figure_case(subsystem: SubsystemFace, around: Surroundings) -> Case:
    """What is fitted in a subsystem, as the checks see it where no run is needed."""
    place = Place(subsystem.kind)
    return Case(
        plan=RunPlan(place, None, None, (), (JointPlan(0, JointKind.HOSE_AND_CLAMP),)),
        engine=engine_at(around, place),
        limits={one.limit.key: one.value for one in around.limits},
        limit_reasons={one.limit.key: one.reason for one in around.limits},
        concessions=_reasons(around.conceded_on(subsystem.id).values()),
        figures=figures_at(subsystem, around),
    )


def _reasons(conceded: Iterable[Concession | Conceded]) -> dict[str, str]:
    """Why each rule was conceded, by its code."""
    return {row.rule: row.reason for row in conceded}


def figure_answers(subsystem: SubsystemFace, around: Surroundings) -> Answers:
    """The checks of what is fitted, worked out once for what they rest on."""
    case = figure_case(subsystem, around)
    return builds.kept_while(
        around.build_id,
        ("figure answers", subsystem.id),
        (case,),
        lambda: answer_figures(case),
    )


def engine_at(around: Surroundings, place: Place) -> EngineCase | None:
    """The engine at its peak as the checks of a place see it; None without a sheet that gives one."""
    if around.engine is None:
        return None
    return _engine(around.engine, place, around.meter_place)


@lru_cache(maxsize=64)
def _engine(numbers: EngineNumbers, place: Place, meter_place: MeterPlace) -> EngineCase | None:
    """The engine as the checks of a place see it: the same for every design there."""
    return engine_case(
        numbers.sheet,
        place,
        efficiency_doubt=numbers.efficiency_doubt,
        boost_doubt=numbers.boost_doubt,
        bonnet_temperature=numbers.bonnet_temperature,
        meter_range=numbers.meter_range,
        meter_place=meter_place,
    )


@dataclass(frozen=True, slots=True)
class Checked:
    """A design as the checks see it, and what they answer; nothing for a run without pieces."""

    case: Case
    answers: Answers | None


def answers_of(rows: DesignRows, around: Surroundings) -> Answers | None:
    """Every check of a design, worked out once for what it rests on; none for a run without pieces."""
    return checked(rows, around).answers


def checked(rows: DesignRows, around: Surroundings) -> Checked:
    """The same with the case that was answered; after an edit, what that left alone is taken over."""
    case, name = case_of(rows, around), ("answers", rows.design.key)
    if not rows.run.pieces:
        return Checked(case, None)

    def make() -> Checked:
        again = builds.begun_from_last(around.build_id, name, lambda before: answer_again(case, before))
        return Checked(case, again)

    return builds.kept_while(around.build_id, name, (case,), make)


@dataclass(frozen=True, slots=True)
class Bill:
    """What a design is made of, and whose design it is."""

    subsystem_id: int
    subsystem_name: str
    design_id: int
    design_name: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Survey:
    """Every subsystem of a build: where it stands, and what its chosen design is made of.

    checked: the designs that are chosen or stand for their subsystem, by number.
    """

    standings: tuple[DesignStanding, ...]
    bills: tuple[Bill, ...]
    checked: Mapping[int, Checked]


def standings(session: Session, build: BuildFace) -> tuple[DesignStanding, ...]:
    """Where each subsystem stands: its chosen design, else its latest one."""
    return survey(session, build).standings


def survey(session: Session, build: BuildFace) -> Survey:
    """All designs of a build, read once for each state of it."""
    return builds.kept(build, ("survey",), lambda: _survey(session, build))


def _survey(session: Session, build: BuildFace) -> Survey:
    """Reads those designs alone that are chosen or stand for their subsystem."""
    around = surroundings(session, build)
    own: dict[int, list[Design]] = {number: [] for number in around.subsystems}
    for design in store.designs_of(session, build.id):
        if design.subsystem_id in own:
            own[design.subsystem_id].append(design)
    shown = {number: _shown([one for one in some if not one.pattern]) for number, some in own.items()}
    wanted = [one for number, some in own.items() for one in some if one.chosen or one is shown[number]]
    rows = store.rows_of(session, sorted(wanted, key=lambda design: design.key))
    answered = {number: checked(item, around) for number, item in rows.items()}
    bills = tuple(
        bill_of(item.design, answered[number].case.plan, around)
        for number, item in rows.items()
        if item.design.chosen
    )
    found = []
    for number, subsystem in around.subsystems.items():
        stands, answers = shown[number], None
        if stands is not None:
            answers = answered[stands.key].answers
        elif number in around.figures:
            answers = figure_answers(subsystem, around)
        count = sum(not one.pattern for one in own[number])
        found.append(standing(subsystem, stands, answers, count, build.system))
    return Survey(tuple(found), bills, answered)


def _shown(designs: Sequence[Design]) -> Design | None:
    """The design that stands for its subsystem: the chosen one, else the latest."""
    return next((one for one in designs if one.chosen), designs[-1] if designs else None)


def bill_of(design: Design, plan: RunPlan, around: Surroundings) -> Bill:
    """What one design is made of."""
    items = builds.kept_while(around.build_id, ("bill", design.key), (plan,), lambda: bill(plan))
    name = around.every_subsystem[design.subsystem_id].name
    return Bill(design.subsystem_id, name, design.key, design.name, items)
