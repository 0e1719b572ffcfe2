"""The rules of the line map as a page: each with its reasoning, its origin and its caution."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.lines.rules.rule import Danger, LineRule
from server.core.lines.states import Kind, State, level_of, level_words
from server.core.sources import Source, Sureness
from server.features.builds.page import heading_without_build
from server.web.view import Caution, Page

_TOLD = (Kind.INTAKE, Kind.CHARGE, Kind.MANIFOLD)
"""The spaces whose pressure turns with the state, as the page tells it."""

_SAYS_SO_ITSELF = frozenset({Sureness.common_practice, Sureness.from_memory, Sureness.geometry})
"""How sure a source is, where its label tells that already."""


@dataclass(frozen=True, slots=True)
class LineRuleEntry:
    """One rule. `code` is its anchor on the page; `sources`: where it comes from, in words."""

    code: str
    title: str
    injury: bool
    asks: str
    because: str
    sources: tuple[str, ...]
    caution: Caution | None


@dataclass(frozen=True, slots=True)
class StateEntry:
    """An engine state, and where the main spaces stand in it, each in words."""

    state: str
    spaces: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LineRulesPage(Page):
    """Every rule of the line map, and the engine states in which it is asked."""

    template: ClassVar[str] = "lines/rules.html"

    states: tuple[StateEntry, ...]
    rules: tuple[LineRuleEntry, ...]


def line_rules_page(rules: Iterable[LineRule], today: date) -> LineRulesPage:
    return LineRulesPage(
        **heading_without_build("Rules of the line map", today),
        states=tuple(_state(state) for state in State),
        rules=tuple(_entry(rule) for rule in rules),
    )


def _state(state: State) -> StateEntry:
    told = (f"{kind.value}: {level_words(level_of(kind, state))}" for kind in _TOLD)
    return StateEntry(state.value, tuple(told))


def _entry(rule: LineRule) -> LineRuleEntry:
    caution = None if rule.caution is None else Caution(rule.caution.signal, rule.caution.text)
    return LineRuleEntry(
        rule.code,
        rule.title,
        rule.danger is Danger.INJURY,
        rule.asks,
        rule.because,
        tuple(_words(source) for source in rule.sources),
        caution,
    )


def _words(source: Source) -> str:
    if source.sureness in _SAYS_SO_ITSELF:
        return source.label
    return f"{source.label} ({source.sureness})"
