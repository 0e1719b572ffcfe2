"""Finding splices of two salvaged pipes, and making a design of one."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.tube.laid import typed_piece
from server.core.tube.port import PortFacts
from server.core.tube.run import EndForm, Origin, PieceKind
from server.core.tube.space.poses import PortPose
from server.core.tube.space.vectors import angle_between
from server.core.tube.splice.laid import laid_splice
from server.core.tube.splice.piece import straights
from server.core.tube.splice.problem import Answer, Problem, Splice
from server.core.tube.splice.sensitivity import Felt, felt, readings_of
from server.core.tube.splice.solve import splice as find_splices
from server.errors import BadInput, Refused
from server.features.builds import service as builds
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.designing import service as designing
from server.features.designs import store as designs
from server.features.places.service import known_places
from server.features.ports.service import port_facts
from server.features.proposing.forms import METALS, as_typed, taken
from server.features.proposing.service import gone, mark_of, usual
from server.features.runs import service as runs
from server.features.splicing import forms, page
from server.features.splicing.forms import SpliceForm
from server.web.view import FormState

FLANGES = frozenset({EndForm.FLANGE, EndForm.V_BAND})
OUT_OF_LINE = math.radians(2.0)
"""How far a pipe may leave its flange beside the way its port faces before it is told [rad]; chosen."""
ROOM = 4.0
"""A straight has to be so many doubts long for what a doubt does to be told [-]; chosen."""


@dataclass(frozen=True, slots=True)
class _Ground:
    """What the splices of one subsystem are looked for in."""

    build: BuildFace
    subsystem: SubsystemFace
    ports: tuple[PortFacts, ...]
    """Those that a run may end on."""
    poses: Mapping[int, PortPose]
    made: tuple[page.Made, ...]

    @property
    def port_ids(self) -> list[int]:
        return [port.id for port in self.ports]

    def form(self, typed: Mapping[str, str]) -> SpliceForm:
        """Raises BadInput."""
        return forms.splice_form(typed, self.port_ids, self.poses)


def _ground(session: Session, build_id: int, subsystem_id: int) -> _Ground:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    subsystem = builds.subsystem_face(session, build_id, subsystem_id)
    ports = tuple(port for port in port_facts(session, build_id) if port.role == "run end")
    places = known_places(session, build)
    poses = {key: found.pose for key, found in places.items() if found.pose is not None}
    return _Ground(build, subsystem, ports, poses, _made(session, build_id, subsystem_id))


def _made(session: Session, build_id: int, subsystem_id: int) -> tuple[page.Made, ...]:
    """The designs in which a salvaged pipe is welded to another piece, the latest first."""
    rows = designs.rows_of(session, designs.designs_of(session, build_id, subsystem_id))
    found = []
    for row in reversed(list(rows.values())):
        pipes = [one for one in row.run.pieces if one.kind == PieceKind.SALVAGED]
        if any(EndForm.WELD in {one.inlet_end, one.outlet_end} for one in pipes):
            named = [(one.key, one.name or one.kind) for one in pipes]
            found.append(page.made(build_id, row.design.key, row.design.name, named))
    return tuple(found)


def splices_page(
    session: Session, build_id: int, subsystem_id: int, now: datetime, typed: Mapping[str, str]
) -> tuple[page.SplicesPage, bool]:
    """The sheet, with the splices where they are asked for, and whether what was asked is sound.

    Raises NotFound.
    """
    ground = _ground(session, build_id, subsystem_id)
    if "find" not in typed:
        return _page(ground, now, _usual(session, ground)), True
    try:
        form = ground.form(typed)
    except BadInput as refused:
        return _page(ground, now, as_typed(typed, forms.NAMES), refused=refused), False
    return _page(ground, now, as_typed(typed, forms.NAMES), form), True


def refused_page(
    session: Session, build_id: int, subsystem_id: int, now: datetime, refused: Refused | None
) -> page.SplicesPage:
    """The sheet again after a splice could not be taken. Raises NotFound."""
    ground = _ground(session, build_id, subsystem_id)
    typed = as_typed(refused.typed, forms.NAMES) if isinstance(refused, BadInput) else _usual(session, ground)
    return _page(ground, now, typed, taking=refused)


def take(session: Session, build_id: int, subsystem_id: int, typed: Mapping[str, str]) -> int:
    """Make a splice the run of a new design; the design's number. Raises NotFound, BadInput."""
    ground = _ground(session, build_id, subsystem_id)
    form = ground.form(typed)
    mark, name = taken(typed, "splice")
    found = next((one for one in _answer(form.problem).splices if mark_of(one.corners) == mark), None)
    if found is None:
        raise gone("splice", "a place or a number", typed)
    start, end = ("" if port is None else str(port) for port in form.ports)
    ends = {"start_port_id": start, "end_port_id": end}
    design_id = designing.add_design(session, build_id, subsystem_id, {"name": name, **ends})
    for piece in laid_splice(form.problem, found, form.tube, _flanges(ground, form)):
        runs.add_piece(session, design_id, "", typed_piece(piece) | {"origin": Origin.SALVAGED.value})
    return design_id


