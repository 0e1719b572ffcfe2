"""The gate before the first start as pages: all its stages, and one of them with what it asks."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from server.core.first_start.holds import FIRST, Root, StageHold
from server.core.first_start.looks import Looked
from server.core.first_start.stage import CarFacts, Number, Stage
from server.core.first_start.standing import StageStanding, Word, standing_after
from server.core.first_start.whole import LAST_WORD, TITLES, stages_of
from server.core.units import System
from server.errors import Clash, Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import Caution, FormState, Happening, Page
from server.web.words import counted, moment_text

if TYPE_CHECKING:
    from server.features.first_start.store import Entry, Happened, Signed

SHOWN_HOLDS = 2
NAMES = {
    (stage.code, code): text
    for car in (CarFacts(), CarFacts(has_meter=False))
    for stage in stages_of(car)
    for code, text in (
        *((tick.code, tick.text) for tick in stage.ticks),
        *((number.code, number.text) for number in stage.numbers),
    )
}
"""What ticks and figures are called, by stage and code."""
WORDS = {
    Word.SIGNED: "signed",
    Word.TO_SIGN: "ready to sign",
    Word.TO_DO: "to do",
    Word.HELD: "held",
    Word.CLOSED: "not open yet",
}
SHAPES = {Word.SIGNED: "go", Word.TO_SIGN: "tight", Word.TO_DO: "not-measured", Word.HELD: "no-go"}
"""The shape that stands with the word; none where a stage is not open."""


@dataclass(frozen=True, slots=True)
class HoldLine:
    """One thing that holds a stage, and where it is solved."""

    root: str
    text: str
    href: str
    injury: bool


@dataclass(frozen=True, slots=True)
class StageLine:
    """One stage in the list. who: by whom and when it was signed; fell: why that no longer stands."""

    number: int
    href: str
    title: str
    word: str
    shape: str
    who: str
    fell: str
    holds: tuple[str, ...]
    more: int


@dataclass(frozen=True, kw_only=True)
class GatePage(Page):
    """Every stage of the gate, and which one is next."""

    template: ClassVar[str] = "first_start/gate.html"

    build_id: int
    lead: str
    signed: int
    stages: tuple[StageLine, ...]
    next: StageLine | None
    caution: Caution


@dataclass(frozen=True, slots=True)
class TickField:
    code: str
    text: str
    ticked: bool
    about: str


@dataclass(frozen=True, slots=True)
class NumberField:
    """A figure to enter. unit: of a bare number; typed: as it was; about: who entered it, and when."""

    code: str
    text: str
    unit: str
    typed: str
    about: str
    problem: str


@dataclass(frozen=True, slots=True)
class LookLine:
    """One connection with the looks that count."""

    item: str
    state: str
    name: str
    looks: tuple[str, ...]
    open: bool


@dataclass(frozen=True, slots=True)
class SignedBy:
    """The signature of a stage. then_fall: the signed stages that no longer stand once it is taken back."""

    version: int
    text: str
    fell: tuple[str, ...]
    then_fall: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class StagePage(Page):
    """One stage: its cautions, what holds it, what it asks, and its signature."""

    template: ClassVar[str] = "first_start/stage.html"

    build_id: int
    code: str
    number: int
    count: int
    name: str
    why: str
    word: str
    shape: str
    opens: bool
    stands: bool
    before: str
    before_href: str
    after_href: str
    cautions: tuple[Caution, ...]
    last_word: str
    holds: tuple[HoldLine, ...]
    ticks: tuple[TickField, ...]
    numbers: tuple[NumberField, ...]
    connections: tuple[LookLine, ...]
    wanting: int
    why_not: str
    signed: SignedBy | None
    by: str
    seen: str
    form: FormState
    refused: str


@dataclass(frozen=True, slots=True)
class Seen:
    """What the pages tell beside how the stages stand."""

    connections: tuple[Looked, ...]
    latest: Mapping[tuple[str, str], "Entry"]
    signed: Mapping[str, "Signed"]


def why_not(one: StageStanding) -> str:
    """Why a stage can't be signed now; empty where it can."""
    if one.word is Word.SIGNED:
        return f"It is signed already, by {one.signature.by}." if one.signature else ""
    if one.word is Word.CLOSED:
        return "The stage before it is not signed."
    missing = len(one.unticked) + len(one.unentered)
    told = [_held(one.holds)] if one.holds else []
    told += [f"{counted(missing, 'line')} of it not entered yet"] if missing else []
    return f"{'; '.join(told)}." if told else ""


