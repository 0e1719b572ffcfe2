"""Designs of one subsystem side by side, line by line, so that one can be chosen with its reason."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar

from server.core.checks.answer import Answers
from server.core.tube.making import Making
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.verdicts.page import (
    WORST_FIRST,
    DesignLike,
    Subsystem,
    count_words,
    flow_summary,
    has_open_no_go,
    overall,
    word_of,
)
from server.web import urls
from server.web.view import FormState, Link, News, Page, Verdict
from server.web.words import counted, minutes_text, money


@dataclass(frozen=True, slots=True)
class Prospect:
    """What the build would be like with one design of the subsystem chosen.

    to_pay: what would still have to be bought because of it [minor units]; unpriced: lines of it that nobody
    has offered; wait_days: until the last part is here, none where it is not known; waits_for: that part;
    held: tasks of the subsystem that parts would hold.
    """

    to_pay: int
    unpriced: int
    wait_days: int | None
    waits_for: str
    unsure: tuple[str, ...]
    held: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """One design with what was worked out for it."""

    design: DesignLike
    because: str
    pieces: int
    answers: Answers | None
    making: Making
    prospect: Prospect


@dataclass(frozen=True, slots=True)
class Column:
    """One design: its mark in the table, its verdict, and whether it was chosen."""

    mark: str
    id: int
    href: str
    name: str
    verdict: Verdict
    chosen: bool
    because: str
    open_no_go: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """One answer of one design. `best` where it is the better one of a line in which they differ."""

    mark: str
    text: str
    small: str = ""
    verdict: Verdict | None = None
    best: bool = False
    links: tuple[Link, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One question, answered by every design."""

    label: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, kw_only=True)
class ComparePage(Page):
    """The designs of one subsystem side by side. `alike` are the checks that all of them answer alike."""

    template: ClassVar[str] = "compare/compare.html"

    build_id: int
    subsystem_id: int
    subsystem: str
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    checks: tuple[Line, ...]
    alike: tuple[Line, ...]
    form: FormState
    refused_id: int | None
    news: News | None = None
    blank: FormState = field(default_factory=FormState)
    """The form of a design that was not refused."""


def compare_page(
    build: Face,
    subsystem: Subsystem,
    candidates: Sequence[Candidate],
    today: date,
    refused: Refused | None,
    refused_id: int | None,
) -> ComparePage:
    marks = [str(number) for number in range(1, len(candidates) + 1)]
    checks = _check_lines(candidates, marks)
    return ComparePage(
        **heading(build, f"{subsystem.letter} · compare", today, within="Subsystems"),
        build_id=build.id,
        subsystem_id=subsystem.id,
        subsystem=subsystem.name,
        columns=tuple(_column(build.id, one, mark) for one, mark in zip(candidates, marks, strict=True)),
        lines=_lines(candidates, marks, build),
        checks=tuple(line for line in checks if _differs(line)),
        alike=tuple(line for line in checks if not _differs(line)),
        form=FormState.of(refused),
        refused_id=refused_id,
    )


def _column(build_id: int, one: Candidate, mark: str) -> Column:
    return Column(
        mark,
        one.design.key,
        urls.design(build_id, one.design.key),
        one.design.name,
        overall(one.answers),
        one.design.chosen,
        one.because,
        has_open_no_go(one.answers),
    )


def _differs(line: Line) -> bool:
    return len({(cell.text, cell.verdict) for cell in line.cells}) > 1


