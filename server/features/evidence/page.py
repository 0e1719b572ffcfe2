"""A check told in full: its answer, its numbers, its limits with their origin, its formula.

Page and paper are both made of these values alone, so that they can't tell two stories.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from server.core.checks.answer import Check, Finding
from server.core.checks.book.contents import BOOK
from server.core.checks.book.reported import reported
from server.core.checks.handbook import entry
from server.core.checks.limits import Changed, Limit
from server.core.phrase import say
from server.core.sources import Source
from server.core.units import System, show
from server.features.handbook.page import Maths, line_maths, rule_entry, sign_maths, source_line
from server.features.verdicts.page import CheckLine, whole_percent
from server.web.paper import SMALL, Block
from server.web.paper_list import Column, Entry, Ruled
from server.web.paper_maths import Formula, SignRow
from server.web.paper_words import Boxed, Gap, Heading, Words
from server.web.view import Verdict
from server.web.words import date_text

UNKNOWN_HAND = "nobody named"
NOTHING = "—"
"""What a cell says where nothing is known."""


@dataclass(frozen=True, slots=True)
class Head:
    """A column of a table: its heading, its share of the width, and whether figures stand right in it."""

    text: str
    share: float
    figures: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table: a text for each column, and a small line under the widest one."""

    cells: tuple[str, ...]
    under: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table as a sheet shows it, on a page and on paper alike. id: where it stands on the page."""

    id: str
    title: str
    heads: tuple[Head, ...]
    rows: tuple[Row, ...]
    note: str = ""

    @property
    def widest(self) -> int:
        """Which column the small lines stand in."""
        shares = [head.share for head in self.heads]
        return shares.index(max(shares))

    def without_empty(self) -> "Table":
        """The same without columns in which no row has anything."""
        kept = [
            place for place in range(len(self.heads)) if any(row.cells[place] != NOTHING for row in self.rows)
        ]
        rows = tuple(Row(tuple(row.cells[place] for place in kept), row.under) for row in self.rows)
        return Table(self.id, self.title, tuple(self.heads[place] for place in kept), rows, self.note)


@dataclass(frozen=True, slots=True)
class SignLine:
    """A sign of the formula: its meaning, its unit, and its value here where the check reports it."""

    sign: Maths
    meaning: str
    unit: str
    value: str


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """One check in full. signed: who conceded it and when; sources: of formula and limits."""

    line: CheckLine
    class_words: str
    chance: str
    numbers: Table | None
    limit: str
    limits: Table | None
    sources: str
    formula: tuple[Maths, ...]
    tight: tuple[Maths, ...]
    notes: tuple[str, ...]
    signs: tuple[SignLine, ...]


class ChangeRow(Protocol):
    """What is stored of a changed limit, as far as a sheet needs it."""

    @property
    def by(self) -> str: ...
    @property
    def at(self) -> datetime: ...


NUMBERS = (Head("Found", 5.2), Head("Value", 2.0, True), Head("Limit", 1.4, True), Head("Passes", 1.0, True))
LIMITS = (Head("Number", 4.4), Head("Usual", 1.6, True), Head("In this build", 3.4))


def check_sheet(
    check: Check, line: CheckLine, system: System, changes: Mapping[str, ChangeRow], now: datetime
) -> CheckSheet:
    """`changes`: by key of the limit, who changed it and when."""
    rule = rule_entry(entry(check.rule.code), system, check.changed)
    told = BOOK[check.rule.code]
    values = reported(told, check)
    return CheckSheet(
        line=line,
        class_words=rule.class_words,
        chance=_chance(check.probability, check.off),
        numbers=_numbers(check, system),
        limit=rule.limit,
        limits=_limits(check, system, changes, now),
        sources="; ".join(source_text(one) for one in check.rule.sources),
        formula=tuple(line_maths(one) for one in told.lines),
        tight=tuple(line_maths(one) for one in told.tight),
        notes=told.notes,
        signs=tuple(
            SignLine(
                sign_maths(sign),
                sign.meaning,
                sign.unit_text(system),
                sign.text(values[sign], system) if sign in values else "",
            )
            for sign in told.signs
        ),
    )


def verdict_words(verdict: Verdict) -> str:
    """A verdict as it stands in a frame: "GO 97 %"."""
    word = verdict.word.value.upper()
    percent = "" if verdict.percent is None else f" {verdict.percent} %"
    return word + percent + (" ROUGH" if verdict.rough else "")


def _chance(probability: float | None, off: float) -> str:
    """The chance of passing in whole per cent, empty where nothing doubtful stands behind the answer."""
    if probability is None:
        return ""
    return f"{whole_percent(probability)} %" + (" rough" if off > 0.0 else "")


def _numbers(check: Check, system: System) -> Table | None:
    """Every finding, the worst first; what two of them say in the same words is told once."""
    rows: dict[str, Row] = {}
    for one in check.items:
        row = _number(one, system)
        rows.setdefault(row.cells[0], row)
    return Table(f"numbers-{check.rule.code}", "", NUMBERS, tuple(rows.values())) if rows else None


def _number(one: Finding, system: System) -> Row:
    value = limit = ""
    if one.kind is not None and one.value is not None:
        value = show(one.value, one.kind, system, one.doubt).text
    if one.kind is not None and one.limit is not None:
        limit = show(one.limit, one.kind, system).text
    passes = _chance(one.probability, one.off) or ("yes" if one.margin >= 0.0 else "no")
    return Row((say(one.phrase, system), value, limit, passes))


def _limits(check: Check, system: System, changes: Mapping[str, ChangeRow], now: datetime) -> Table | None:
    """The limits of the rule; how sure it must be is a limit too, told where a build has changed it."""
    own = {one.limit.key: one for one in check.changed}
    limits = dict.fromkeys((*check.rule.limits, *(one.limit for one in check.changed)))
    rows = tuple(_limit(limit, own.get(limit.key), system, changes, now) for limit in limits)
    return Table(f"limits-{check.rule.code}", "", LIMITS, rows) if rows else None


def _limit(
    limit: Limit, changed: Changed | None, system: System, changes: Mapping[str, ChangeRow], now: datetime
) -> Row:
    words = limit.words[:1].upper() + limit.words[1:]
    usual = show(limit.default, limit.kind, system, unit=limit.unit).text
    source = source_text(limit.source)
    if changed is None:
        return Row((words, usual, "as usual"), source)
    value = show(changed.value, limit.kind, system, unit=limit.unit).text
    row = changes.get(limit.key)
    signed = "" if row is None else f" ({row.by or UNKNOWN_HAND}, {date_text(row.at.astimezone(now.tzinfo))})"
    return Row((words, usual, f"CHANGED to {value}: {changed.reason}{signed}"), source)


def source_text(source: Source) -> str:
    """A source, and how far it can be leaned on."""
    line = source_line(source)
    return f"{line.text} ({line.sureness})" if line.sureness else line.text


# On paper


def table_block(table: Table) -> Ruled:
    """A table as it is ruled on paper."""
    return Ruled(
        table.title,
        tuple(Column(head.text, head.share, head.figures) for head in table.heads),
        tuple(Entry(row.cells, row.under) for row in table.rows),
        table.note,
        ticks=False,
    )


def check_blocks(sheet: CheckSheet) -> list[Block]:
    """One check on paper."""
    line = sheet.line
    blocks: list[Block] = [
        Heading(line.title, 10.0, verdict_words(line.verdict)),
        Words(
            f"{sheet.class_words}." + (f" Chance of passing: {sheet.chance}." if sheet.chance else ""), SMALL
        ),
        Words(line.why),
    ]
    blocks += [Words(text) for text in line.others]
    if line.conceded:
        blocks.append(Words(f"CONCEDED: {line.conceded} ({line.signed})", bold=True))
    blocks += [Words(f"Cure: {line.cure}")] if line.cure else []
    blocks += [Words(line.settles)] if line.settles else []
    blocks += [table_block(sheet.numbers), Gap()] if sheet.numbers else []
    blocks.append(Words(f"Limit: {sheet.limit} Source: {sheet.sources}.", SMALL))
    blocks += [table_block(sheet.limits), Gap()] if sheet.limits else []
    blocks += [Formula(one.marks, one.when) for one in sheet.formula]
    if sheet.tight:
        blocks.append(Words("Still tight where that fails, but", SMALL, with_next=True))
        blocks += [Formula(one.marks, one.when) for one in sheet.tight]
    blocks += [Words(note, SMALL) for note in sheet.notes]
    blocks += [SignRow(one.sign.marks, sign_words(one)) for one in sheet.signs]
    if line.caution is not None:
        blocks.append(Boxed(line.caution.signal, line.caution.text))
    return blocks


def sign_words(one: SignLine) -> str:
    """What stands beside a sign: "bore of the hose [mm], here 60 mm"."""
    unit = f" [{one.unit}]" if one.unit else ""
    return f"{one.meaning}{unit}" + (f", here {one.value}" if one.value else "")
