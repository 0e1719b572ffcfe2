"""The connection ledger as pages: what is open, what breaks a rule, every line; and whether one may go."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, ClassVar, TypeVar

from server.core.lines.ledger import LineKind, LineMap
from server.core.lines.rules.rule import Danger, Finding, LineRule, RuleAnswer, Word
from server.core.lines.solve import Flow, LineFlow
from server.core.lines.states import Kind, Levels, State
from server.core.lines.ways import BLOW_BY, PUMP_DELIVERY, PUMP_SUCTION
from server.core.phrase import say
from server.core.units import System
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.ledger.page import (
    CAUTION,
    LOOSE,
    SORTS,
    CutForm,
    EntryForm,
    cut_form_of,
    entry_form_of,
    line_detail,
)
from server.web import urls
from server.web.view import Caution, FormState, NavLink, Page, Tally
from server.web.words import moment_text

if TYPE_CHECKING:
    from server.features.ledger.store import Rows
    from server.features.ledger.tables import Entry, LedgerLine, LineAct, LineDevice, LinePoint, LineSpace

_FORCED = {
    PUMP_SUCTION: "the air pump’s suction",
    PUMP_DELIVERY: "the air pump’s outlet",
    BLOW_BY: "gas past the pistons",
}
SHOWN, FOUND = 60, 20
"""Entries of one list, and findings of one sort, that are shown at once."""
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class FindingLine:
    """One thing found: by which rule, in which states, what to do or what decides, and where to enter it."""

    text: str
    do: str
    rule: str
    rule_href: str
    injury: bool
    states: str
    href: str


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """One line. joins: its points now; was: before, where that differs; flow: in the state that is shown."""

    id: int
    tag: int
    name: str
    detail: str
    joins: str
    was: str
    flow: str
    href: str
    may_go: str


@dataclass(frozen=True, slots=True)
class EntryRow:
    """A point, device or space, or what was taken out or set aside."""

    name: str
    detail: str
    href: str


@dataclass(frozen=True, slots=True)
class Tallies:
    """How many there are in each list of the ledger, and where the rest of them stands."""

    open_ends: Tally
    broken: Tally
    unknown: Tally
    lines: Tally
    out: Tally
    points: Tally
    devices: Tally
    spaces: Tally
    aside: Tally


@dataclass(frozen=True, kw_only=True)
class LedgerPage(Page):
    """Every connection of a build: open ends first, then the rules broken, then the rest.

    part: the list of which a later piece is asked for, empty for none.
    """

    template: ClassVar[str] = "connecting/ledger.html"

    build_id: int
    state: str
    states: tuple[NavLink, ...]
    open_ends: tuple[FindingLine, ...]
    broken: tuple[FindingLine, ...]
    unknown: tuple[FindingLine, ...]
    kept: int
    lines: tuple[LedgerRow, ...]
    out: tuple[EntryRow, ...]
    points: tuple[EntryRow, ...]
    devices: tuple[EntryRow, ...]
    spaces: tuple[EntryRow, ...]
    aside: tuple[EntryRow, ...]
    part: str
    tally: Tallies
    sorts: tuple[NavLink, ...]
    entry: EntryForm
    next_tag: int
    usual_missing: int
    cut: CutForm
    caution: Caution = CAUTION


@dataclass(frozen=True, slots=True)
class Told:
    """What is worked out of a ledger: the map, the rules' answers, each line's flow and each space's
    pressure by state.
    """

    map: LineMap
    answers: tuple[RuleAnswer, ...]
    flows: Mapping[State, Mapping[int, LineFlow]]
    levels: Mapping[State, Mapping[int, Levels]]


@dataclass(frozen=True, slots=True)
class Shown:
    """What is asked of the ledger's page: the state, whose form, where a list goes on, what was refused."""

    state: State = State.BOOST
    sort: str = "line"
    edit: int | None = None
    part: str = ""
    start: int = 0
    refused: Refused | None = None


def state_of(text: str) -> State:
    """The state named in an address; anything else is boost."""
    return State.__members__.get(text.upper().replace("-", "_"), State.BOOST)


