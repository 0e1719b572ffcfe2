"""What to do in the time there is: the work as it stands, weighed for a stint."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlmodel import Session

from server.core.work.holds import Hold, HoldKind
from server.core.work.hours import Block, blocks, minutes_between, noise_allowed
from server.core.work.next_stint import Circumstances, Piece, suggest
from server.core.work.pace import Pace, pace, worked_after
from server.core.work.plan.network import network
from server.core.work.plan.problem import Activity, minutes_whole
from server.core.work.rows import TaskRow, WorkRows
from server.core.work.standing import Word
from server.core.work.tasks import ON_STANDS, ON_WHEELS, After, TaskPlan, TaskState, expected_minutes
from server.errors import BadInput
from server.features.builds.service import build_face, kept, kept_while
from server.features.builds.store import BuildFace
from server.features.news.service import news_of
from server.features.stint_now import page
from server.features.stint_now.forms import Asked, asked
from server.features.stints.service import Garage, garage_of
from server.features.work.service import WorkState, minute_of, work_state

DAYS_AHEAD = 28
USUAL_MINUTES = 120
READING_MINUTES = 10
"""To take one reading, the tool fetched and the number noted; common practice, no source."""
LEAST_LEFT = 10
"""Of a task in hand that took as long as it should already [min]."""


def pace_of(rows: WorkRows) -> Pace:
    """How this builder's times compare with the estimates: of all tasks that were timed."""
    return pace(
        (row.plan.minutes_likely, row.worked)
        for row in rows.tasks
        if row.plan.done and row.worked is not None
    )


def minutes_left(row: TaskRow, factor: float, now: datetime) -> int:
    """What is left of a task [min], at this builder's pace."""
    whole = factor * expected_minutes(row.plan)
    going = row.plan.state is TaskState.IN_HAND and row.begun_at is not None
    worked = worked_after(row.worked, row.begun_at, now) if going else row.worked
    return max(minutes_whole(whole - (worked or 0)), LEAST_LEFT if worked else 1)


def stint_page(
    session: Session, build_id: int, typed: Mapping[str, str], now: datetime, told: str = ""
) -> tuple[page.StintPage, int]:
    """The sheet and its status: 200, or 422 where what was asked can't be used. Raises NotFound."""
    build = build_face(session, build_id)
    garage = garage_of(session, build)
    here = now.astimezone(garage.tz(now))
    helpers = {one.id: (one.name, one.skills) for one in garage.helpers}
    usual = _usual(build, garage, here)
    try:
        wanted, refused = asked(typed, usual, list(helpers), here), None
    except BadInput as problem:
        wanted, refused = usual, problem
    state = work_state(session, build, now)
    offer = _offered(session, build, now, with_helper=wanted.helper_id is not None)
    skills = (helpers[wanted.helper_id][1],) if wanted.helper_id is not None else ()
    given = Circumstances(
        max(minutes_between(wanted.start, wanted.until), 0),
        wanted.car,
        garage.raising,
        garage.lowering,
        skills,
        wanted.quiet,
        wanted.wet,
    )
    found = page.stint_page(
        build=build,
        plan=state.plan,
        now=here,
        asked=page.AskedFor(
            given.minutes,
            wanted.start,
            wanted.until,
            wanted.helper_id,
            wanted.quiet,
            wanted.wet,
            wanted.car,
            wanted.query,
        ),
        helpers={number: name for number, (name, _) in helpers.items()},
        suggestion=kept_while(
            build_id, ("stint suggestion", given), (offer.pieces,), lambda: suggest(offer.pieces, given)
        ),
        readings=offer.readings,
        pace=offer.pace,
        news=news_of(session, build, told, now),
        refused=refused,
    )
    return found, 422 if refused else 200


def _usual(build: BuildFace, garage: Garage, here: datetime) -> Asked:
    """What is asked about where nobody said: the stint that goes on or is next, with who comes then."""
    car = ON_STANDS if build.car_state == ON_STANDS else ON_WHEELS
    ahead = blocks(garage.hours, garage.tz(here), here.date(), DAYS_AHEAD)
    block = next((one for one in ahead if one.end > here), None)
    if block is None:
        block = Block(here, here + timedelta(minutes=USUAL_MINUTES))
    start = max(block.start, here)
    helper = block.visits[0].helper_id if block.visits else None
    loud = noise_allowed(garage.hours, start)
    return Asked(start, block.end, helper, not loud, False, car, ahead=start > here)


