"""The sheet of what stands near a run: the checks on it, each thing with its gap, and the form of one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from server.core.checks.answer import Answers
from server.core.checks.in_space import InCar
from server.core.checks.layout import piece_label
from server.core.checks.near import MATERIALS, frame_of, material_of, nature_of
from server.core.phrase import say
from server.core.tube.run import Frame, NeighbourPlan, Protection, RunPlan, Stood, Warmth, What
from server.core.tube.sizes import size_text
from server.core.units import Kind, System, show
from server.errors import Clash, Refused
from server.features.builds.page import Face, heading
from server.features.neighbours.page import LABELS, SIZES
from server.features.verdicts.page import CheckLine, Subsystem, check_lines
from server.web import urls
from server.web.view import FormState, Option, Page

if TYPE_CHECKING:
    from server.features.neighbours.tables import Neighbour

RULES = frozenset({"line-gap", "gap", "line-heat", "neighbour-heat", "line-beside-heat", "run-beside-heat"})
"""The checks that rest on what is typed here."""
USUAL = "as is usual of it"


@dataclass(frozen=True, slots=True)
class NeighbourLine:
    """One thing that stands near. told: what the checks find amiss, passed: what is as it should be; neither
    repeats what stands above the list. href: where it can be changed.
    """

    id: int
    href: str
    name: str
    detail: str
    injury: bool
    told: tuple[str, ...]
    passed: tuple[str, ...]
    selected: bool


@dataclass(frozen=True, slots=True)
class Aside:
    """One that was set aside and can be put back."""

    id: int
    name: str


@dataclass(frozen=True, slots=True)
class NeighbourFields:
    """The form of one thing: a new one (no id), or one that is there. values: of each field, as typed."""

    id: int | None
    version: int
    name: str
    values: dict[str, str]
    form: FormState


@dataclass(frozen=True, kw_only=True)
class NeighboursPage(Page):
    """What stands near the run of a design."""

    template: ClassVar[str] = "neighbouring/neighbours.html"

    build_id: int
    design_id: int
    design: str
    subsystem: str
    checks: tuple[CheckLine, ...]
    in_car: str
    """Whether the run ends at its port where it lies in the car; empty where poses don't tell."""
    near: tuple[NeighbourLine, ...]
    aside: tuple[Aside, ...]
    looked_round: bool
    labels: dict[str, str]
    whats: tuple[str, ...]
    pieces: tuple[Option, ...]
    frames: tuple[Option, ...]
    materials: tuple[Option, ...]
    protections: tuple[str, ...]
    stoods: tuple[Option, ...]
    warmths: tuple[Option, ...]
    fields: NeighbourFields


def neighbours_page(
    *,
    build: Face,
    subsystem: Subsystem,
    design_id: int,
    design: str,
    looked_round: bool,
    rows: Sequence["Neighbour"],
    plan: RunPlan,
    answers: Answers | None,
    in_car: InCar | None,
    today: date,
    edit: int | None,
    refused: Refused | None,
) -> NeighboursPage:
    """`rows`: those set aside included; `edit`: the number of the one whose form is shown, none for a new
    one.
    """
    here = {row.key: row for row in rows if row.removed_at is None}
    return NeighboursPage(
        **heading(build, f"{subsystem.letter} · {subsystem.name}", today, within="Subsystems", note=design),
        build_id=build.id,
        design_id=design_id,
        design=design,
        subsystem=subsystem.name,
        checks=tuple(
            line
            for line in check_lines(answers, plan, build.id, subsystem.id, build.system)
            if line.code in RULES
        ),
        in_car=in_car_words(in_car, plan, build.system),
        near=tuple(
            _line(one, plan, answers, build.system, edit, _href(build.id, design_id, one.id))
            for one in plan.neighbours
        ),
        aside=tuple(Aside(row.key, row.name or row.what) for row in rows if row.removed_at is not None),
        looked_round=looked_round,
        labels=LABELS,
        whats=tuple(what.value for what in What),
        pieces=tuple(Option(str(piece.id), piece_label(piece)) for piece in plan.pieces),
        frames=_or_usual([frame.value for frame in Frame if frame]),
        materials=_or_usual(MATERIALS),
        protections=tuple(one.value for one in Protection),
        stoods=tuple(Option(one.value, one.value or "not said") for one in reversed(Stood)),
        warmths=tuple(Option(one.value, one.value or "not said") for one in reversed(Warmth)),
        fields=_fields(here.get(edit or 0), plan, FormState.of(refused)),
    )