def _flanges(ground: _Ground, form: SpliceForm) -> tuple[EndForm, EndForm]:
    """How both pipes end: as their ports do, where those are flanges; else as the bolt holes say."""
    usual = (EndForm.FLANGE, EndForm.V_BAND if form.problem.holes == 0 else EndForm.FLANGE)
    known = {port.id: EndForm(port.end_form) for port in ground.ports}
    start, end = (
        known[port] if port is not None and known[port] in FLANGES else otherwise
        for port, otherwise in zip(form.ports, usual, strict=True)
    )
    return start, end


# What is asked, and what is found


def _answer(problem: Problem) -> Answer:
    found: Answer = builds.kept_for("splices", problem, lambda: find_splices(problem))
    return found


def _readings(problem: Problem, splice: Splice, doubt: float) -> tuple[Felt, ...]:
    """What each reading does to a splice; nothing where a straight that is cut is hardly longer than it."""
    cut = ((problem.fixed, splice.choice.fixed), (problem.turning, splice.choice.turning))
    lengths = [one.length for piece, number in cut for one in straights(piece) if one.number == number]
    if min(lengths) <= ROOM * doubt:
        return ()
    told: tuple[Felt, ...] = builds.kept_for(
        "splice readings",
        (problem, splice, doubt),
        lambda: felt(problem, splice, readings_of(problem, doubt)),
    )
    return told


def _notes(ground: _Ground, form: SpliceForm, found: Answer) -> tuple[str, ...]:
    """What the builder has to know of what was asked."""
    notes = [*found.notes]
    pieces = (("fixed", form.problem.fixed), ("turning", form.problem.turning))
    for (name, piece), port in zip(pieces, form.ports, strict=True):
        pose = ground.poses.get(port) if port is not None else None
        lean = angle_between(pose.facing.way, piece.axis) if pose is not None else 0.0
        if lean > OUT_OF_LINE:
            notes.append(
                f"The {name} pipe leaves its flange {math.degrees(lean):.0f}° beside how its port faces."
            )
    return tuple(notes)


# The sheet


def _usual(session: Session, ground: _Ground) -> dict[str, str]:
    """What is asked until somebody says otherwise."""
    likely = usual(session, ground.build.id, ground.subsystem, ground.ports)
    return dict.fromkeys(forms.NAMES, "") | forms.USUAL | likely


def _page(
    ground: _Ground,
    now: datetime,
    values: dict[str, str],
    form: SpliceForm | None = None,
    *,
    refused: Refused | None = None,
    taking: Refused | None = None,
) -> page.SplicesPage:
    found = _answer(form.problem) if form is not None else Answer(())
    return page.splices_page(
        build=ground.build,
        subsystem=ground.subsystem,
        today=now.date(),
        ports=[(port.id, port.name) for port in ground.ports],
        without=_without(ground, values),
        materials=METALS,
        values=values,
        asked=form is not None,
        splices=_lines(ground, form, found.splices) if form is not None else (),
        made=ground.made,
        reason=found.reason,
        notes=_notes(ground, form, found) if form is not None else (),
        form=FormState.of(refused),
        taking=FormState.of(taking),
    )


def _without(ground: _Ground, values: Mapping[str, str]) -> tuple[str, ...]:
    """Names of the ports asked for that no place and facing is known of."""
    asked = {values["start_port_id"], values["end_port_id"]}
    return tuple(port.name for port in ground.ports if str(port.id) in asked and port.id not in ground.poses)


def _lines(ground: _Ground, form: SpliceForm, found: Sequence[Splice]) -> tuple[page.SpliceLine, ...]:
    problem, system = form.problem, ground.build.system
    return tuple(
        page.splice_line(
            at,
            mark_of(one.corners),
            problem,
            one,
            form.tube.wall,
            _readings(problem, one, form.doubt),
            system,
        )
        for at, one in enumerate(found, 1)
    )
