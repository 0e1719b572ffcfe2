"""What the checks of a run answer, as values for pages."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from types import MappingProxyType
from typing import Protocol

from server.core.checks.answer import Answers, Check
from server.core.checks.figures import FIGURES, figure_of
from server.core.checks.figures import OWNER as FIGURE
from server.core.checks.flow import PieceFlow
from server.core.checks.levers import piece_there
from server.core.checks.limits import Changed
from server.core.checks.rule import Verdict as CheckVerdict
from server.core.checks.rule import may_concede
from server.core.phrase import say
from server.core.tube.run import RunPlan
from server.core.units import Kind, System, show_text
from server.web import urls
from server.web.view import Caution, Quantity, Verdict, VerdictWord

WORST_FIRST = (VerdictWord.NO_GO, VerdictWord.NOT_MEASURED, VerdictWord.TIGHT, VerdictWord.GO)


class Subsystem(Protocol):
    """What a page needs to know of a subsystem."""

    @property
    def id(self) -> int: ...
    @property
    def letter(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...


class DesignLike(Protocol):
    """What a page needs to know of a design."""

    @property
    def key(self) -> int: ...
    @property
    def name(self) -> str: ...
    @property
    def chosen(self) -> bool: ...
    @property
    def pattern(self) -> bool: ...


@dataclass(frozen=True, slots=True)
class DesignStanding:
    """Where a subsystem stands, for the garage and the list of subsystems."""

    subsystem_id: int
    letter: str
    subsystem_name: str
    kind: str
    design_id: int | None
    design_name: str
    designs: int
    word: VerdictWord
    percent: int | None
    rough: bool
    why: str
    checks: int
    open_no_go: bool
    missing: tuple[str, ...]
    decided: bool

    @property
    def answered(self) -> bool:
        """Whether there is something to check: a design, or figures of what is fitted."""
        return self.design_id is not None or self.checks > 0


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check, answered: what was found, what would settle it, what cures it.

    signed: who conceded it and when; changed: what limits of it were changed for this build, and why.
    """

    code: str
    title: str
    verdict: Verdict
    why: str
    others: tuple[str, ...]
    settles: str
    cure: str
    cure_href: str
    injury: bool
    caution: Caution | None
    conceded: str
    may_concede: bool
    handbook: str
    signed: str = ""
    changed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FlowSummary:
    """The run at the engine's peak, and what it costs."""

    at: str
    loss: Quantity | None
    fastest: str
    boost_cost: str
    power_cost: str
    assumption: str
    choked: str


def word_of(verdict: CheckVerdict) -> VerdictWord:
    return VerdictWord(verdict.value)


def worst_of(words: Sequence[VerdictWord]) -> VerdictWord:
    return min(words, key=WORST_FIRST.index, default=VerdictWord.NOT_MEASURED)


def overall(answers: Answers | None) -> Verdict:
    """The worst verdict of all checks, with the chance that all pass at once where it is the answer."""
    if answers is None or not answers.checks:
        return Verdict(VerdictWord.NOT_MEASURED)
    worst = worst_of([word_of(check.verdict) for check in answers.checks])
    return _with_percent(worst, answers.all_pass, answers.off)


def _with_percent(word: VerdictWord, probability: float | None, off: float) -> Verdict:
    """A verdict with its chance, where the chance says more than the word does."""
    telling = word is VerdictWord.GO or (word is VerdictWord.TIGHT and (probability or 0.0) >= 0.5)
    if probability is None or not telling:
        return Verdict(word)
    return Verdict(word, whole_percent(probability), off > 0.0)


def whole_percent(probability: float) -> int:
    """Whole per cent, rounded down: neither to a certainty that is not there, nor to the chance asked for."""
    if probability >= 1.0:
        return 100
    return max(0 if probability == 0.0 else 1, int(100 * probability))


def rough_words(off: float) -> str:
    """What a mark "rough" beside a chance says. off: [-]."""
    return f"Rough: counted on drawn readings, its chance {off_words(off)}."


def off_words(off: float) -> str:
    """How far a chance may be off [-], said."""
    return f"may be {ceil(off * 100.0)} points off"


def has_open_no_go(answers: Answers | None) -> bool:
    """A no-go that nobody cured or conceded holds the work."""
    return answers is not None and any(check.holds_work for check in answers.checks)


def count_words(answers: Answers | None) -> str:
    """How many checks there are and how many of them are open."""
    if answers is None or not answers.checks:
        return "no checks yet"
    words = [word_of(check.verdict) for check in answers.checks]
    parts = [f"{len(words)} checks"]
    parts += [f"{words.count(word)} {word.value}" for word in WORST_FIRST[:3] if word in words]
    conceded = sum(1 for check in answers.checks if check.conceded)
    parts += [f"{conceded} conceded"] if conceded else []
    parts += [f"chance {off_words(answers.off)}"] if overall(answers).rough else []
    return ", ".join(parts)


