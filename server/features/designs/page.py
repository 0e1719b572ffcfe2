"""One design as a page: its run piece by piece, its drawing, its checks, and the editor of one piece."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from server.core.checks.answer import Answers
from server.core.tube.drawing import Drawing, draw
from server.core.tube.port import PortFacts
from server.core.tube.run import PieceKind, PiecePlan, RunPlan
from server.core.units import Kind, System, show
from server.errors import Clash, Refused
from server.features.builds.page import Face, heading
from server.features.runs.page import (
    Choices,
    NewPiece,
    PieceEditor,
    piece_choices,
    piece_editor,
)
from server.features.verdicts.page import (
    CheckLine,
    FlowSummary,
    Subsystem,
    check_lines,
    count_words,
    flow_summary,
    overall,
    worst_by_piece,
)
from server.web.view import FormState, Page, Verdict, VerdictWord

if TYPE_CHECKING:
    from server.features.designs.store import DesignRows

LABELS = {
    "name": "Name",
    "start_port_id": "From",
    "end_port_id": "To",
    "meter_rescaled": "Calibration re-scaled",
}


@dataclass(frozen=True, slots=True)
class Look:
    """What of a design the reader looks at: one piece's editor, or the form for a new piece of a kind.

    `section` names the form that was sent, so that a refusal shows its messages there: design, choice,
    concession, new, piece, bung, or `joint 7`.
    """

    piece_id: int | None = None
    new_kind: PieceKind | None = None
    after: str = ""
    section: str = ""
    rule: str = ""


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece of the list, with the air in it at the peak."""

    id: int
    number: int
    href: str
    name: str
    detail: str
    loss: str
    speed: str
    verdict: Verdict | None
    selected: bool


@dataclass(frozen=True, slots=True)
class RemovedLine:
    """A piece that was taken out and can be put back."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class Settings:
    """A design's own fields."""

    version: int
    name: str
    start_port_id: str
    end_port_id: str
    meter_rescaled: bool
    form: FormState


@dataclass(frozen=True, kw_only=True)
class DesignPage(Page):
    """One design. `answers` is swapped after each change; the editor under the thumb stays as it is."""

    template: ClassVar[str] = "designs/design.html"
    fragments: ClassVar[dict[str, str]] = {"answers": "answers", "design": "design"}
    refused_target: ClassVar[str] = "design"

    build_id: int
    id: int
    subsystem_id: int
    subsystem: str
    name: str
    from_port: str
    to_port: str
    verdict: Verdict
    counts: str
    chosen: bool
    chosen_because: str
    drawing: Drawing
    first_cure: CheckLine | None
    pieces: tuple[PieceLine, ...]
    open_checks: tuple[CheckLine, ...]
    passed_checks: tuple[CheckLine, ...]
    flow: FlowSummary | None
    removed: tuple[RemovedLine, ...]
    editor: PieceEditor | None
    new_piece: NewPiece | None
    choices: Choices
    run_ends: tuple[tuple[str, str], ...]
    settings: Settings
    choice_form: FormState
    concession_form: FormState
    conceding: str


def run_drawing(plan: RunPlan, worst: Mapping[int, VerdictWord], system: System) -> Drawing:
    """The numbered drawing of a run, each piece marked by the worst verdict on it."""
    return draw(plan, {number: word.value for number, word in worst.items()}, system)


