"""A visit: whether it is ready, what stands against it, and the sheet that the helper works from."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from server.core.checks.answer import Answers
from server.core.checks.layout import Joint, lay_out
from server.core.phrase import say
from server.core.tube.cutting.bench import Benched
from server.core.tube.run import Fixing, JointKind, PiecePlan, RunPlan
from server.core.tube.said import parts_list_words
from server.core.units import Kind, System, show
from server.core.work.cautions import LAST_WORD, cautions_of
from server.core.work.hours import Visit
from server.core.work.readiness import Against, Readiness, Stand
from server.core.work.tasks import ON_STANDS, TaskPlan
from server.features.builds.page import Face, heading
from server.features.tasks.page import hold_href
from server.features.work.page import Plan, about_task, hold_phrase
from server.web import urls
from server.web.view import Caution, Link, Page
from server.web.words import clock_text, counted, day_text, minutes_typed, moment_text

LAID_OUT = (
    "Pieces cut, square and without burrs; coatings ground back 25 mm on both sides of each weld",
    "Cleaned with nothing chlorinated, touched with clean gloves only",
    "Gas, regulator and filler as settled with who welds; plugs and tape to purge stainless",
    "Flanges with bolts, or a plate to bolt them to; magnets, wire, marker, a spare bend",
    "Battery off, extinguisher at hand, heat blanket; who keeps the fire watch, and how long",
)
HOLD_POINTS = (
    ("", "Offer up dry. Both pieces of the last joint are still long; a line across every joint."),
    ("", "Tack: flanges bolted to their mates or a plate, four tacks, opposite ones in turn."),
    ("Stop", "Offer up before it is welded out: gaps, flanges flat, room for spanners, it comes out again."),
    ("", "The last cut: one blade's width off one face, offer up again; never two faces at once."),
    ("", "Weld out in turn, off the car; stainless purged inside."),
    ("Stop", "Offer up once more; look through with a torch, nothing loose inside, before it is fitted."),
)
"""Common practice, no source."""
STANDS = {
    Stand.TOO_LATE: "comes too late",
    Stand.TO_DO: "to do before",
    Stand.IN_TIME: "in time",
}
SETTLED_WITH = "to settle with who welds"


@dataclass(frozen=True, slots=True)
class WorkLine:
    """A task of the visit, or one that comes before it. planned: when the plan has it."""

    id: int
    what: Link
    word: str
    about: str
    planned: str


@dataclass(frozen=True, slots=True)
class AgainstLine:
    """Something that stands against the visit; late: it comes after it; stops: what it stops."""

    href: str
    what: str
    stand: str
    late: bool
    stops: str


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A piece to be joined, with its cuts."""

    number: int
    name: str
    words: str
    finished: str
    first_cut: str


@dataclass(frozen=True, slots=True)
class WeldRow:
    """A weld with what is said of its filler, or a side port that is welded in; settled: nothing is open."""

    what: str
    advice: str
    settled: bool


@dataclass(frozen=True, slots=True)
class RunSheet:
    """What is joined of one chosen design. spares: its bends, and how many there are to spare.

    ports: the numbers of those that it begins and ends at.
    """

    design_id: int
    ports: tuple[int, ...]
    name: str
    design: Link
    cuts: str
    pieces: tuple[PieceRow, ...]
    welds: tuple[WeldRow, ...]
    spares: tuple[str, ...]

    @property
    def unsettled(self) -> int:
        return sum(not one.settled for one in self.welds)


@dataclass(frozen=True, slots=True)
class Bend:
    """A kind of bend in a design: how many it takes, and how many lie here where it is on the list."""

    name: str
    taken: int
    here: int | None


@dataclass(frozen=True, kw_only=True)
class VisitPage(Page):
    """Whether a visit is ready, and what the helper does."""

    template: ClassVar[str] = "visits/visit.html"

    build_id: int
    send: str
    """Where a link for the helper is made."""
    when: str
    who: str
    reached: str
    note: str
    answer: str
    call_off: str
    work: tuple[WorkLine, ...]
    against: tuple[AgainstLine, ...]
    before: tuple[WorkLine, ...]
    car: str
    laid_out: tuple[str, ...]
    runs: tuple[RunSheet, ...]
    undrawn: tuple[str, ...]
    hold_points: tuple[tuple[str, str], ...]
    cautions: tuple[Caution, ...]