def _lines(candidates: Sequence[Candidate], marks: Sequence[str], build: Face) -> tuple[Line, ...]:
    flows = [flow_summary(one.answers, build.system) for one in candidates]
    lines = [
        Line(
            "Checks",
            tuple(
                Cell(mark, count_words(one.answers), verdict=overall(one.answers))
                for one, mark in zip(candidates, marks, strict=True)
            ),
        ),
        _ranked(
            "Still to pay for it",
            marks,
            [_pay_words(one.prospect, build) for one in candidates],
            [_pay_rank(one.prospect) for one in candidates],
        ),
        _ranked(
            "Waits for parts",
            marks,
            [_wait_words(one.prospect) for one in candidates],
            [one.prospect.wait_days for one in candidates],
        ),
        _ranked(
            "Work at bench and car",
            marks,
            [_work_words(one.making) for one in candidates],
            [one.making.minutes for one in candidates],
        ),
        _ranked(
            "Loss at the peak",
            marks,
            [
                (flow.loss.text if flow and flow.loss else flow.choked if flow else "not known yet", "")
                for flow in flows
            ],
            [flow.loss.si if flow and flow.loss else None for flow in flows],
        ),
        Line(
            "It costs the engine",
            tuple(
                Cell(
                    mark,
                    flow.power_cost if flow and flow.power_cost else "not known yet",
                    f"{flow.boost_cost} of boost" if flow and flow.boost_cost else "",
                )
                for mark, flow in zip(marks, flows, strict=True)
            ),
        ),
        _ranked(
            "Pieces", marks, [(str(one.pieces), "") for one in candidates], [one.pieces for one in candidates]
        ),
        Line(
            "It would hold",
            tuple(_held_cell(one.prospect, mark) for one, mark in zip(candidates, marks, strict=True)),
        ),
    ]
    return tuple(lines)


def _ranked(
    label: str, marks: Sequence[str], words: Sequence[tuple[str, str]], ranks: Sequence[float | None]
) -> Line:
    """A line in which less is better; the least is marked where the designs differ."""
    known = [rank for rank in ranks if rank is not None]
    least = min(known) if known and len(known) == len(ranks) and len(set(known)) > 1 else None
    return Line(
        label,
        tuple(
            Cell(mark, text, small, best=least is not None and rank == least)
            for mark, (text, small), rank in zip(marks, words, ranks, strict=True)
        ),
    )


def _pay_words(prospect: Prospect, build: Face) -> tuple[str, str]:
    lines = counted(prospect.unpriced, "line")
    if prospect.to_pay == 0:
        return ("no price yet", lines) if prospect.unpriced else ("nothing", "")
    return money(prospect.to_pay, build.currency), f"and {lines} without a price" if prospect.unpriced else ""


def _pay_rank(prospect: Prospect) -> float | None:
    return None if prospect.unpriced else prospect.to_pay


def _wait_words(prospect: Prospect) -> tuple[str, str]:
    unsure = "; ".join(prospect.unsure)
    if prospect.wait_days is None:
        return "not known", unsure or f"nobody said for {prospect.waits_for}"
    if prospect.wait_days == 0:
        return "all here", unsure
    return counted(prospect.wait_days, "day"), unsure or prospect.waits_for


def _work_words(making: Making) -> tuple[str, str]:
    told = (
        (making.cuts, "cut", ""),
        (making.beads, "bead", ""),
        (making.welds, "weld", ""),
        (making.bungs, "side port", ""),
        (making.clamped, "clamped end", ""),
        (making.bolted, "bolted joint", ""),
        (making.cleaned, "pipe", " to clean"),
    )
    small = ", ".join(f"{counted(count, word)}{more}" for count, word, more in told if count)
    return f"about {minutes_text(making.minutes)}", small


def _held_cell(prospect: Prospect, mark: str) -> Cell:
    if not prospect.held:
        return Cell(mark, "nothing")
    return Cell(mark, counted(len(prospect.held), "task"), links=prospect.held)


def _check_lines(candidates: Sequence[Candidate], marks: Sequence[str]) -> tuple[Line, ...]:
    """Every rule that at least one design answers, the worst answer first."""
    titles: dict[str, str] = {}
    answered: list[dict[str, Verdict]] = []
    for one in candidates:
        own: dict[str, Verdict] = {}
        for check in one.answers.checks if one.answers is not None else ():
            titles.setdefault(check.rule.code, check.rule.title)
            own[check.rule.code] = Verdict(word_of(check.verdict))
        answered.append(own)

    def worst(code: str) -> int:
        return min(WORST_FIRST.index(own[code].word) for own in answered if code in own)

    return tuple(
        Line(
            titles[code],
            tuple(
                Cell(mark, "" if code in own else "does not ask", verdict=own.get(code))
                for mark, own in zip(marks, answered, strict=True)
            ),
        )
        for code in sorted(titles, key=worst)
    )