def _href(build_id: int, design_id: int, neighbour_id: int) -> str:
    """The form of a neighbour, or of the keep-out that it is."""
    if neighbour_id < 0:
        return urls.keep_out_editing(build_id, -neighbour_id)
    return urls.neighbour_editing(build_id, design_id, neighbour_id)


def in_car_words(seen: InCar | None, plan: RunPlan, system: System) -> str:
    """Whether a run ends at its port, e.g. "In the car its end is 34 mm off Cooler inlet and leans by 3°"."""
    if seen is None or plan.end is None:
        return ""
    if seen.lies.closes:
        return f"In the car it ends at {plan.end.name}: keep-outs near it count here too."
    off = show(seen.lies.miss.distance, Kind.length, system).text
    lean = show(seen.lies.miss.angle, Kind.angle, system).text
    return f"In the car its end is {off} off {plan.end.name} and leans by {lean}: no keep-out counts yet."


def _or_usual(values: Sequence[str]) -> tuple[Option, ...]:
    return (Option("", USUAL), *(Option(value, value) for value in values))


def _fields(row: "Neighbour | None", plan: RunPlan, form: FormState) -> NeighbourFields:
    if row is None:
        values = dict.fromkeys(LABELS, "")
        values |= {"warmth": Warmth.COLD.value, "protection": Protection.NONE.value}
        if plan.pieces:
            values["piece_id"] = str(plan.pieces[0].id)
        return NeighbourFields(None, 0, "", values, form)
    columns = row.model_dump()
    values = {name: str(columns[name] or "") for name in LABELS if name not in SIZES}
    for size in SIZES:
        values[size] = row.typed.get(size) or size_text(size, columns[size])
    return NeighbourFields(row.key, row.version, row.name or row.what, values, form)


def _line(
    near: NeighbourPlan, plan: RunPlan, answers: Answers | None, system: System, edit: int | None, href: str
) -> NeighbourLine:
    key = f"neighbour.{near.id}"
    checks = [check for check in (answers.checks if answers else ()) if check.rule.code in RULES]
    above = {say(check.phrase, system) for check in checks}
    told: list[str] = []
    passed: list[str] = []
    for check in checks:
        for item in check.items:
            if item.item == key:
                (told if item.margin < 0.0 else passed).append(say(item.phrase, system))
        told += [say(gap.phrase, system) for gap in check.missing if gap.item == key]
    return NeighbourLine(
        id=near.id,
        href=href,
        name=near.name,
        detail=_detail(near, plan, system),
        injury=nature_of(near).injury,
        told=tuple(words for words in told if words not in above),
        passed=tuple(words for words in passed if words not in above),
        selected=near.id == edit,
    )


def _detail(near: NeighbourPlan, plan: RunPlan, system: System) -> str:
    """E.g. "60 ± 1 mm beside Tube (3), cold, moves with the body, brake fluid in a metal line"."""
    piece = next((piece for piece in plan.pieces if piece.id == near.piece_id), None)
    gap = near.sizes.get("gap")
    said = [near.what.value] if near.name.casefold() != near.what.value else []
    where = f"beside {piece_label(piece)}" if piece is not None else "beside a piece that is out of the run"
    far = show(gap.value, Kind.length, system, gap.doubt).text if gap is not None else "gap not measured"
    said += [f"{far} {where}", *(word for word in (near.stood.value, near.warmth.value) if word)]
    if near.what is not What.GROUND:
        said += [f"moves with the {frame_of(near)}"] if frame_of(near) else []
        said += [material_of(near)] if material_of(near) and not nature_of(near).hot else []
    said += [near.protection.value] if near.protection is not Protection.NONE else []
    return ", ".join(said)


def neighbour_clashes(
    wanted: dict[str, object], stands: dict[str, object], plan: RunPlan
) -> tuple[Clash, ...]:
    """Every field of a neighbour that two people changed, as texts."""
    pieces = {piece.id: piece_label(piece) for piece in plan.pieces}

    def words(name: str, values: dict[str, object]) -> str:
        value, typed = values[name], values["typed"]
        if name in SIZES:
            assert isinstance(typed, dict)
            return str(typed.get(name, ""))
        return pieces.get(value, "") if isinstance(value, int) else str(value or "")

    return tuple(
        Clash(name, label, words(name, stands), words(name, wanted))
        for name, label in LABELS.items()
        if wanted[name] != stands[name]
    )


def address(build_id: int, design_id: int) -> str:
    """The sheet, at the list."""
    return urls.neighbours(build_id, design_id) + "#near"
