"""The limits of the checks as a page: usual value and source of each, and what this build has instead."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar, Protocol

from server.core.checks.limits import LIMITS, Limit
from server.core.checks.register import RULES
from server.core.checks.rule import Rule, RuleClass
from server.core.units import System, show
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Link, Page
from server.web.words import moment_text

LABELS = {"value": "Limit", "reason": "Reason"}
EVERY_CHECK = "Every check"
CUTTING = "Cutting and trimming"
"""Limits that no check rests on."""


class Row(Protocol):
    """What is stored of a change, as far as pages need it."""

    version: int
    value: float | None
    typed: str
    reason: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit. `instead`: what this build has, empty where the usual one counts; `changing`: its form is
    shown.
    """

    key: str
    words: str
    usual: str
    other: str
    source: str
    rules: tuple[Link, ...]
    injury: bool
    version: int
    form: FormState
    changing: bool
    instead: str = ""
    reason: str = ""
    changed: str = ""
    typed: str = ""


@dataclass(frozen=True, slots=True)
class Chapter:
    """The limits of one place."""

    title: str
    limits: tuple[LimitLine, ...]


@dataclass(frozen=True, kw_only=True)
class LimitsPage(Page):
    """Every limit of the checks. Those that were changed stand first."""

    template: ClassVar[str] = "limits/limits.html"

    build_id: int
    changed: tuple[LimitLine, ...]
    chapters: tuple[Chapter, ...]


def told(limit: Limit, row: Row) -> str:
    """A change for the log: "Limit changed: Mach number at the peak, 0.35 instead of 0.3. Reason"."""
    if row.value is None:
        return f"Limit as usual again: {limit.words}, {_text(limit, limit.default, System.metric)[0]}"
    value, usual = (_text(limit, one, System.metric)[0] for one in (row.value, limit.default))
    return f"Limit changed: {limit.words}, {value} instead of {usual}. {row.reason}"


def limits_page(
    build: Face, rows: Mapping[str, Row], now: datetime, changing: str, refused: Refused | None
) -> LimitsPage:
    """`changing`: key of the limit whose form is shown, with what was refused of it."""
    lines = {
        limit.key: _line(
            build,
            limit,
            rows.get(limit.key),
            FormState.of(refused) if limit.key == changing else None,
            now,
        )
        for limit in LIMITS.values()
    }
    return LimitsPage(
        **heading(build, "Limits", now.date(), within="Build"),
        build_id=build.id,
        changed=tuple(line for line in lines.values() if line.instead),
        chapters=_chapters(line for line in lines.values() if not line.instead),
    )


def _chapters(lines: Iterable[LimitLine]) -> tuple[Chapter, ...]:
    """The limits under the first rule that rests on them, in the register's order."""
    found: dict[str, list[LimitLine]] = {EVERY_CHECK: []}
    for rule in RULES:
        found.setdefault(rule.title, [])
    for line in lines:
        found.setdefault(_chapter(line), []).append(line)
    return tuple(Chapter(title, tuple(some)) for title, some in found.items() if some)


def _chapter(line: LimitLine) -> str:
    if line.key.startswith("trim."):
        return CUTTING
    return line.rules[0].text if line.rules else EVERY_CHECK


def _line(build: Face, limit: Limit, row: Row | None, form: FormState | None, now: datetime) -> LimitLine:
    usual, other = _text(limit, limit.default, build.system)
    rules = [rule for rule in RULES if limit.key in rule.limit_keys]
    line = LimitLine(
        key=limit.key,
        words=limit.words[:1].upper() + limit.words[1:],
        usual=usual,
        other=other,
        source=limit.source.label,
        rules=tuple(_link(rule) for rule in rules),
        injury=any(rule.rule_class is RuleClass.INJURY for rule in rules),
        version=row.version if row is not None else 0,
        form=form or FormState(),
        changing=form is not None,
    )
    if row is None or row.value is None:
        return line
    return replace(
        line,
        instead=_text(limit, row.value, build.system)[0],
        reason=row.reason,
        changed=f"{moment_text(row.at, now)}, {row.by}",
        typed=row.typed,
    )


def _link(rule: Rule) -> Link:
    return Link(urls.handbook_rule(rule.code), rule.title)


def _text(limit: Limit, value: float, system: System) -> tuple[str, str]:
    shown = show(value, limit.kind, system, unit=limit.unit)
    return shown.text, shown.other