def check_line(
    check: Check, plan: RunPlan, build_id: int, subsystem_id: int, system: System, signed: str = ""
) -> CheckLine:
    """`signed`: who conceded it and when."""
    word = word_of(check.verdict)
    caution = check.rule.caution
    cure = check.cure
    asked = may_concede(check.rule) and word in {VerdictWord.NO_GO, VerdictWord.TIGHT}
    reading = (
        check.settles if cure is None or cure.variable != getattr(check.settles, "variable", None) else None
    )
    return CheckLine(
        code=check.rule.code,
        title=check.rule.title,
        verdict=_with_percent(word, check.probability, check.off),
        why=_why(check, word, system),
        others=_other_words(check, system),
        settles=say(reading.phrase, system) if reading is not None else "",
        cure=say(cure.phrase, system) if cure is not None else "",
        cure_href=_cure_href(check, plan, build_id, subsystem_id),
        injury=not may_concede(check.rule),
        caution=Caution(caution.signal.value, caution.text) if caution is not None else None,
        conceded=check.conceded or "",
        may_concede=asked and check.conceded is None,
        handbook=urls.rule_in_build(build_id, check.rule.code),
        signed=signed if check.conceded else "",
        changed=tuple(_changed_words(one, system) for one in check.changed),
    )


def _changed_words(changed: Changed, system: System) -> str:
    """E.g. "Mach number at the peak: 0.35 instead of 0.3, by the maker's map"."""
    limit = changed.limit
    value, usual = (
        show_text(one, limit.kind, system, unit=limit.unit) for one in (changed.value, limit.default)
    )
    return f"{limit.words[:1].upper()}{limit.words[1:]}: {value} instead of {usual}. {changed.reason}"


def _why(check: Check, word: VerdictWord, system: System) -> str:
    """The first line of a check; a no-go whose every item would just pass says that its doubt fails it."""
    why = say(check.phrase, system)
    why += f" {say(check.disputed, system)}" if check.disputed is not None else ""
    why += f" {rough_words(check.off)}" if check.off > 0.0 else ""
    if word is not VerdictWord.NO_GO or check.probability is None or any(i.margin < 0.0 for i in check.items):
        return why
    return f"{why} With the doubt of the readings it passes in {check.probability * 100.0:.0f} of 100 cases."


def _other_words(check: Check, system: System) -> tuple[str, ...]:
    """What a check says beside its first line: further items that fail or are missing."""
    shown = say(check.phrase, system)
    lines = [say(item.phrase, system) for item in check.items if item.margin < 0.0]
    lines += [say(item.phrase, system) for item in check.missing]
    return tuple(dict.fromkeys(line for line in lines if line != shown))


def _cure_href(check: Check, plan: RunPlan, build_id: int, subsystem_id: int) -> str:
    """Where the worst item, or what is missing, can be changed: on this page, the engine sheet or a port."""
    variable = check.cure.variable if check.cure is not None else None
    if variable is None and check.missing:
        variable = check.missing[0].variable
    if variable is not None:
        if check.cure is not None and check.cure.value is not None and piece_there(plan, variable):
            # The diameters of a piece that is there already stay: another takes its place.
            return f"?piece={variable.split('.')[1]}#swap-kind"
        return variable_href(variable, plan, build_id, subsystem_id)
    finding = check.finding
    if finding is None or finding.number is None or not plan.pieces:
        return ""
    if finding.concerns == "port":
        return f"{urls.port(build_id, finding.number)}#port-end_form"
    place = finding.number - 1 if finding.concerns == "joint" else finding.number
    piece = plan.pieces[min(max(place, 1), len(plan.pieces)) - 1]
    return f"?piece={piece.id}#editor" if finding.concerns in {"piece", "joint"} else ""


def variable_href(variable: str, plan: RunPlan, build_id: int, subsystem_id: int) -> str:
    """Where a size or figure is entered; what belongs to the run stands on the design's own page, "?...".

    `subsystem_id`: the one that the run belongs to, which may not be the only one of its kind.

    Empty where no page takes it.
    """
    owner, number, size = (*variable.split("."), "")[:3]
    if owner == "piece":
        return f"?piece={number}#editor"
    if owner == "joint":
        return _joint_href(plan, int(number))
    if owner == "bung":
        holder = next((one.id for one in plan.pieces for bung in one.bungs if str(bung.id) == number), None)
        return f"?piece={holder}#editor" if holder is not None else ""
    if owner == FIGURE:
        key = variable.partition(".")[2]
        own = figure_of(variable) in FIGURES.get(plan.place, ())
        return urls.figure_field(build_id, subsystem_id, key) if own else urls.figure(build_id, key)
    if owner == "neighbour":
        return urls.neighbour_found(build_id, number)
    if owner in {"engine", "meter"}:
        return f"{urls.engine(build_id)}#f-{'meter_bore' if owner == 'meter' else number}"
    if owner == "port" and number.isdigit():
        return urls.port_measuring(build_id, int(number), size)
    return ""


