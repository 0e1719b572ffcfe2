"""What can be done with a design: make, change, choose and concede it; and its sheet."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime

from sqlmodel import Session

from server.core.buying.part import PartFace
from server.core.checks.answer import Answers
from server.core.checks.register import RULES
from server.core.checks.rule import may_concede
from server.core.tube.drawing import Drawing
from server.core.tube.run import Place, RunPlan
from server.errors import BadInput, FieldError, Refused, Stale
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.changes.page import Saved, saved_piece
from server.features.designing import forms, page
from server.features.designs import store
from server.features.designs.page import happenings
from server.features.designs.service import answers_of, case_of, checked, surroundings
from server.features.designs.store import DesignRows
from server.features.designs.tables import Concession, Design
from server.features.figures import store as figures
from server.features.neighbours import store as neighbours
from server.features.parts import service as parts
from server.features.ports import service as ports
from server.features.runs import service as runs
from server.features.runs import store as run_store
from server.features.verdicts.page import worst_by_piece
from server.web.fields import Fields
from server.web.view import FormState, Happening, News

PARTS_OFFERED = 100
"""A list of parts to link a piece to is hardly longer; the rest is found by name."""
CONCEDABLE = tuple(rule.code for rule in RULES if may_concede(rule))


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What was conceded, chosen and set aside, for the log, in two queries."""
    return happenings(build_id, store.conceded(session, build_id), store.every_design(session, build_id))


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
        row.chosen, row.chosen_because = True, store.ONLY_ONE
    row.copied_from_id = source.key if source else None
    design_id = store.add(session, row)
    if source is None:
        runs.start_run(session, design_id)
    else:
        rows = store.rows_of(session, [source])[source.key]
        pieces = run_store.copy_run(session, rows.run, design_id)
        neighbours.copy_all(session, rows.neighbours, design_id, pieces)
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


def choose(session: Session, build_id: int, design_id: int, typed: Mapping[str, str], now: datetime) -> str:
    """Make this the design of its subsystem, or take that back with the reason.

    Returns what the next page tells of it. Raises NotFound; BadInput, also for a no-go that is not known.
    """
    design = store.load_design(session, build_id, design_id)
    if Fields(typed).flag("withdraw"):
        store.unchoose(session, design, forms.withdrawal_reason(typed), now)
        return f"chosen-{design_id}-0"
    if design.pattern or design.removed_at is not None:
        what = "An old part entered as a pattern" if design.pattern else "A design that is set aside"
        error = FieldError("because", f"{what} can't be chosen.", "a design to be built: start one as a copy")
        raise BadInput((error,), typed)
    reason = forms.choice_reason(typed, () if design.chosen else _open_no_go(session, build_id, design))
    beside = store.designs_of(session, build_id, design.subsystem_id)
    former = next((one.key for one in beside if one.chosen), 0)
    store.choose(session, design, reason, now)
    return f"chosen-{design_id}-{former}"


def _open_no_go(session: Session, build_id: int, design: Design) -> list[str]:
    """The titles of the checks of a design that hold its work."""
    around = surroundings(session, builds.build_face(session, build_id))
    answers = answers_of(store.rows_of(session, [design])[design.key], around)
    return [one.rule.title for one in answers.checks if one.holds_work] if answers is not None else []


CHOSEN = re.compile(r"chosen-([0-9]{1,9})-([0-9]{1,9})")


def choice_news(session: Session, build_id: int, told: str) -> News | None:
    """What was just chosen, or is no longer; `told`: "chosen-7-4", where 4 was chosen before, 0 for none."""
    named = CHOSEN.fullmatch(told)
    there = {one.key: one for one in store.every_design(session, build_id)} if named else {}
    design = there.get(int(named[1])) if named else None
    return page.choice_news(build_id, design, there.get(int(named[2]))) if named and design else None


offered_because = page.offered_because


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
    store.check_design(session, build_id, design_id)
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
    return parts.part_names(session, build_id)


def shorten_piece(
    session: Session, build_id: int, design_id: int, piece_id: int, typed: Mapping[str, str], now: datetime
) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    build = builds.build_face(session, build_id)
    design = store.load_design(session, build_id, design_id)
    place = Place(builds.subsystem_face(session, build_id, design.subsystem_id).kind)
    runs.shorten_piece(session, design_id, piece_id, typed, page.joins(place), build.system, now)


def concede(
    session: Session, build_id: int, design_id: int, typed: Mapping[str, str], now: datetime, by: str
) -> None:
    """Accept a performance check as it is, with the reason, or take that back. Raises NotFound, BadInput."""
    design = store.load_design(session, build_id, design_id)
    if Fields(typed).flag("withdraw"):
        store.withdraw_concession(session, design_id, typed.get("rule", ""))
        # One that was made on what is fitted counts for every design there: it goes too.
        figures.withdraw_concession(session, design.subsystem_id, typed.get("rule", ""))
        return
    form = forms.concession_form(typed, CONCEDABLE)
    store.withdraw_concession(session, design_id, form.rule)
    row = Concession(design_id=design_id, rule=form.rule, reason=form.reason, by=by, at=now)
    store.add(session, row)


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
    seen = checked(rows, around)
    answers, plan = seen.answers, seen.case.plan
    began = (source.name, case_of(every[source.key], around).plan) if source else None
    return page.design_page(
        build=build,
        subsystem=around.every_subsystem[design.subsystem_id],
        rows=rows,
        plan=plan,
        answers=answers,
        drawing=run_drawing(build, design_id, plan, answers),
        ports=around.ports,
        parts=[(str(part.id), part.name) for part in _parts_offered(around.parts, rows, look.find, refused)],
        parts_total=len(around.parts),
        began=began,
        today=now.date(),
        on_figures=around.conceded_on(design.subsystem_id),
        look=look,
        refused=refused,
        saved=None if refused else _saved(build_id, rows, around.parts, look.told),
        news=None if refused else choice_news(session, build_id, look.told),
    )


TOLD = re.compile(r"(piece|undone|joint)-([0-9]{1,9})")


def _saved(build_id: int, rows: DesignRows, parts: Sequence[PartFace], told: str) -> Saved | None:
    """What was just saved, e.g. `told` = "piece-7"; nothing where the run has no such piece or joint."""
    named = TOLD.fullmatch(told)
    if named is None:
        return None
    number = int(named[2])
    if named[1] == "joint":
        place = next((at for at, one in enumerate(rows.run.along, 1) if one and one.key == number), 0)
        return Saved(f"Saved: joint {place}.") if place else None
    for place, piece in enumerate(rows.run.pieces, 1):
        if piece.key == number:
            changed = runs.last_save(piece, {part.id: part.name for part in parts})
            undone = named[1] == "undone"
            return saved_piece(build_id, rows.design.key, piece, place, changed, undone=undone)
    return None


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


def run_drawing(build: BuildFace, design_id: int, plan: RunPlan, answers: Answers | None) -> Drawing:
    """The numbered drawing of a design's run, drawn once for each state of it."""
    worst, system = worst_by_piece(answers), build.system
    return builds.kept_while(
        build.id,
        ("drawing", design_id),
        (plan, worst, system),
        lambda: page.run_drawing(plan, worst, system),
    )
