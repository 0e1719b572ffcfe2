"""What can be done with designs: make, change, choose and concede them; and what they answer."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache

from sqlmodel import Session

from server.core.buying.part import PartFace
from server.core.checks.answer import Answers, answer
from server.core.checks.case import Case, EngineCase, MeterPlace, engine_case
from server.core.checks.register import RULES
from server.core.checks.rule import may_concede
from server.core.measure.estimate import Estimate
from server.core.tube.bill import Item, bill
from server.core.tube.drawing import Drawing
from server.core.tube.port import AT_METER, PortFacts
from server.core.tube.run import EndForm, Place, PortPlan, RunPlan, Stretch, variable
from server.core.units import System
from server.errors import BadInput, FieldError, Refused, Stale
from server.features.builds import service as builds
from server.features.builds import store as build_store
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.designs import forms, page, store
from server.features.designs.store import DesignRows
from server.features.designs.tables import Concession, Design
from server.features.engine import service as engine
from server.features.engine.service import EngineNumbers
from server.features.parts import service as parts
from server.features.ports import service as ports
from server.features.runs import service as runs
from server.features.runs import store as run_store
from server.features.verdicts.page import DesignStanding, standing, worst_by_piece
from server.web.fields import Fields
from server.web.view import FormState, Happening

METER_BORE_DOUBT = 0.0001
"""Standard uncertainty of the air meter's bore as typed [m]; common practice, no source."""
NOT_TRIED = "not tried"
PARTS_OFFERED = 100
"""A list of parts to link a piece to is hardly longer; the rest is found by name."""
CONCEDABLE = tuple(rule.code for rule in RULES if may_concede(rule))


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What every design of a build is checked with: read once, used for all of them."""

    build: BuildFace
    every_subsystem: Mapping[int, SubsystemFace]
    ports: tuple[PortFacts, ...]
    engine: EngineNumbers | None
    parts: tuple[PartFace, ...] = ()
    plans: Mapping[int, PortPlan] = field(default_factory=dict)
    """Each port as a run sees it, by its number."""

    @property
    def subsystems(self) -> dict[int, SubsystemFace]:
        """Those that were not set aside."""
        return {number: face for number, face in self.every_subsystem.items() if not face.removed}


def surroundings(session: Session, build: BuildFace) -> Surroundings:
    """Read once for each state of the build."""
    return builds.kept(build, ("surroundings",), lambda: _surroundings(session, build))


def _surroundings(session: Session, build: BuildFace) -> Surroundings:
    faces = [build_store.subsystem_face(row) for row in build_store.every_subsystem(session, build.id)]
    facts = ports.known_ports(session, build)
    return Surroundings(
        build,
        {face.id: face for face in faces},
        facts,
        engine.engine_numbers(session, build),
        tuple(part for part in parts.known_parts(session, build) if not part.set_aside),
        {port.id: port_plan(port) for port in facts},
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
        for port in around.ports
        if port.role == "side port" and (port.subsystem_id == rows.design.subsystem_id or port.id in placed)
    )


def case_of(rows: DesignRows, around: Surroundings) -> Case:
    """A design as the checks see it."""
    design = rows.design
    place = Place(around.every_subsystem[design.subsystem_id].kind)
    sides = side_ports_of(around, rows)
    touched = {design.start_port_id, design.end_port_id, *(port.id for port in sides)}
    numbers = around.engine
    meter_bore = None if numbers is None else numbers.meter_bore
    return Case(
        plan=run_store.run_plan(
            rows.run,
            place,
            around.plans.get(design.start_port_id or 0),
            around.plans.get(design.end_port_id or 0),
            [around.plans[port.id] for port in sides],
            design.meter_rescaled,
            {part.id: part.tried or NOT_TRIED for part in around.parts if part.origin == "borrowed"},
        ),
        engine=None if numbers is None else _engine(numbers, place, MeterPlace(around.build.meter_place)),
        original_meter_bore=None if meter_bore is None else Estimate(meter_bore, METER_BORE_DOUBT),
        concessions={row.rule: row.reason for row in rows.concessions},
        taken_with={
            variable("port", port.id, size): how
            for port in around.ports
            if port.id in touched
            for size, how in port.coarse.items()
        },
    )


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


def answers_of(rows: DesignRows, around: Surroundings) -> Answers | None:
    """Every check of a design, worked out once for what it rests on; none for a run without pieces."""
    if not rows.run.pieces:
        return None
    case = case_of(rows, around)
    return builds.kept_for("answers", case, lambda: answer(case))


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
    """Every subsystem of a build: where it stands, and what its chosen design is made of."""

    standings: tuple[DesignStanding, ...]
    bills: tuple[Bill, ...]


def standings(
    session: Session, build: BuildFace, around: Surroundings | None = None
) -> tuple[DesignStanding, ...]:
    """Where each subsystem stands: its chosen design, else its latest one. `around` where already read."""
    return survey(session, build, around).standings


def survey(session: Session, build: BuildFace, around: Surroundings | None = None) -> Survey:
    """All designs of a build, read once for each state of it. `around` where already read."""
    return builds.kept(build, ("survey",), lambda: _survey(session, around or surroundings(session, build)))


def _survey(session: Session, around: Surroundings) -> Survey:
    designs = store.designs_of(session, around.build.id)
    there = around.subsystems
    rows = store.rows_of(session, [one for one in designs if one.subsystem_id in there])
    bills = tuple(bill_of(item, around) for item in rows.values() if item.design.chosen)
    return Survey(_standings(rows, around), bills)


def bill_of(rows: DesignRows, around: Surroundings) -> Bill:
    """What one design is made of."""
    design = rows.design
    items = bill(case_of(rows, around).plan)
    name = around.every_subsystem[design.subsystem_id].name
    return Bill(design.subsystem_id, name, design.key, design.name, items)


def _standings(rows: Mapping[int, DesignRows], around: Surroundings) -> tuple[DesignStanding, ...]:
    build = around.build
    found = []
    for subsystem in around.subsystems.values():
        own = [
            item
            for item in rows.values()
            if item.design.subsystem_id == subsystem.id and not item.design.pattern
        ]
        shown = next((item for item in own if item.design.chosen), own[-1] if own else None)
        answers = answers_of(shown, around) if shown is not None else None
        design = shown.design if shown is not None else None
        found.append(standing(subsystem, design, answers, len(own), build.system))
    return tuple(found)


# What the builder does


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What was conceded, chosen and set aside, for the log, in two queries."""
    return page.happenings(build_id, store.conceded(session, build_id), store.every_design(session, build_id))