def ledger_page(
    build: Face, rows: "Rows", told: Told, usual_missing: int, shown: Shown, now: datetime
) -> LedgerPage:
    findings = [(one.rule, finding) for one in told.answers for finding in one.findings]
    no_go = [(rule, found) for rule, found in findings if found.word is Word.NO_GO]
    words = LedgerWords(build.id, build.system, rows, told)
    of_cut = shown.refused is not None and "over_boost_cut" in shown.refused.typed
    form = FormState() if of_cut else FormState.of(shown.refused)
    tallies: dict[str, Tally] = {}

    def part(name: str, some: Iterable[T], most: int = SHOWN) -> list[T]:
        """What is shown of a list; how much there is of it is noted."""
        every = list(some)
        start = shown.start if name == shown.part and shown.start < len(every) else 0
        at = partial(urls.ledger.part, build.id, shown.state.name.lower(), name)
        tallies[name] = Tally.of(len(every), slice(start, start + most), most, at)
        return every[start : start + most]

    def found(name: str, some: Iterable[tuple[LineRule, Finding]]) -> tuple[FindingLine, ...]:
        return tuple(words.found(*one) for one in part(name, some, FOUND))

    return LedgerPage(
        **heading(build, "Lines", now.date()),
        build_id=build.id,
        state=shown.state.value,
        states=tuple(
            NavLink(urls.ledger.lines_in(build.id, one.name.lower()), one.value, one is shown.state)
            for one in State
        ),
        open_ends=found("open_ends", (one for one in no_go if one[0].code == "open-end")),
        broken=found("broken", (one for one in no_go if one[0].code != "open-end")),
        unknown=found("unknown", (one for one in findings if one[1].word is Word.NOT_KNOWN)),
        kept=sum(one.word is Word.GO for one in told.answers),
        lines=tuple(
            words.line(row, shown.state) for row in part("lines", (row for row in rows.lines if row.in_car))
        ),
        out=tuple(
            EntryRow(row.name, out_words(row, now), urls.ledger.may_go(build.id, row.key))
            for row in part("out", (row for row in rows.lines if row.taken_out and _stands(row)))
        ),
        points=tuple(
            words.entry("point", row, words.point(row))
            for row in part("points", filter(_stands, rows.points))
        ),
        devices=tuple(
            words.entry("device", row, words.device(row))
            for row in part("devices", filter(_stands, rows.devices))
        ),
        spaces=tuple(
            words.entry("space", row, row.kind) for row in part("spaces", filter(_stands, rows.spaces))
        ),
        aside=tuple(
            EntryRow(row.name, SORTS[sort].lower(), urls.ledger.put_back(build.id, sort, row.key))
            for sort, row in part(
                "aside", ((sort, row) for sort in SORTS for row in rows.of(sort) if not _stands(row))
            )
        ),
        part=shown.part,
        tally=Tallies(**tallies),
        sorts=tuple(
            NavLink(urls.ledger.adding(build.id, sort), text, sort == shown.sort)
            for sort, text in SORTS.items()
        ),
        entry=entry_form_of(build.system, rows, shown.sort, shown.edit, form),
        next_tag=rows.next_tag(),
        usual_missing=usual_missing,
        cut=cut_form_of(rows, FormState.of(shown.refused) if of_cut else FormState()),
    )


def _stands(row: "Entry") -> bool:
    return row.removed_at is None


def out_words(row: "LedgerLine", now: datetime) -> str:
    """When, why and by whom a line was taken out, and what closes its points."""
    when = f", {moment_text(row.out_at, now)}" if row.out_at is not None else ""
    return f"taken out, its points {row.taken_out}: {row.reason} ({row.by}{when})"