def visit_page(
    *,
    build: Face,
    plan: Plan,
    now: datetime,
    visit: Visit,
    reached: str,
    found: Readiness,
    planned: Mapping[int, datetime],
    runs: Sequence[RunSheet],
    raising: int,
) -> VisitPage:
    """now: on the clock of the garage; planned: when each task begins by the plan; raising: the car [min]."""
    by_id = {task.id: task for task in plan.tasks}
    work = [by_id[at] for at in found.work]
    against = [_against_line(build, one, by_id, now) for one in found.against]
    against += [_filler_line(run) for run in runs if run.unsettled]
    letters = {one.id: f"{one.letter} {one.name}" for one in plan.subsystems}
    drawn = {run.name for run in runs}
    hot = dict.fromkeys(letters.get(task.subsystem_id or 0, "") for task in work if task.hot_work)
    able = f", who {visit.skills[0]}" if visit.skills else ""
    span = f"{clock_text(visit.span.begins)}–{clock_text(visit.span.ends)}"
    return VisitPage(
        **heading(build, "Visit", now.date(), within="Work", note=day_text(visit.day)),
        build_id=build.id,
        send=urls.helping.link_for(build.id, visit.id),
        when=f"{day_text(visit.day)} {span}",
        who=f"{visit.helper}{able}",
        reached=reached,
        note=visit.note,
        answer=_answer(visit, found, now.date(), sum(run.unsettled > 0 for run in runs)),
        call_off=_call_off(visit, now.date()),
        work=tuple(_work_line(build, plan, task, planned, now) for task in work),
        against=tuple(against),
        before=tuple(_work_line(build, plan, by_id[at], planned, now) for at in found.before),
        car=_car(build, work, raising),
        laid_out=LAID_OUT if hot else (),
        runs=tuple(runs),
        undrawn=tuple(name for name in hot if name and name not in drawn),
        hold_points=HOLD_POINTS if hot else (),
        cautions=_cautions(work),
    )


def _answer(visit: Visit, found: Readiness, today: date, unsettled: int) -> str:
    if visit.day < today:
        return "This visit is over."
    if not found.work:
        return f"Nothing to do for {visit.helper}: no open task asks for what they are able to do."
    count = {stand: sum(one.stand is stand for one in found.against) for stand in Stand}
    to_do = count[Stand.TO_DO] + unsettled
    if count[Stand.TOO_LATE]:
        more = f"; {to_do} more to do before" if to_do else ""
        come = "comes" if count[Stand.TOO_LATE] == 1 else "come"
        return f"Not ready: {counted(count[Stand.TOO_LATE], 'thing')} {come} after it{more}."
    if to_do:
        return f"Not ready yet: {counted(to_do, 'thing')} to do before."
    if count[Stand.IN_TIME]:
        return f"Ready if {counted(count[Stand.IN_TIME], 'thing')} more can be had by its day."
    return "Ready: nothing stands against it."


def _call_off(visit: Visit, today: date) -> str:
    if visit.cancel_by is None:
        return "No last day to call it off was noted."
    if visit.cancel_by < today:
        return f"Since {day_text(visit.cancel_by)} it can't be called off without wasting the trip."
    left = (visit.cancel_by - today).days
    days = f"in {counted(left, 'day')}" if left else "today"
    return f"Last day to call it off without wasting the trip: {day_text(visit.cancel_by)}, {days}."


def _work_line(
    build: Face, plan: Plan, task: TaskPlan, planned: Mapping[int, datetime], now: datetime
) -> WorkLine:
    at = planned.get(task.id)
    when = f"by the plan {moment_text(at, now)}" if at is not None else "no place in the plan"
    word = plan.standings[task.id].word.value
    return WorkLine(task.id, Link(urls.task(build.id, task.id), task.title), word, about_task(task), when)


def _against_line(build: Face, one: Against, tasks: Mapping[int, TaskPlan], now: datetime) -> AgainstLine:
    titles = [f"‘{tasks[at].title}’" for at in one.stops]
    more = f" and {len(titles) - 1} more" if len(titles) > 1 else ""
    day = f", expected {day_text(one.on)}" if one.on is not None and one.hold.due != one.on else ""
    words = hold_phrase(one.hold, now)
    return AgainstLine(
        hold_href(one.hold, build.id),
        words[:1].upper() + words[1:] + day,
        STANDS[one.stand],
        one.stand is Stand.TOO_LATE,
        f"stops {titles[0]}{more}",
    )