def _held(holds: Sequence[StageHold]) -> str:
    more = f" and {len(holds) - 1} more" if len(holds) > 1 else ""
    return f"Held by: {holds[0].what.rstrip('.')}{more}"


def gate_page(build: Face, standings: Sequence[StageStanding], now: datetime) -> GatePage:
    lines = tuple(_line(build, number, one, now) for number, one in enumerate(standings, 1))
    signed = sum(one.word is Word.SIGNED for one in standings)
    following = next((at for at, one in enumerate(standings) if one.word is not Word.SIGNED), None)
    return GatePage(
        **heading(build, "First start", now.date()),
        build_id=build.id,
        lead=_lead(standings, following),
        signed=signed,
        stages=lines,
        next=lines[following] if following is not None else None,
        caution=Caution(
            "DANGER", f"Nobody starts this engine before its stages are signed in turn. {LAST_WORD}"
        ),
    )


def _lead(standings: Sequence[StageStanding], following: int | None) -> str:
    if following is None:
        return "Every stage is signed."
    one = standings[following]
    where = f"Stage {following + 1} of {len(standings)}, {one.stage.title.lower()}"
    if one.fell:
        return f"{where}: its signature no longer stands."
    if one.word is Word.HELD:
        return f"{where}, is held by {counted(len(one.holds), 'thing')}."
    return f"{where}, is {WORDS[one.word]}."


def _line(build: Face, number: int, one: StageStanding, now: datetime) -> StageLine:
    told = one.holds if one.word is not Word.SIGNED else ()
    return StageLine(
        number,
        urls.first_start.stage(build.id, one.stage.code),
        one.stage.title,
        WORDS[one.word],
        SHAPES.get(one.word, ""),
        _who(one, now) if one.signature is not None else "",
        "; ".join(one.fell),
        tuple(hold.what for hold in told[:SHOWN_HOLDS]),
        max(len(told) - SHOWN_HOLDS, 0),
    )


def _who(one: StageStanding, now: datetime) -> str:
    assert one.signature is not None
    return f"{one.signature.by}, {moment_text(one.signature.at, now)}"


def hold_href(build_id: int, hold: StageHold) -> str:
    """Where a hold is solved; empty where that is the stage's own page."""
    sort, _, number = hold.item.partition(".")
    if hold.root in {Root.OPEN_END, Root.LINE}:
        entry = {"port": "point", "line": "line", "valve": "device", "region": "space"}.get(sort)
        if entry and number.isdigit() and int(number):
            return urls.ledger.editing(build_id, entry, int(number))
        return f"{urls.ledger.lines(build_id)}{'#cut' if sort == 'cut' else ''}"
    if sort == "ledger":
        return urls.ledger.lines(build_id)
    if sort == "leak":
        return urls.first_start.leak_test(build_id)
    pages = {"design": urls.design, "subsystem": urls.subsystem, "task": urls.task}
    return pages[sort](build_id, int(number)) if sort in pages else ""


def stage_page(
    build: Face,
    standings: Sequence[StageStanding],
    seen: Seen,
    of: tuple[str, str],
    now: datetime,
    by: str,
    refused: Refused | None,
) -> StagePage:
    """of: the stage's code, and what its signature must say to have been given on what stands now."""
    code, seen_now = of
    place = next(at for at, one in enumerate(standings) if one.stage.code == code)
    one, stage = standings[place], standings[place].stage
    before = standings[place - 1] if place else None
    after = standings[place + 1] if place + 1 < len(standings) else None
    looks = seen.connections if code == FIRST else ()
    form = FormState.of(refused)
    return StagePage(
        **heading(build, f"Stage {place + 1}", now.date(), within="First start"),
        build_id=build.id,
        code=code,
        number=place + 1,
        count=len(standings),
        name=stage.title,
        why=stage.why,
        word=WORDS[one.word],
        shape=SHAPES.get(one.word, ""),
        opens=one.opens,
        stands=one.word is Word.SIGNED,
        before=before.stage.title if before is not None else "",
        before_href=urls.first_start.stage(build.id, before.stage.code) if before is not None else "",
        after_href=urls.first_start.stage(build.id, after.stage.code) if after is not None else "",
        cautions=tuple(Caution(some.signal.value, some.text) for some in stage.cautions),
        last_word=LAST_WORD,
        holds=tuple(
            HoldLine(hold.root.value, hold.what, hold_href(build.id, hold), hold.injury) for hold in one.holds
        ),
        ticks=tuple(
            TickField(tick.code, tick.text, tick.code not in one.unticked, _about(seen, code, tick.code, now))
            for tick in stage.ticks
        ),
        numbers=tuple(_number(build.system, seen, one, number, now) for number in stage.numbers),
        connections=tuple(_look_line(each, now) for each in looks),
        wanting=sum(not each.enough for each in looks),
        why_not=why_not(one),
        signed=_signed(standings, seen, one, now),
        by=by,
        seen=seen_now,
        form=form,
        refused=next(
            (
                error.message
                for error in form.errors
                if error.field in {"stage", "sign", "taking_back", "looks"}
            ),
            "",
        ),
    )