@dataclass(frozen=True, slots=True)
class _Offer:
    """What may be done; readings: title and port of those to take, by their id below zero."""

    pieces: tuple[Piece, ...]
    readings: Mapping[int, tuple[str, int]]
    pace: Pace


def _offered(session: Session, build: BuildFace, now: datetime, *, with_helper: bool) -> _Offer:
    """Worked out once a minute, whatever time is asked about."""

    def make() -> _Offer:
        here = now.astimezone(garage_of(session, build).tz(now))
        return _offer(work_state(session, build, now), here, with_helper=with_helper)

    return kept(build, ("stint offer", minute_of(now), with_helper), make)


def _offer(state: WorkState, now: datetime, *, with_helper: bool) -> _Offer:
    """Ready tasks, those in hand, readings that hold some, and what these make ready on the way."""
    how = pace_of(state.book.rows)
    rows = {row.plan.id: row for row in state.book.rows.tasks if not row.plan.done}
    left = {at: minutes_left(row, how.factor, now) for at, row in rows.items()}
    slack = _floats(rows, left)
    readings = _readings(state)
    after: dict[int, tuple[int, ...]] = {}
    grew = True
    while grew:  # each turn adds what the last one made ready
        grew = False
        for at, row in rows.items():
            if at in after:
                continue
            holds = state.plan.standings[at].holds
            before = _before(row, holds, after, readings, with_helper=with_helper)
            if before is not None:
                after[at], grew = before, True
    pieces = [_piece(state, rows[at], before, left[at], slack.get(at, 0)) for at, before in after.items()]
    held = state.plan.held
    for number, (_, port_id) in readings.items():
        waiting = [slack[at] for at, before in after.items() if number in before and at in slack]
        frees = len(held.get((HoldKind.READING, port_id), ()))
        pieces.append(Piece(number, READING_MINUTES, (), frees, min(waiting, default=1), splits=False))
    return _Offer(tuple(pieces), readings, how)


def _floats(rows: Mapping[int, TaskRow], left: Mapping[int, int]) -> dict[int, int]:
    """How long each task may be put off, by the work that is left alone; nothing where it goes in a ring."""
    activities = [
        Activity(
            at,
            left[at],
            tuple(After(link.task_id, link.least_wait) for link in row.plan.after if link.task_id in rows),
        )
        for at, row in rows.items()
    ]
    return {at: dates.float for at, dates in network(activities).dates.items()}


def _readings(state: WorkState) -> dict[int, tuple[str, int]]:
    """The readings that tasks wait for, one of each port: title and port, by the port's number below zero."""
    asked_for: dict[int, dict[str, None]] = {}
    for task in state.plan.tasks:
        for hold in state.plan.standings[task.id].holds:
            if hold.kind is HoldKind.READING and hold.subject_id is not None and not task.done:
                asked_for.setdefault(hold.subject_id, {})[hold.what] = None
    return {-port: (f"Take {' and '.join(what)}", port) for port, what in asked_for.items()}


def _before(
    row: TaskRow,
    holds: tuple[Hold, ...],
    offered: Mapping[int, tuple[int, ...]],
    readings: Mapping[int, tuple[str, int]],
    *,
    with_helper: bool,
) -> tuple[int, ...] | None:
    """What of the offered must come before a task; none where it can't be done in this stint."""
    waits = {link.task_id: link.least_wait for link in row.plan.after}
    before: list[int] = []
    for hold in holds:
        subject = hold.subject_id or 0
        if hold.kind is HoldKind.TASK and subject in offered and not waits.get(subject):
            before.append(subject)
        elif hold.kind is HoldKind.READING and -subject in readings:
            before.append(-subject)
        elif not (hold.kind is HoldKind.HELPER and with_helper):
            return None
    return tuple(dict.fromkeys(before))


def _piece(state: WorkState, row: TaskRow, before: tuple[int, ...], left: int, slack: int) -> Piece:
    task: TaskPlan = row.plan
    standing = state.plan.standings[task.id]
    return Piece(
        task.id,
        left,
        before,
        standing.frees.in_all,
        slack,
        standing.word is Word.IN_HAND,
        task.splits,
        task.car_state,
        task.hands,
        task.helper_skill,
        task.hot_work,
        task.place == "outside",
    )
