"""What can be done at the gate before the first start, and its pages.

Every act takes the gate for itself first, and looks at it as it stands then: whatever two devices send, and
in whatever order, nothing is signed before the stage ahead of it.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.first_start.held import (
    Answered,
    check_holds,
    connections_of,
    cut_hold,
    leak_hold,
    line_holds,
    look_holds,
)
from server.core.first_start.holds import CALIBRATION, FIRST, StageHold, task_holds
from server.core.first_start.looks import Looked, looked
from server.core.first_start.stage import CarFacts, Stage
from server.core.first_start.standing import StageStanding, Word, stand
from server.core.first_start.whole import stages_of
from server.core.lines.ledger import Device, LineMap, Medium
from server.core.lines.states import Kind
from server.core.tube.run import Place
from server.errors import BadInput, FieldError, NotFound, Refused, Stale
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.connecting.service import known
from server.features.designs.service import Surroundings, Survey, figure_answers, surroundings, survey
from server.features.first_start import forms, page, store
from server.features.first_start.tables import StartEntry, StartLook, StartSignature
from server.features.leak_tests.service import last_passes
from server.features.ledger.store import map_of
from server.features.ledger.store import rows_of as ledger_rows
from server.features.work.service import known_afters
from server.web.view import Happening


@dataclass(frozen=True, slots=True)
class Gate:
    """The gate as it stands: its stages, and the rows that they were made of."""

    standings: tuple[StageStanding, ...]
    seen: page.Seen
    evidence: Mapping[str, dict[str, tuple[str, str]]]

    def of(self, code: str) -> StageStanding:
        """Raises NotFound where this car has no such stage."""
        found = next((one for one in self.standings if one.stage.code == code), None)
        if found is None:
            raise NotFound("The first start of this car has no such stage.")
        return found

    def seen_of(self, code: str) -> str:
        """Differs as soon as a tick, a figure, or what the stage rests on does."""
        entries = sorted((item, row.id) for (stage, item), row in self.seen.latest.items() if stage == code)
        return _digest((entries, sorted(self.evidence.get(code, {}).items())))


def gate_of(session: Session, build: BuildFace) -> Gate:
    """Worked out once for each state of the build."""
    return kept(build, ("first start",), lambda: _gate(session, build))


def _gate(session: Session, build: BuildFace) -> Gate:
    beside = kept(build, ("first start beside tasks",), lambda: _beside_tasks(session, build))
    tasks = store.tasks_of(session, build.id, lambda span: known_afters(session, build, span))
    book, evidence = beside.book, beside.evidence
    holds = (*beside.before, *task_holds(tasks), *beside.after)
    found = stand(beside.stages, book.entered(), book.signatures(), holds, evidence)
    return Gate(found, page.Seen(beside.connections, book.entries, book.signed), evidence)


@dataclass(frozen=True, slots=True)
class _BesideTasks:
    """What of the gate no tick changes. before, after: its holds, by where those of tasks stand."""

    book: store.Book
    connections: tuple[Looked, ...]
    before: tuple[StageHold, ...]
    after: tuple[StageHold, ...]
    evidence: Mapping[str, dict[str, tuple[str, str]]]
    stages: tuple[Stage, ...]


def _beside_tasks(session: Session, build: BuildFace) -> _BesideTasks:
    told, around = known(session, build), surroundings(session, build)
    designs, book = survey(session, build), store.book_of(session, build.id)
    connections = looked(connections_of(told.map, store.states_of(session, build.id)), book.looks)
    evidence = {
        FIRST: {one.connection.item: (one.connection.name, one.connection.state) for one in connections}
        | {
            f"design.{bill.subsystem_id}": (
                f"The chosen design of {bill.subsystem_name}",
                str(bill.design_id),
            )
            for bill in designs.bills
        },
        CALIBRATION: _of_calibration(build, around),
    }
    return _BesideTasks(
        book,
        connections,
        (
            *line_holds(told.answers, build.system),
            *look_holds(connections),
            *check_holds(_answered(designs, around), build.system),
        ),
        (
            *cut_hold(told.map),
            *leak_hold(_has_charge_side(around, told.map), last_passes(session, build.id)),
        ),
        evidence,
        stages_of(_facts(around, told.map)),
    )


def _answered(designs: Survey, around: Surroundings) -> list[Answered]:
    """What the checks of each subsystem answer, of its design or of what is fitted."""
    found = []
    for one in designs.standings:
        if one.design_id is not None:
            answers, item = designs.checked[one.design_id].answers, f"design.{one.design_id}"
            found.append(Answered(one.subsystem_name, item, answers))
        elif one.answered:
            answers = figure_answers(around.subsystems[one.subsystem_id], around)
            found.append(Answered(one.subsystem_name, f"subsystem.{one.subsystem_id}", answers))
    return found


def _has_charge_side(around: Surroundings, line_map: LineMap) -> bool:
    kinds = {face.kind for face in around.subsystems.values()}
    return bool(line_map.of_kind(Kind.CHARGE)) or bool(kinds & {Place.CHARGE_PIPE, Place.COOLER_PIPE})


def _facts(around: Surroundings, line_map: LineMap) -> CarFacts:
    sheet = around.engine.sheet if around.engine is not None else None
    kinds = {face.kind for face in around.subsystems.values()}
    coolant = any(line.medium is Medium.COOLANT for line in line_map.lines)
    boosts = [point.boost for point in sheet.points if point.boost > 0.0] if sheet is not None else []
    return CarFacts(
        has_meter=line_map.meter is not None,
        turbo_water=bool(line_map.valves_of(Device.JACKET)) or Place.COOLANT in kinds,
        coolant=coolant or bool(kinds & {Place.COOLANT, Place.HEATER}),
        solenoid=bool(line_map.valves_of(Device.THREE_WAY, Device.BLEED)) or Place.WASTEGATE in kinds,
        boost=max(boosts, default=None),
        overboost=sheet.overboost if sheet is not None and sheet.overboost > 0.0 else None,
        fuel_changed=Place.FUEL in kinds,
    )


def _of_calibration(build: BuildFace, around: Surroundings) -> dict[str, tuple[str, str]]:
    """What a calibration is matched to: the engine sheet, the meter, what is fitted of the fuel supply."""
    fuel = [face for face in around.subsystems.values() if face.kind == Place.FUEL]
    return {
        "engine": ("The engine sheet", _digest(around.engine)),
        "meter": ("The air meter’s place", build.meter_place),
        **{
            f"fuel.{one.id}": (f"What is fitted in {one.name}", _digest(around.figures.get(one.id)))
            for one in fuel
        },
    }


def _digest(value: object) -> str:
    return hashlib.sha256(repr(value).encode()).hexdigest()[:16]


# Acts


def _opened(session: Session, build_id: int, code: str) -> tuple[BuildFace, Gate, StageStanding]:
    """The gate taken for this transaction, and a stage of it. Raises NotFound."""
    store.lock(session, build_id)
    build = build_face(session, build_id)
    gate = gate_of(session, build)
    return build, gate, gate.of(code)


def _refuse(field: str, message: str, accepts: str, typed: Mapping[str, str]) -> BadInput:
    return BadInput((FieldError(field, message, accepts),), dict(typed))


def enter(
    session: Session, build_id: int, code: str, typed: Mapping[str, str], made: datetime, by: str
) -> None:
    """Enter the ticks and figures of a stage that is open and not signed; what is as it was is left so,
    and what the form showed too: whoever changed that meanwhile keeps theirs.

    Raises NotFound, BadInput, Stale where both changed the same.
    """
    build, gate, one = _opened(session, build_id, code)
    form = forms.entries(typed, one.stage, build.system)
    if one.word is Word.SIGNED:
        raise _refuse("stage", "This stage is signed.", "its signature taken back first", typed)
    if not one.opens:
        raise _refuse("stage", "This stage is not open yet.", "the stage before it signed first", typed)
    rows, clashes, shown = [], [], forms.shown(typed)
    for item, entry in form.items():
        row = gate.seen.latest.get((code, item))
        stands = forms.Typed(row.value, row.typed) if row is not None else forms.Typed(None, "")
        seen = shown.get(item, stands.shown)
        if seen not in (stands.shown, entry.shown) and entry.shown != stands.shown:
            clashes.append(page.clash(one.stage, item, stands.shown, entry.shown))
        if entry.shown != seen and stands != entry:
            rows.append(
                StartEntry(
                    build_id=build_id,
                    stage=code,
                    item=item,
                    value=entry.value,
                    typed=entry.text,
                    by=by,
                    at=made,
                )
            )
    if clashes:
        raise Stale(tuple(clashes), dict(typed))
    store.add_all(session, rows)


def states_of(session: Session, build_id: int) -> dict[str, str]:
    """How each line and point is entered now, as a look at it has to say."""
    return store.states_of(session, build_id)


def look(session: Session, build_id: int, code: str, typed: Mapping[str, str], made: datetime) -> None:
    """Note that somebody followed closed connections from end to end. Raises NotFound, BadInput."""
    store.lock(session, build_id)
    build = build_face(session, build_id)
    if code != FIRST:
        raise NotFound("Only the first stage asks for looks.")
    rows = ledger_rows(session, build_id)
    every = connections_of(map_of(rows, build.meter_place), store.states_of(session, build_id))
    closed = {one.item: one for one in every if one.closed}
    by, items = forms.looks(typed, {item: one.state for item, one in closed.items()})
    store.add_all(
        session,
        [
            StartLook(
                build_id=build_id,
                item=item,
                state=closed[item].state,
                name=closed[item].name,
                by=by,
                at=made,
            )
            for item in items
        ],
    )


def sign(session: Session, build_id: int, code: str, typed: Mapping[str, str], now: datetime) -> None:
    """Sign a stage. Raises NotFound, and BadInput unless it is open, not held, and all it asks is entered."""
    _, gate, one = _opened(session, build_id, code)
    by = forms.signature(typed, gate.seen_of(code))
    if one.word is not Word.TO_SIGN:
        raise _refuse("sign", page.why_not(one), "what it asks entered, and nothing that holds it", typed)
    evidence = {key: list(told) for key, told in gate.evidence.get(code, {}).items()}
    store.add_all(session, [StartSignature(build_id=build_id, stage=code, by=by, at=now, evidence=evidence)])


def take_back(session: Session, build_id: int, code: str, typed: Mapping[str, str], now: datetime) -> None:
    """Take a signature back. Raises NotFound, MissingVersion, BadInput, Stale."""
    _, gate, one = _opened(session, build_id, code)
    form = forms.taking_back(typed)
    row = gate.seen.signed.get(one.stage.code)
    if row is None:
        raise _refuse("taking_back", "This stage is not signed.", "a stage that is", typed)
    if not store.take_back(session, row.id, form.version, form.by, form.reason, now):
        raise Stale((), dict(typed))


# Pages


def gate_page(session: Session, build_id: int, now: datetime) -> page.GatePage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    return page.gate_page(build, gate_of(session, build).standings, now)


def stage_page(
    session: Session, build_id: int, code: str, now: datetime, by: str, refused: Refused | None = None
) -> page.StagePage:
    """by: the name that its forms begin with. Raises NotFound."""
    build = build_face(session, build_id)
    gate = gate_of(session, build)
    gate.of(code)
    return page.stage_page(build, gate.standings, gate.seen, (code, gate.seen_of(code)), now, by, refused)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """Everything that was entered, looked at, signed and taken back, for the log."""
    return page.happenings(build_id, store.acts_of(session, build_id))