def add_design(session: Session, build_id: int, subsystem_id: int, typed: Mapping[str, str]) -> int:
    """A new design, with all pieces of the one it starts from, if any. Raises NotFound, BadInput."""
    builds.subsystem_face(session, build_id, subsystem_id)
    beside = {row.key: row for row in store.designs_of(session, build_id, subsystem_id)}
    form = forms.design_form(typed, run_ends(session, build_id), list(beside))
    source = beside.get(form.start_from or 0)
    row = Design(
        build_id=build_id,
        subsystem_id=subsystem_id,
        name=form.name,
        start_port_id=form.start_port_id or (source.start_port_id if source else None),
        end_port_id=form.end_port_id or (source.end_port_id if source else None),
        meter_rescaled=form.meter_rescaled,
        pattern=form.pattern,
    )
    return _start(session, row, source, beside.values())


def copy_design(session: Session, build_id: int, design_id: int, typed: Mapping[str, str]) -> int:
    """A new design with all pieces, side ports and joints of this one; the number it got.

    What was conceded stays behind: its reasons were about the other. Raises NotFound, BadInput.
    """
    source = store.load_design(session, build_id, design_id)
    row = Design(
        build_id=build_id,
        subsystem_id=source.subsystem_id,
        name=forms.copy_name(typed, source.name),
        start_port_id=source.start_port_id,
        end_port_id=source.end_port_id,
        meter_rescaled=source.meter_rescaled,
    )
    return _start(session, row, source, store.designs_of(session, build_id, source.subsystem_id))


def _start(session: Session, row: Design, source: Design | None, beside: Iterable[Design]) -> int:
    """Store a new design. The first one that can be built is the chosen one until there are others."""
    if not row.pattern and all(other.pattern for other in beside):
        row.chosen, row.chosen_because = True, "the only one so far"
    row.copied_from_id = source.key if source else None
    design_id = store.add(session, row)
    if source is None:
        runs.start_run(session, design_id)
    else:
        run_store.copy_run(session, store.rows_of(session, [source])[source.key].run, design_id)
    return design_id


def run_ends(session: Session, build_id: int) -> list[int]:
    """Numbers of the ports where a run may start or end."""
    return [port.id for port in ports.port_facts(session, build_id) if port.role == "run end"]


