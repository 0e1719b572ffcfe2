"""One design as a page: its run piece by piece, its drawing, its checks, and the editor of one piece."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from server.core.checks.answer import Answers
from server.core.tube.drawing import Drawing, draw
from server.core.tube.port import PortFacts
from server.core.tube.run import PieceKind, PiecePlan, Place, RunPlan
from server.core.tube.said import parts_list_words
from server.core.tube.shorten import Join
from server.core.units import Kind, System, show_text
from server.errors import Clash, Refused
from server.features.builds.page import Face, heading
from server.features.changes.page import Difference, Saved, run_difference
from server.features.designs.page import signed_by
from server.features.runs.page import (
    Choices,
    NewPiece,
    PieceEditor,
    new_piece,
    piece_choices,
    piece_editor,
)
from server.features.speeds.page import speed_plot
from server.features.verdicts.page import (
    CheckLine,
    FlowSummary,
    Subsystem,
    check_lines,
    count_words,
    flow_summary,
    has_open_no_go,
    overall,
    worst_by_piece,
)
from server.web import urls
from server.web.bars import BarPlot
from server.web.view import FormState, News, Page, Undo, Verdict, VerdictWord

if TYPE_CHECKING:
    from server.features.designs.store import DesignRows
    from server.features.designs.tables import Design
    from server.features.figures.page import Conceded

LABELS = {
    "name": "Name",
    "start_port_id": "From",
    "end_port_id": "To",
    "meter_rescaled": "Calibration re-scaled",
    "pattern": "An old part",
}
HOT = frozenset({Place.DOWNPIPE, Place.EXHAUST})
"""Runs that no rubber coupler stands."""


@dataclass(frozen=True, slots=True)
class Look:
    """What of a design the reader looks at: one piece's editor, or the form for a new piece of a kind.

    `section` names the form that was sent, so that a refusal shows its messages there: design, choice,
    copy, removal, concession, new, piece, cut, bung, or `joint 7`.
    """

    piece_id: int | None = None
    new_kind: PieceKind | None = None
    after: str = ""
    section: str = ""
    rule: str = ""
    told: str = ""
    """What was just done, e.g. "piece-7"."""
    find: str = ""
    """Words of the name of a part that the piece is to be linked to."""


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
    pattern: bool
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
    refused: bool
    """What was typed is not saved: the verdict is of what was saved last."""
    saved: Saved | None
    chosen: bool
    chosen_because: str
    no_longer: str
    """Why it is no longer chosen, where that was said."""
    earlier_because: str
    """Why it was chosen before another was: offered again."""
    open_no_go: bool
    news: News | None
    pattern: bool
    set_aside: bool
    difference: Difference | None
    drawing: Drawing
    first_cure: CheckLine | None
    pieces: tuple[PieceLine, ...]
    neighbours: int
    open_checks: tuple[CheckLine, ...]
    passed_checks: tuple[CheckLine, ...]
    flow: FlowSummary | None
    speeds: BarPlot | None
    removed: tuple[RemovedLine, ...]
    editor: PieceEditor | None
    new_piece: NewPiece | None
    choices: Choices
    parts_total: int
    """How many parts there are to link a piece to; the list of choices offers some of them."""
    find: str
    run_ends: tuple[tuple[str, str], ...]
    settings: Settings
    choice_form: FormState
    copy_form: FormState
    removal_form: FormState
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
    parts: Sequence[tuple[str, str]],
    parts_total: int,
    began: tuple[str, RunPlan] | None,
    today: date,
    on_figures: "Mapping[str, Conceded]",
    look: Look,
    refused: Refused | None,
    saved: Saved | None,
    news: News | None,
) -> DesignPage:
    """`parts`: those offered to link a piece to, of `parts_total`; `began`: name and plan of what it was
    started from; `on_figures`: what was conceded on what is fitted in the subsystem, by rule code.
    """
    design = rows.design
    names = {port.id: port.name for port in ports}
    signed = {rule: signed_by(one) for rule, one in on_figures.items()}
    signed |= {row.rule: signed_by(row) for row in rows.concessions}
    lines = check_lines(answers, plan, build.id, subsystem.id, build.system, signed)
    worst = worst_by_piece(answers)
    no_go = [line for line in lines if line.verdict.word is VerdictWord.NO_GO and not line.conceded]
    side = [
        (str(port.id), port.name)
        for port in ports
        if port.role == "side port" and port.subsystem_id in {None, design.subsystem_id}
    ]
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
        refused=refused is not None,
        saved=saved,
        chosen=design.chosen,
        chosen_because=design.chosen_because if design.chosen else "",
        no_longer=design.chosen_because if was_withdrawn(design) else "",
        earlier_because=offered_because(design),
        open_no_go=has_open_no_go(answers),
        news=news,
        pattern=design.pattern,
        set_aside=design.removed_at is not None,
        difference=_difference(design, began, plan, build) if began else None,
        drawing=drawing,
        first_cure=no_go[0] if no_go else None,
        pieces=tuple(_piece_line(piece, answers, worst, build.system, look) for piece in plan.pieces),
        neighbours=len(plan.neighbours),
        open_checks=tuple(line for line in lines if line.verdict.word is not VerdictWord.GO),
        passed_checks=tuple(line for line in lines if line.verdict.word is VerdictWord.GO),
        flow=flow_summary(answers, build.system),
        speeds=speed_plot(answers, build.system),
        removed=tuple(RemovedLine(piece.key, piece.name or piece.kind) for piece in rows.run.removed),
        editor=_editor(rows, look, build.system, refused),
        new_piece=_new_piece(rows, look, refused),
        choices=piece_choices(side, parts, joins(plan.place)),
        parts_total=parts_total,
        find=look.find,
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
            pattern=design.pattern,
            form=_form_of("design", look, refused),
        ),
        choice_form=_form_of("choice", look, refused),
        copy_form=_form_of("copy", look, refused),
        removal_form=_form_of("removal", look, refused),
        concession_form=_form_of("concession", look, refused),
        conceding=look.rule,
    )


def was_withdrawn(design: "Design") -> bool:
    """Somebody said that it is no longer chosen, and why."""
    return not design.chosen and design.chosen_at is not None


def offered_because(design: "Design") -> str:
    """Why it is chosen, or was before another was."""
    return "" if was_withdrawn(design) else design.chosen_because


def choice_news(build_id: int, design: "Design", former: "Design | None") -> News:
    """That a design was chosen, or is no longer, with the way back. `former`: the one chosen before it."""
    here = urls.design_choice(build_id, design.key)
    if not design.chosen:
        undo = Undo(here, (("because", ""), ("no_go_known", "on")), "Choose it again")
        return News(f"No longer chosen: {design.name}.", design.chosen_because, undo=undo)
    if former is None:
        fields = (("withdraw", "on"), ("because", "chosen by mistake"))
        return News(f"Chosen: {design.name}.", design.chosen_because, undo=Undo(here, fields, "Undo"))
    if former.key == design.key:
        return News(f"Chosen: {design.name}.", design.chosen_because)
    where = urls.compare_choice(build_id, former.subsystem_id, former.key)
    fields = (("because", offered_because(former)), ("no_go_known", "on"))
    more = f"{former.name} was chosen before."
    return News(f"Chosen: {design.name}.", more, undo=Undo(where, fields, "Undo"))


def joins(place: Place) -> tuple[Join, ...]:
    """How the halves of a pipe may be joined again on a run."""
    return (Join.WELD,) if place in HOT else tuple(Join)


def _new_piece(rows: "DesignRows", look: Look, refused: Refused | None) -> NewPiece | None:
    """The form for a piece of the kind that the reader asks for, after the piece they name or the last."""
    if look.new_kind is None:
        return None
    pieces = rows.run.pieces
    last = pieces[-1] if pieces else None
    before = next((piece for piece in pieces if str(piece.id) == look.after), last)
    return new_piece(look.new_kind, None if look.after == "start" else before, _form_of("new", look, refused))


def _difference(design: "Design", began: tuple[str, RunPlan], plan: RunPlan, build: Face) -> Difference:
    href = urls.design(build.id, design.copied_from_id or 0)
    return run_difference(began[0], href, began[1].pieces, plan.pieces, build.system)


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
        detail=parts_list_words(piece, system),
        loss=show_text(air.loss, Kind.pressure, system) if air is not None else "",
        speed=f"{show_text(air.speed, Kind.speed, system)}, Mach {air.mach:.2f}" if air is not None else "",
        verdict=Verdict(worst[piece.number]) if piece.number in worst else None,
        selected=piece.id == look.piece_id,
    )


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