def _filler_line(run: RunSheet) -> AgainstLine:
    what = f"The filler of {counted(run.unsettled, 'weld')} of {run.name}"
    return AgainstLine(run.design.href, what, STANDS[Stand.TO_DO], False, SETTLED_WITH)


def _car(build: Face, work: Iterable[TaskPlan], raising: int) -> str:
    wanted: dict[str, int] = {}
    for task in work:
        if task.car_state != "any":
            wanted[task.car_state] = wanted.get(task.car_state, 0) + 1
    if not wanted:
        return ""
    asked = ", ".join(f"{counted(count, 'task')} with it {state}" for state, count in wanted.items())
    raise_it = ON_STANDS in wanted and build.car_state != ON_STANDS
    how = f" Raising it takes {minutes_typed(raising)}: do it before they come." if raise_it else ""
    return f"The car stands {build.car_state}; {asked}.{how}"


def _cautions(work: Iterable[TaskPlan]) -> tuple[Caution, ...]:
    found = dict.fromkeys(
        one for task in work for one in cautions_of(task.place, task.hot_work, task.caution, task.licensed)
    )
    return tuple(Caution(one.signal, f"{one.text} {LAST_WORD}") for one in found)


# The sheet


def run_sheet(
    build: Face,
    design_id: int,
    name: str,
    design: Link,
    cuts: str,
    plan: RunPlan,
    cut: Iterable[Benched],
    answers: Answers | None,
    bends: Iterable[Bend],
) -> RunSheet:
    """What is joined of a run: the pieces that meet at a weld or take a side port, and each weld."""
    joints = [joint for joint in lay_out(plan).joints if joint.plan.kind is JointKind.WELD]
    said = _fillers(answers, build.system)
    welds = [_weld(joint, said) for joint in joints]
    numbers = {
        side.owner.number
        for joint in joints
        for side in (joint.before, joint.after)
        if side is not None and isinstance(side.owner, PiecePlan)
    }
    for piece in plan.pieces:
        for bung in piece.bungs:
            if bung.fixing is Fixing.WELDED:
                numbers.add(piece.number)
                at = show(bung.at, Kind.length, build.system).text
                where = f"{at} from the inlet of piece {piece.number}, {piece.material}"
                welds.append(WeldRow(f"Side port {bung.name}", where, True))
    rows = tuple(_piece_row(one, build.system) for one in cut if one.piece.number in numbers)
    ports = tuple(port.id for port in (plan.start, plan.end) if port is not None)
    spares = tuple(_spare(one) for one in bends)
    return RunSheet(design_id, ports, name, design, cuts, rows, tuple(welds), spares)


def _fillers(answers: Answers | None, system: System) -> dict[str, tuple[str, bool]]:
    """What the rule of fillers says of each joint, and whether nothing is open."""
    check = next((one for one in answers.checks if one.rule.code == "filler"), None) if answers else None
    if check is None:
        return {}
    found = {one.item: (say(one.phrase, system), True) for one in check.items}
    return found | {one.item: (say(one.phrase, system), False) for one in check.missing}


def _weld(joint: Joint, said: Mapping[str, tuple[str, bool]]) -> WeldRow:
    filler = joint.plan.filler
    usual = (f"Filler {filler}." if filler else "No filler said yet: ask the welder.", bool(filler))
    label = joint.label[:1].upper() + joint.label[1:]
    advice, settled = said.get(joint.item, usual)
    advice = advice.removeprefix(f"{label}, ")
    return WeldRow(label, advice[:1].upper() + advice[1:], settled)


def _piece_row(one: Benched, system: System) -> PieceRow:
    piece = one.piece

    def length(value: float) -> str:
        return show(value, Kind.length, system).text

    saws = [f"{end.end} sawn {show(end.saw, Kind.angle, system).text} from square" for end in one.mitres]
    return PieceRow(
        piece.number,
        piece.name or piece.kind.value,
        "; ".join((f"{piece.material}, {parts_list_words(piece, system)}", *saws)),
        length(one.length),
        length(one.length + one.long_by) if one.sawn and one.long_by else "",
    )


def _spare(bend: Bend) -> str:
    if bend.here is None:
        return f"{bend.name}: {bend.taken} needed; whether one is to spare is not known"
    left = bend.here - bend.taken
    return f"{bend.name}: {bend.taken} needed, {bend.here} here, {'none' if left < 1 else left} to spare"
