"""The garage: what to do now, what is held and by what, what is in the post, what is not measured."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.buying.order import LineFace, OrderFace, late_first
from server.core.measure.opening import DIMENSIONS
from server.core.tube.port import PortFacts
from server.core.tube.run import WITHOUT_RUN, Place
from server.core.work.holding import Holding
from server.core.work.holds import HoldKind
from server.core.work.standing import Word
from server.core.work.tasks import start_is_near
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.verdicts.page import WORST_FIRST, DesignStanding
from server.features.work.page import (
    Plan,
    TaskLine,
    holds_words,
    line_of_own_holds,
    next_lines,
    stuck_tasks,
)
from server.web import urls
from server.web.view import FormState, Link, News, Page, Verdict, VerdictWord
from server.web.words import due_text, pieces

SHOWN_NOW = 3
SHOWN_HELD = 5
SHOWN_IN_POST = 6
SHOWN_TO_MEASURE = 5
SHOWN_DESIGNS = 12


@dataclass(frozen=True, slots=True)
class AtHand:
    """Addresses of what a phone keeps of a build, and the state of the build that they show."""

    revision: str
    pages: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """One of the first steps of a build; it ticks itself."""

    href: str
    text: str
    why: str
    done: bool


@dataclass(frozen=True, slots=True)
class PostLine:
    """One line of an order that is still to come, and what it holds up."""

    id: int
    href: str
    text: str
    due: str
    late: bool
    why: str


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """A port with sizes that designs or tasks want."""

    href: str
    text: str
    why: str


@dataclass(frozen=True, slots=True)
class DesignLine:
    """A subsystem and the verdict on its design."""

    href: str
    letter: str
    name: str
    why: str
    verdict: Verdict | None


@dataclass(frozen=True, kw_only=True)
class GaragePage(Page):
    """What can be done now, what is held and by what, what comes in the post, where designs stand."""

    template: ClassVar[str] = "garage/garage.html"
    fragments: ClassVar[dict[str, str]] = {"garage": "garage"}

    build_id: int
    news: News | None
    steps: tuple[Step, ...]
    now: tuple[TaskLine, ...]
    ready: int
    held: tuple[TaskLine, ...]
    stuck: int
    all_held: int
    post: tuple[PostLine, ...]
    in_post: int
    late: int
    to_measure: tuple[ToMeasure, ...]
    unmeasured: int
    designs: tuple[DesignLine, ...]
    designed: int
    undesigned: tuple[DesignLine, ...]
    all_undesigned: int
    no_go: int
    first: TaskLine | None
    next_step: Link
    form: FormState
    start_near: bool
    """Whether the stages of the first start are worth a look."""
    first_start: str
    """The date as it was worked out last; a new one is fetched once it is on the screen."""


def first_steps(
    build: Face, has_engine: bool, ports: Sequence[PortFacts], designs: Sequence[DesignStanding]
) -> tuple[Step, ...]:
    """The way into an empty build; nothing once all of it is walked."""
    measured = any(port.sizes for port in ports)
    drawn = any(one.design_id is not None for one in designs)
    design_at = urls.subsystem(build.id, designs[0].subsystem_id) if designs else urls.subsystems(build.id)
    steps = (
        Step(
            urls.engine(build.id),
            "Fill in the engine sheet",
            "How much air the pipes must carry.",
            has_engine,
        ),
        Step(
            urls.subsystems(build.id),
            "Name what is to be made",
            "The intake, the charge pipe, the oil drain: one subsystem each.",
            bool(designs),
        ),
        Step(
            urls.ports(build.id),
            "Measure the first ports",
            "Every opening that something joins to; caliper, tape or string.",
            measured,
        ),
        Step(
            design_at,
            "Design the first run",
            "Piece by piece from port to port; every check answers at once.",
            drawn,
        ),
    )
    return () if all(step.done for step in steps) else steps


def _coming(orders: Sequence[OrderFace]) -> list[tuple[OrderFace, LineFace]]:
    """Every open line with its order, the latest first."""
    still = sorted((order for order in orders if order.is_open), key=late_first)
    return [(order, line) for order in still for line in order.lines if line.rest]


def _post_line(build: Face, held: Holding, order: OrderFace, line: LineFace, today: date) -> PostLine:
    """With the tasks that it holds."""
    late = order.late_days(today)
    holds = holds_words(held.get((HoldKind.PART, line.part_id), ()))
    return PostLine(
        line.id,
        urls.order(build.id, order.id),
        pieces(line.rest, line.part_name),
        due_text(order.due_on, late),
        late > 0,
        f"{order.supplier} · {holds}" if holds else order.supplier,
    )


def to_measure(
    build: Face, plan: Plan, held: Holding, ports: Sequence[PortFacts], designs: Sequence[DesignStanding]
) -> tuple[ToMeasure, ...]:
    """Ports with sizes to measure: those that hold tasks first, then those that a design waits for."""
    waiting = {
        one.subsystem_id: one for one in designs if one.word is VerdictWord.NOT_MEASURED and one.design_id
    }
    asked = _asked_by_tasks(plan)
    found = []
    for port in ports:
        titles = held.get((HoldKind.READING, port.id), ())
        wanted = dict.fromkeys((*port.wanted, *_wanted_by_tasks(asked.get(port.id, ()), port)))
        if not wanted:
            continue
        design = waiting.get(port.subsystem_id or 0)
        why = [holds_words(titles)]
        why.append(f"the checks of {design.subsystem_name} wait for it" if design else "")
        first = next(iter(wanted))
        line = ToMeasure(
            urls.port_measuring(build.id, port.id, first),
            f"{port.name}: {', '.join(DIMENSIONS[size] for size in wanted)}",
            "; ".join(filter(None, why)),
        )
        found.append((-len(titles), design is None, port.number, line))
    return tuple(entry[-1] for entry in sorted(found, key=lambda entry: entry[:-1]))


def pressing(measure: tuple[ToMeasure, ...]) -> tuple[ToMeasure, ...]:
    """Those that something waits for; where nothing waits for any of them, all."""
    return tuple(line for line in measure if line.why) or measure


def _asked_by_tasks(plan: Plan) -> dict[int, list[str]]:
    """The readings that tasks wait for, in words, by port."""
    asked: dict[int, list[str]] = {}
    for standing in plan.standings.values():
        for hold in standing.holds:
            if hold.kind is HoldKind.READING:
                asked.setdefault(hold.subject_id or 0, []).append(hold.what)
    return asked


def _wanted_by_tasks(asked: Collection[str], port: PortFacts) -> list[str]:
    """Sizes that tasks wait for, beyond what the port's own role asks."""
    if not asked:
        return []
    return [size for size, label in DIMENSIONS.items() if f"the {label} of {port.name}" in asked]