def _joint_href(plan: RunPlan, joint_id: int) -> str:
    """The joint, in the editor of the piece it stands after (the first piece for the one at the start)."""
    place = next((place for place, joint in enumerate(plan.joints) if joint.id == joint_id), 0)
    if not plan.pieces:
        return ""
    return f"?piece={plan.pieces[max(place, 1) - 1].id}#j-kind-{joint_id}"


def worst_by_piece(answers: Answers | None) -> dict[int, VerdictWord]:
    """The worst verdict on each piece, by its number on the drawing."""
    worst: dict[int, VerdictWord] = {}
    for check in answers.checks if answers is not None else ():
        if check.verdict is CheckVerdict.GO:
            continue
        for item in check.items:
            if item.concerns == "piece" and item.number is not None and item.margin < 0.0:
                word = word_of(check.verdict)
                worst[item.number] = worst_of([word, worst.get(item.number, word)])
    return worst


def check_lines(
    answers: Answers | None,
    plan: RunPlan,
    build_id: int,
    subsystem_id: int,
    system: System,
    signed: Mapping[str, str] = MappingProxyType({}),
) -> list[CheckLine]:
    """Every check, the worst first. `signed`: by rule code, who conceded it and when."""
    checks = answers.checks if answers is not None else ()
    lines = [
        check_line(check, plan, build_id, subsystem_id, system, signed.get(check.rule.code, ""))
        for check in checks
    ]
    return sorted(lines, key=lambda line: (bool(line.conceded), WORST_FIRST.index(line.verdict.word)))


def standing(
    subsystem: Subsystem, design: DesignLike | None, answers: Answers | None, designs: int, system: System
) -> DesignStanding:
    """Where a subsystem stands with the design that is shown for it."""
    verdict = overall(answers)
    checks = answers.checks if answers is not None else ()
    alike = [check for check in checks if word_of(check.verdict) is verdict.word]
    worst = next((check for check in alike if not check.conceded), alike[0] if alike else None)
    missing = tuple(dict.fromkeys(say(gap.phrase, system) for check in checks for gap in check.missing))
    if design is None and worst is None:
        why = "no design yet"
    elif worst is None:
        why = "no pieces yet"
    elif verdict.word is VerdictWord.GO:
        why = f"{len(checks)} checks pass"
    else:
        why = say(worst.phrase, system)
    return DesignStanding(
        subsystem_id=subsystem.id,
        letter=subsystem.letter,
        subsystem_name=subsystem.name,
        kind=subsystem.kind,
        design_id=design.key if design is not None else None,
        design_name=design.name if design is not None else "",
        designs=designs,
        word=verdict.word,
        percent=verdict.percent,
        rough=verdict.rough,
        why=why,
        checks=len(checks),
        open_no_go=has_open_no_go(answers),
        missing=missing,
        decided=design is not None and design.chosen,
    )


def flow_summary(answers: Answers | None, system: System) -> FlowSummary | None:
    """The run at the engine's peak, in words and quantities."""
    if answers is None or answers.flow is None:
        return None
    flow, cost = answers.flow, answers.cost
    share = (answers.loss_doubt or 0.0) / flow.loss if flow.loss > 0.0 else 0.0
    fastest = max(flow.pieces, key=lambda piece: piece.speed, default=None)
    choked = ""
    if flow.choked_at is not None and flow.greatest_flow is None:
        back = show_text(flow.back_pressure or 0.0, Kind.pressure, system)
        choked = f"The exhaust reaches Mach 1 in the run: it passes at {back} of back pressure alone."
    elif flow.choked_at is not None:
        most = show_text(flow.greatest_flow or 0.0, Kind.mass_flow, system)
        choked = f"The run chokes at {flow.choked_at}: it passes {most} at most."
    return FlowSummary(
        at=show_text(flow.flow, Kind.mass_flow, system),
        loss=None if choked else Quantity.of(flow.loss, Kind.pressure, system, answers.loss_doubt),
        fastest=_fastest_words(fastest, system),
        boost_cost=_as_sure(cost.boost, Kind.pressure, system, share) if cost and not choked else "",
        power_cost=f"{_as_sure(cost.power, Kind.power, system, share)}, {100 * cost.power_share:.1f} %"
        if cost and not choked
        else "",
        assumption=cost.assumption if cost is not None else "",
        choked=choked,
    )


def _as_sure(value: float, kind: Kind, system: System, share: float) -> str:
    """What follows from the loss, with the figures that its relative doubt leaves, e.g. "0.90 kPa"."""
    number, doubted, rest = show_text(value, kind, system, share * abs(value)).partition(" ± ")
    return f"{number} {rest.partition(' ')[2]}" if doubted else number


def _fastest_words(fastest: PieceFlow | None, system: System) -> str:
    if fastest is None:
        return ""
    return (
        f"{show_text(fastest.speed, Kind.speed, system)} in piece {fastest.number}, Mach {fastest.mach:.2f}"
    )
