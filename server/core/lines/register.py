"""Every rule of the line map, and the answers of one map."""

from server.core.lines.ledger import LineMap
from server.core.lines.rules import air, boost, chambers, circuits, ends
from server.core.lines.rules.rule import GRAVEST_FIRST, LineRule, RuleAnswer, Word
from server.core.lines.solve import Solved

RULES: tuple[LineRule, ...] = (*ends.RULES, *air.RULES, *chambers.RULES, *boost.RULES, *circuits.RULES)
"""In the order in which a page lists them."""


def rule(code: str) -> LineRule:
    """The rule with this code. Raises KeyError for a code that there is not."""
    return {one.code: one for one in RULES}[code]


def answer(line_map: LineMap) -> tuple[RuleAnswer, ...]:
    """Every rule that has something to say about a map, answered, in the order of the register."""
    return answer_solved(Solved(line_map))


def answer_solved(solved: Solved) -> tuple[RuleAnswer, ...]:
    """As `answer`, for a map that is solved already."""
    found = []
    for one in RULES:
        findings = sorted(one.find(solved), key=lambda finding: GRAVEST_FIRST.index(finding.word))
        if findings:
            found.append(RuleAnswer(one, tuple(findings)))
    return tuple(found)


def broken(answers: tuple[RuleAnswer, ...]) -> frozenset[str]:
    """The codes of the rules that are broken."""
    return frozenset(one.rule.code for one in answers if one.word is Word.NO_GO)