def design_lines(build: Face, designs: Sequence[DesignStanding], most: int) -> tuple[DesignLine, ...]:
    """The no-go ones first, then what is not measured; no more than `most`."""

    def worst_first(one: DesignStanding) -> tuple[int, str]:
        return (WORST_FIRST.index(one.word), one.letter)

    return tuple(
        DesignLine(
            urls.design(build.id, one.design_id)
            if one.design_id is not None
            else urls.subsystem(build.id, one.subsystem_id),
            one.letter,
            one.subsystem_name,
            one.why,
            Verdict(one.word, one.percent, one.rough) if one.answered else None,
        )
        for one in sorted(designs, key=worst_first)[:most]
    )


def _next_step(build: Face, steps: Sequence[Step], measure: Sequence[ToMeasure]) -> Link:
    """What the foot of the page offers where no task is ready."""
    if measure and not any(not step.done for step in steps):
        return Link(measure[0].href, f"Measure {measure[0].text}")
    for step in steps:
        if not step.done:
            return Link(step.href, step.text)
    return Link(urls.work(build.id), "Plan the next task")


def garage_page(
    build: Face,
    plan: Plan,
    orders: Sequence[OrderFace],
    ports: Sequence[PortFacts],
    designs: Sequence[DesignStanding],
    has_engine: bool,
    news: News | None,
    refused: Refused | None,
    first_start: str,
) -> GaragePage:
    """first_start: the date as it was worked out last, in words."""
    today = plan.now.date()
    steps = first_steps(build, has_engine, ports, designs)
    doable = next_lines(build, plan, SHOWN_NOW)
    stuck = stuck_tasks(plan)
    coming = _coming(orders)
    measure = to_measure(build, plan, plan.held, ports, designs)
    answered = [one for one in designs if one.answered]
    undesigned = [one for one in designs if not one.answered and Place(one.kind) not in WITHOUT_RUN]
    return GaragePage(
        **heading(build, "Garage", today),
        build_id=build.id,
        news=news,
        steps=steps,
        now=doable,
        ready=len(plan.next),
        held=tuple(line_of_own_holds(build, plan, task) for task in stuck[:SHOWN_HELD]),
        stuck=len(stuck),
        all_held=sum(1 for one in plan.standings.values() if one.word is Word.HELD),
        post=tuple(_post_line(build, plan.held, *one, today) for one in coming[:SHOWN_IN_POST]),
        in_post=len(coming),
        late=sum(1 for order, _ in coming if order.late_days(today) > 0),
        to_measure=pressing(measure)[:SHOWN_TO_MEASURE],
        unmeasured=len(measure),
        designs=design_lines(build, answered, SHOWN_DESIGNS),
        designed=len(answered),
        undesigned=design_lines(build, undesigned, SHOWN_DESIGNS),
        all_undesigned=len(undesigned),
        no_go=sum(1 for one in designs if one.word is VerdictWord.NO_GO),
        first=doable[0] if doable else None,
        next_step=_next_step(build, steps, measure),
        form=FormState.of(refused),
        start_near=start_is_near(plan.tasks),
        first_start=first_start,
    )