class LedgerWords:
    """The ledger's rows in words."""

    def __init__(self, build_id: int, system: System, rows: "Rows", told: Told) -> None:
        self.build_id, self.system, self.told = build_id, system, told
        self.points = {row.key: row for row in rows.points}
        self.spaces = {row.key: row.name for row in rows.spaces} | {0: Kind.ATMOSPHERE.value}

    def found(self, rule: LineRule, found: Finding) -> FindingLine:
        act = found.cure or found.settles
        return FindingLine(
            text=say(found.phrase, self.system),
            do=say(act, self.system) if act is not None else "",
            rule=rule.title,
            rule_href=f"{urls.line_rules()}#{rule.code}",
            injury=rule.danger is Danger.INJURY,
            states=", ".join(state.value for state in State if state in found.states),
            href=self._where(found.item),
        )

    def _where(self, item: str) -> str:
        sort, _, number = item.partition(".")
        entry = {"port": "point", "line": "line", "valve": "device", "region": "space"}[sort]
        if not number.isdigit() or int(number) == 0:  # all of them, or the open air
            return ""
        return urls.ledger.editing(self.build_id, entry, int(number))

    def line(self, row: "LedgerLine", state: State) -> LedgerRow:
        return LedgerRow(
            id=row.key,
            tag=row.tag,
            name=row.name,
            detail=line_detail(row, self.system),
            joins=self.joins(row.name, row.first_id, row.second_id),
            was=self.was(row),
            flow=self.flow(row, self.told.flows[state].get(row.key)),
            href=urls.ledger.editing(self.build_id, "line", row.key),
            may_go=urls.ledger.may_go(self.build_id, row.key),
        )

    def joins(self, name: str, first: int | None, second: int | None) -> str:
        """The points of a line of that name; what it says already is left off theirs."""
        if first is None and second is None:
            return "off at both ends"
        points = (self.points.get(one or 0) for one in (first, second))
        ends = (f"an end that {LOOSE}" if one is None else one.name for one in points)
        return " to ".join(one.removeprefix(f"{name}, ") for one in ends)

    def was(self, row: "LedgerLine") -> str:
        """What a line joined before, where that differs from what it joins now."""
        before = (row.first_was_id, row.second_was_id)
        if before in {(row.first_id, row.second_id), (None, None)}:
            return ""
        return self.joins(row.name, *before)

    def flow(self, row: "LedgerLine", flow: LineFlow | None) -> str:
        """Which way a line flows, in words; empty for a wire."""
        if flow is None or row.kind == LineKind.WIRE:
            return ""
        if flow.flow in {Flow.FORWARD, Flow.BACKWARD}:
            end = row.second_id if flow.flow is Flow.FORWARD else row.first_id
            point = self.points.get(end or 0)
            return f"flows to {self.spaces[point.space_id] if point is not None else 'the open air'}"
        if flow.flow is Flow.NOT_KNOWN and flow.between is not None:
            one, other = (_FORCED.get(side) or self.spaces.get(side, "") for side in flow.between)
            return f"not known: read which stands higher, {one} or {other}"
        return flow.flow.value

    def point(self, row: "LinePoint") -> str:
        line = self.told.map.line_at.get(row.key)
        now = f"joined by {line.name}" if line is not None else row.closing
        why = f": {row.reason} ({row.by})" if row.reason and line is None else ""
        return f"{self.spaces[row.space_id]}, {row.medium}, {now}{why}"

    def device(self, row: "LineDevice") -> str:
        sides = " to ".join(self.spaces[one] for one in row.sides)
        signal = f", worked by {self.spaces[row.signal_id]}" if row.signal_id is not None else ""
        return f"{row.kind}, {sides}{signal}, fitted {row.way or 'nobody has looked how'}"

    def entry(self, sort: str, row: "LinePoint | LineDevice | LineSpace", detail: str) -> EntryRow:
        return EntryRow(row.name, detail, urls.ledger.editing(self.build_id, sort, row.key))


def told_act(row: "LineAct", name: str) -> str:
    """What was done to a line or point, for the log. name: its name now."""
    return f"{name} {row.word}{f', {row.detail}' if row.detail else ''}"


def where_of(row: "LineAct", aside: bool) -> str:
    """The sheet of what it was done to; of a line that was set aside, the sheet where it can be put back."""
    if aside:
        return urls.ledger.lines(row.build_id)
    if row.line_id is not None:
        return urls.ledger.may_go(row.build_id, row.line_id)
    return urls.ledger.editing(row.build_id, "point", row.point_id or 0)