def design_page(
    *,
    build: Face,
    subsystem: Subsystem,
    rows: "DesignRows",
    plan: RunPlan,
    answers: Answers | None,
    drawing: Drawing,
    ports: Sequence[PortFacts],
    today: date,
    look: Look,
    new_piece: NewPiece | None,
    refused: Refused | None,
) -> DesignPage:
    design = rows.design
    names = {port.id: port.name for port in ports}
    lines = check_lines(answers, plan, build.id, build.system)
    worst = worst_by_piece(answers)
    no_go = [line for line in lines if line.verdict.word is VerdictWord.NO_GO and not line.conceded]
    side = [(str(port.id), port.name) for port in ports if port.role == "side port"]
    return DesignPage(
        **heading(
            build, f"{subsystem.letter} · {subsystem.name}", today, within="Subsystems", note=design.name
        ),
        build_id=build.id,
        id=design.key,
        subsystem_id=subsystem.id,
        subsystem=subsystem.name,
        name=design.name,
        from_port=names.get(design.start_port_id or 0, ""),
        to_port=names.get(design.end_port_id or 0, ""),
        verdict=overall(answers),
        counts=count_words(answers),
        chosen=design.chosen,
        chosen_because=design.chosen_because,
        drawing=drawing,
        first_cure=no_go[0] if no_go else None,
        pieces=tuple(_piece_line(piece, answers, worst, build.system, look) for piece in plan.pieces),
        open_checks=tuple(line for line in lines if line.verdict.word is not VerdictWord.GO),
        passed_checks=tuple(line for line in lines if line.verdict.word is VerdictWord.GO),
        flow=flow_summary(answers, build.system),
        removed=tuple(RemovedLine(piece.key, piece.name or piece.kind) for piece in rows.run.removed),
        editor=_editor(rows, look, build.system, refused),
        new_piece=new_piece,
        choices=piece_choices(side),
        run_ends=(
            ("", "not said yet"),
            *((str(port.id), port.name) for port in ports if port.role == "run end"),
        ),
        settings=Settings(
            version=design.version,
            name=design.name,
            start_port_id=str(design.start_port_id or ""),
            end_port_id=str(design.end_port_id or ""),
            meter_rescaled=design.meter_rescaled,
            form=_form_of("design", look, refused),
        ),
        choice_form=_form_of("choice", look, refused),
        concession_form=_form_of("concession", look, refused),
        conceding=look.rule,
    )


def _form_of(section: str, look: Look, refused: Refused | None) -> FormState:
    return FormState.of(refused) if look.section == section else FormState()


def _editor(rows: "DesignRows", look: Look, system: System, refused: Refused | None) -> PieceEditor | None:
    wanted = look.piece_id if look.piece_id is not None else _piece_beside_joint(rows, look.section)
    for number, piece in enumerate(rows.run.pieces, 1):
        if piece.id == wanted:
            forms: Mapping[str, FormState] = {look.section: FormState.of(refused)} if look.section else {}
            return piece_editor(rows.run, piece, number, system, forms)
    return None


def _piece_beside_joint(rows: "DesignRows", section: str) -> int | None:
    """The piece whose editor shows a joint whose form was sent without saying from where."""
    joint = next((joint for joint in rows.run.joints if section == f"joint {joint.id}"), None)
    if joint is None:
        return None
    return joint.piece_id or next((piece.id for piece in rows.run.pieces), None)


def _piece_line(
    piece: PiecePlan, answers: Answers | None, worst: Mapping[int, VerdictWord], system: System, look: Look
) -> PieceLine:
    air = answers.flow.of(piece) if answers is not None and answers.flow is not None else None
    return PieceLine(
        id=piece.id,
        number=piece.number,
        href=f"?piece={piece.id}#editor",
        name=piece.name,
        detail=_piece_detail(piece, system),
        loss=show(air.loss, Kind.pressure, system).text if air is not None else "",
        speed=f"{show(air.speed, Kind.speed, system).text}, Mach {air.mach:.2f}" if air is not None else "",
        verdict=Verdict(worst[piece.number]) if piece.number in worst else None,
        selected=piece.id == look.piece_id,
    )


def _piece_detail(piece: PiecePlan, system: System) -> str:
    """A piece's sizes in one line, as a parts list would have them."""
    sizes = piece.sizes

    def text(name: str) -> str:
        kind = Kind.angle if name == "bend_angle" else Kind.length
        return show(sizes[name].value, kind, system).text

    parts = []
    if "outside_diameter" in sizes and not piece.is_hose:
        wall = f" × {text('wall')} wall" if "wall" in sizes else ""
        parts.append(f"{text('outside_diameter')} outside{wall}")
    elif "bore" in sizes:
        outlet = f" to {text('bore_out')}" if "bore_out" in sizes else ""
        parts.append(f"bore {text('bore')}{outlet}")
    if "bend_angle" in sizes:
        parts.append(text("bend_angle"))
    if "length" in sizes and not piece.has_arc:
        parts.append(f"{text('length')} long")
    parts += [f"side port: {bung.name}" for bung in piece.bungs]
    return ", ".join(parts) or "no sizes yet"


def design_clashes(
    wanted: Mapping[str, object], stands: Mapping[str, object], port_names: Mapping[int, str]
) -> tuple[Clash, ...]:
    """Every field of a design that two people changed, in words."""

    def words(name: str, values: Mapping[str, object]) -> str:
        value = values[name]
        if isinstance(value, bool):
            return "yes" if value else "no"
        return port_names.get(value, "") if isinstance(value, int) else str(value or "")

    return tuple(
        Clash(name, label, words(name, stands), words(name, wanted))
        for name, label in LABELS.items()
        if wanted[name] != stands[name]
    )
