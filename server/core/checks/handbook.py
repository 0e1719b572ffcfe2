"""What the handbook prints about the checks, all of it read from the register."""

from dataclasses import dataclass

from server.core.checks.limits import Limit
from server.core.checks.register import RULES
from server.core.checks.register import rule as rule_named
from server.core.checks.rule import Caution, Rule, RuleClass, may_concede
from server.core.sources import Source
from server.core.tube.run import Place


@dataclass(frozen=True, slots=True)
class Entry:
    """One rule for the handbook. asked_probability: chance of passing that counts as go [-]."""

    code: str
    title: str
    places: tuple[Place, ...]
    rule_class: RuleClass
    may_concede: bool
    asked_probability: float
    formula: str
    limit: str
    limits: tuple[Limit, ...]
    sources: tuple[Source, ...]
    caution: Caution | None


def handbook() -> tuple[Entry, ...]:
    """Every rule of the register, in its order."""
    return tuple(_entry(rule) for rule in RULES)


def entry(code: str) -> Entry:
    """The rule with this code. Raises KeyError naming the known codes."""
    return _entry(rule_named(code))


def _entry(rule: Rule) -> Entry:
    return Entry(
        rule.code,
        rule.title,
        tuple(place for place in Place if place in rule.places),
        rule.rule_class,
        may_concede(rule),
        rule.asked_probability,
        rule.formula,
        rule.limit,
        rule.limits,
        rule.sources,
        rule.caution,
    )
