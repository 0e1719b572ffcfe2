"""What holds the gate, out of what the rest of a build answers: lines, looks, checks."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.core.checks.answer import Answers, Check
from server.core.checks.rule import RuleClass, Verdict
from server.core.first_start.holds import CUT, FIRST, Root, StageHold, stage_of_check, stage_of_line_rule
from server.core.first_start.looks import Connection, Looked
from server.core.lines.ledger import LineMap
from server.core.lines.rules.rule import Danger, RuleAnswer, Word
from server.core.phrase import say
from server.core.units import System

OPEN_END = "open-end"


def connections_of(line_map: LineMap, states: Mapping[str, str]) -> tuple[Connection, ...]:
    """Every line in the car, and every point that no line joins. states: by item, how each is entered.

    Source: definition.
    """
    lines = (
        Connection(f"line.{line.id}", line.name, states.get(f"line.{line.id}", ""), None not in line.ends)
        for line in line_map.lines
    )
    points = (
        Connection(
            f"point.{port.id}", port.name, states.get(f"point.{port.id}", ""), not line_map.is_open(port)
        )
        for port in line_map.ports
        if port.id not in line_map.line_at
    )
    return (*lines, *points)


def line_holds(answers: Iterable[RuleAnswer], system: System) -> tuple[StageHold, ...]:
    """What rules of the lines hold: what breaks one; what can hurt and is not known. Source: definition."""
    found = []
    for answer in answers:
        injury = answer.rule.danger is Danger.INJURY
        for finding in answer.findings:
            if finding.word is Word.GO or (finding.word is Word.NOT_KNOWN and not injury):
                continue
            open_end = answer.rule.code == OPEN_END
            stage = stage_of_line_rule(answer.rule.code)
            words = say(finding.phrase, system)
            root = Root.OPEN_END if open_end else Root.LINE
            found.append(StageHold(stage, root, words, finding.item, injury))
    return tuple(found)


def look_holds(connections: Sequence[Looked]) -> tuple[StageHold, ...]:
    """That nothing is entered yet, or that closed connections still want a look. Source: definition."""
    if not connections:
        words = "No line is entered yet: nobody can know what was opened."
        return (StageHold(FIRST, Root.LOOK, words, "ledger", True),)
    wanting = [one for one in connections if one.connection.closed and not one.enough]
    if not wanting:
        return ()
    unseen = sum(not one.looks for one in wanting)
    noun = "connection wants" if len(wanting) == 1 else "connections want"
    words = f"{len(wanting)} {noun} a look; {unseen} of them had none yet"
    return (StageHold(FIRST, Root.LOOK, words, "looks", True),)


@dataclass(frozen=True, slots=True)
class Answered:
    """What the checks of a subsystem answer. item: where it is solved, "design.3" or "subsystem.2"."""

    name: str
    item: str
    answers: Answers | None


def check_holds(answered: Iterable[Answered], system: System) -> tuple[StageHold, ...]:
    """What checks hold: a no-go that nobody conceded, and what can hurt and is not measured.

    Those of one subsystem that are not measured are one hold. Source: definition.
    """
    found = []
    for one in answered:
        unmeasured: dict[str, list[Check]] = {}
        for check in one.answers.checks if one.answers is not None else ():
            stage, injury = stage_of_check(check.rule.code), check.rule.rule_class is RuleClass.INJURY
            if check.verdict is Verdict.NO_GO and (injury or check.holds_work):
                words = f"{one.name}: {say(check.phrase, system)}"
                found.append(StageHold(stage, Root.CHECK, words, one.item, injury))
            elif check.verdict is Verdict.NOT_MEASURED and injury:
                unmeasured.setdefault(stage, []).append(check)
        for stage, checks in unmeasured.items():
            titles = ", ".join(check.rule.title for check in checks)
            words = f"{one.name}, not measured: {titles}"
            found.append(StageHold(stage, Root.CHECK, words, one.item, True))
    return tuple(found)


def leak_hold(charge_side: bool, passed: bool | None) -> tuple[StageHold, ...]:
    """That the charge side of a car that has one was not pressure-tested, or that its last test found a leak.

    passed: of the last test, None where there is none. Source: definition.
    """
    if not charge_side or passed:
        return ()
    none = passed is None
    words = "No pressure test of the charge side is noted" if none else "The last pressure test found a leak"
    return (StageHold(FIRST, Root.TEST, words, "leak"),)


def cut_hold(line_map: LineMap) -> tuple[StageHold, ...]:
    """That nobody said the over-boost cut to be proved. Source: definition."""
    if line_map.over_boost_cut:
        return ()
    return (StageHold(CUT, Root.LINE, "The over-boost cut is not said to be proved", "cut", True),)
