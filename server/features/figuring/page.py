"""The sheet of what is fitted in a subsystem: checks first, then the figures they rest on."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, Protocol

from server.core.checks.answer import Answers
from server.core.checks.figures import Figure
from server.core.tube.run import RunPlan
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.verdicts.page import CheckLine, check_lines, count_words, overall
from server.web import urls
from server.web.view import FormState, Option, Page, Verdict, VerdictWord
from server.web.words import moment_text

NOT_SAID = Option("", "not said yet")


class Subsystem(Protocol):
    """What the page needs to know of a subsystem."""

    @property
    def id(self) -> int: ...
    @property
    def letter(self) -> str: ...
    @property
    def name(self) -> str: ...


class Row(Protocol):
    """What is stored of figures, as far as the page needs it."""

    version: int
    typed: dict[str, str]
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class FigureField:
    """One figure to type. options: of a choice; rows: of a table, how many lines its field shows."""

    key: str
    id: str
    label: str
    value: str
    hint: str
    options: tuple[Option, ...] = ()
    rows: int = 0


@dataclass(frozen=True, kw_only=True)
class FiguresPage(Page):
    """What is fitted: the verdict, the checks, and the form of its figures."""

    template: ClassVar[str] = "figuring/figures.html"

    build_id: int
    subsystem_id: int
    name: str
    verdict: Verdict
    counts: str
    open_checks: tuple[CheckLine, ...]
    passed_checks: tuple[CheckLine, ...]
    version: int
    typed_by: str
    fields: tuple[FigureField, ...]
    form: FormState


def figures_page(
    build: Face,
    subsystem: Subsystem,
    asked: Sequence[Figure],
    row: Row | None,
    plan: RunPlan,
    answers: Answers,
    now: datetime,
    refused: Refused | None,
) -> FiguresPage:
    """`plan`: the empty run that the figures were checked on."""
    lines = check_lines(answers, plan, build.id, build.system)
    return FiguresPage(
        **heading(build, f"{subsystem.letter} · figures", now.date(), within="Subsystems"),
        build_id=build.id,
        subsystem_id=subsystem.id,
        name=subsystem.name,
        verdict=overall(answers),
        counts=count_words(answers),
        open_checks=tuple(line for line in lines if line.verdict.word is not VerdictWord.GO),
        passed_checks=tuple(line for line in lines if line.verdict.word is VerdictWord.GO),
        version=row.version if row is not None else 0,
        typed_by=f"{moment_text(row.at, now)}, {row.by}" if row is not None else "",
        fields=tuple(_field(one, row.typed.get(one.key, "") if row is not None else "") for one in asked),
        form=FormState.of(refused),
    )


def _field(one: Figure, typed: str) -> FigureField:
    return FigureField(
        one.key,
        urls.figure_field_id(one.key),
        one.words[:1].upper() + one.words[1:],
        typed,
        one.hint,
        (NOT_SAID, *(Option(value, label) for value, label in one.choices)) if one.choices else (),
        max(4, typed.count("\n") + 2) if one.columns else 0,
    )