def _about(seen: Seen, stage: str, item: str, now: datetime) -> str:
    row = seen.latest.get((stage, item))
    return f"{row.by}, {moment_text(row.at, now)}" if row is not None and row.value is not None else ""


def clash(stage: Stage, item: str, stands: str, typed: str) -> Clash:
    """What somebody else entered meanwhile of the same tick or figure."""
    asked = {tick.code: tick.text for tick in stage.ticks}
    asked |= {number.code: number.text for number in stage.numbers}
    words = {"on": "ticked", "": "not entered"}
    return Clash(item, asked[item], words.get(stands, stands), words.get(typed, typed))


def _number(system: System, seen: Seen, one: StageStanding, number: Number, now: datetime) -> NumberField:
    row = seen.latest.get((one.stage.code, number.code))
    problem = next((hold.what for hold in one.holds if hold.item == f"number.{number.code}"), "")
    return NumberField(
        number.code,
        number.text,
        number.unit_inch if system is System.inch else number.unit,
        row.typed if row is not None and row.value is not None else "",
        _about(seen, one.stage.code, number.code, now),
        problem,
    )


def _look_line(each: Looked, now: datetime) -> LookLine:
    told = tuple(f"{look.by}, {moment_text(look.at, now)}" for look in each.looks)
    return LookLine(
        each.connection.item, each.connection.state, each.connection.name, told, not each.connection.closed
    )


def _signed(
    standings: Sequence[StageStanding], seen: Seen, one: StageStanding, now: datetime
) -> SignedBy | None:
    row = seen.signed.get(one.stage.code)
    if row is None:
        return None
    later = standing_after(standings, one.stage.code) if one.word is Word.SIGNED else ()
    return SignedBy(row.version, _who(one, now), one.fell, tuple(other.stage.title for other in later))


# The log


def happenings(build_id: int, acts: Iterable["Happened"]) -> tuple[Happening, ...]:
    """What was entered or looked at together is told together."""
    told = []
    for (sort, stage, by, at), group in groupby(acts, key=lambda one: (one.sort, one.stage, one.by, one.at)):
        some = list(group)
        told.append(Happening(at, _TOLD[sort](_title(stage), some), _at(build_id, stage), by))
    return tuple(told)


def _entered(title: str, some: Sequence["Happened"]) -> str:
    words = []
    for one in some:
        name = NAMES.get((one.stage, one.item), one.item)
        words.append(f"{name} {one.text or ('ticked' if one.there else 'taken away')}")
    return f"First start, {title}: {', '.join(words)}"


def _looked(_title: str, some: Sequence["Happened"]) -> str:
    return f"Looked at: {some[0].text if len(some) == 1 else counted(len(some), 'connection')}"


_TOLD: dict[str, Callable[[str, Sequence["Happened"]], str]] = {
    "entry": _entered,
    "look": _looked,
    "signed": lambda title, _: f"First start, signed: {title}",
    "back": lambda title, some: f"First start, signature taken back: {title}. {some[0].text}",
}


def _title(stage: str) -> str:
    return TITLES.get(stage, stage)


def _at(build_id: int, stage: str) -> str:
    return urls.first_start.stage(build_id, stage) if stage in TITLES else urls.first_start.gate(build_id)