def edit_design(session: Session, build_id: int, design_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    before = store.load_design(session, build_id, design_id).model_dump()
    version = Fields(typed).version()
    form = forms.design_form(typed, run_ends(session, build_id), chosen=before["chosen"])
    values: dict[str, object] = {
        "name": form.name,
        "start_port_id": form.start_port_id,
        "end_port_id": form.end_port_id,
        "meter_rescaled": form.meter_rescaled,
        "pattern": form.pattern,
    }
    if not store.edit_design(session, design_id, version, values):
        names = {port.id: port.name for port in ports.port_facts(session, build_id)}
        raise Stale(page.design_clashes(values, before, names), typed)


def choose(session: Session, build_id: int, design_id: int, typed: Mapping[str, str], now: datetime) -> None:
    """Make this the design of its subsystem, or take that back with the reason. Raises NotFound, BadInput."""
    design = store.load_design(session, build_id, design_id)
    if Fields(typed).flag("withdraw"):
        store.unchoose(session, design, forms.withdrawal_reason(typed), now)
        return
    if design.pattern or design.removed_at is not None:
        what = "An old part entered as a pattern" if design.pattern else "A design that is set aside"
        error = FieldError("because", f"{what} can't be chosen.", "a design to be built: start one as a copy")
        raise BadInput((error,), typed)
    store.choose(session, design, forms.choice_reason(typed), now)


def set_aside(session: Session, build_id: int, design_id: int, now: datetime) -> None:
    """Raises NotFound; BadInput for the chosen one."""
    design = store.load_design(session, build_id, design_id)
    if design.chosen:
        error = FieldError("removal", "This design is chosen.", "say first that it is no longer chosen")
        raise BadInput((error,), {})
    store.set_removed(session, design, now)


def put_back(session: Session, build_id: int, design_id: int) -> None:
    """Raises NotFound."""
    store.set_removed(session, store.load_design(session, build_id, design_id), None)


def set_aside_designs(session: Session, build_id: int, subsystem_id: int) -> tuple[tuple[int, str], ...]:
    """Number and name of each design of a subsystem that was set aside, in one query."""
    rows = store.every_design(session, build_id, subsystem_id)
    return tuple((row.key, row.name) for row in rows if row.removed_at is not None)


def in_run(
    session: Session, build_id: int, design_id: int, change: Callable[[Session, int], int | None]
) -> str:
    """Change the run of a design of this build; the number of the piece to look at next, as text.

    Raises NotFound where the build has no such design, and whatever `change` raises.
    """
    store.load_design(session, build_id, design_id)
    piece_id = change(session, design_id)
    return "" if piece_id is None else str(piece_id)


def side_port_names(session: Session, build_id: int, design_id: int) -> dict[int, str]:
    """The side ports that may be placed on this design's run. Raises NotFound."""
    design = store.load_design(session, build_id, design_id)
    return {
        port.id: port.name
        for port in ports.port_facts(session, build_id)
        if port.role == "side port" and port.subsystem_id in {None, design.subsystem_id}
    }


def part_names(session: Session, build_id: int) -> dict[int, str]:
    """The parts that a piece may be linked to."""
    return {part.id: part.name for part in parts.part_faces(session, build_id)}


def shorten_piece(
    session: Session, build_id: int, design_id: int, piece_id: int, typed: Mapping[str, str], now: datetime
) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    build = builds.build_face(session, build_id)
    design = store.load_design(session, build_id, design_id)
    place = Place(builds.subsystem_face(session, build_id, design.subsystem_id).kind)
    runs.shorten_piece(session, design_id, piece_id, typed, page.joins(place), build.system, now)


def concede(session: Session, build_id: int, design_id: int, typed: Mapping[str, str], now: datetime) -> None:
    """Accept a performance check as it is, with the reason, or take that back. Raises NotFound, BadInput."""
    store.load_design(session, build_id, design_id)
    if Fields(typed).flag("withdraw"):
        store.withdraw_concession(session, design_id, typed.get("rule", ""))
        return
    form = forms.concession_form(typed, CONCEDABLE)
    store.withdraw_concession(session, design_id, form.rule)
    store.add(session, Concession(design_id=design_id, rule=form.rule, reason=form.reason, at=now))


def design_page(
    session: Session,
    build_id: int,
    design_id: int,
    now: datetime,
    look: page.Look,
    refused: Refused | None = None,
) -> page.DesignPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    design = store.load_design(session, build_id, design_id)
    around = surroundings(session, build)
    source = store.copied_from(session, design)
    every = store.rows_of(session, [design, *([source] if source else [])])
    rows = every[design_id]
    answers = answers_of(rows, around)
    plan = case_of(rows, around).plan
    began = (source.name, case_of(every[source.key], around).plan) if source else None
    return page.design_page(
        build=build,
        subsystem=around.every_subsystem[design.subsystem_id],
        rows=rows,
        plan=plan,
        answers=answers,
        drawing=_drawing(plan, answers, build.system),
        ports=around.ports,
        parts=[(str(part.id), part.name) for part in _parts_offered(around.parts, rows, look.find, refused)],
        parts_total=len(around.parts),
        began=began,
        today=now.date(),
        look=look,
        refused=refused,
    )


def _parts_offered(
    parts: Sequence[PartFace], rows: DesignRows, find: str, refused: Refused | None
) -> list[PartFace]:
    """The parts that this design has, and the one chosen in a form that was refused; then those with every
    word looked for, known sizes first.
    """
    if len(parts) <= PARTS_OFFERED:
        return list(parts)
    chosen = FormState.of(refused).text("part_id", "")
    linked = {part.id for part in parts if str(part.id) == chosen}
    linked |= {piece.part_id for piece in rows.run.pieces if piece.part_id is not None}
    words = find.casefold().split()
    others = [
        part
        for part in parts
        if part.id not in linked and all(word in part.name.casefold() for word in words)
    ]
    others.sort(key=lambda part: not part.spec)
    return [*(part for part in parts if part.id in linked), *others[:PARTS_OFFERED]]


def _drawing(plan: RunPlan, answers: Answers | None, system: System) -> Drawing:
    worst = worst_by_piece(answers)
    return builds.kept_for("drawing", (plan, worst, system), lambda: page.run_drawing(plan, worst, system))
