"""The build as it would be with each design of a subsystem chosen."""

from dataclasses import replace
from datetime import datetime

from sqlmodel import Session

from server.core.buying.listing import ShoppingList
from server.core.tube.making import making
from server.core.work.holds import HoldKind
from server.errors import NotFound, Refused
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.causes.service import Book
from server.features.compare import page
from server.features.designing import service as designing
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.designs.service import Bill
from server.features.shopping.service import Market, list_of, market
from server.features.work.service import WorkState, book_of, derive, minute_of
from server.web import urls
from server.web.view import Link


def compare_page(
    session: Session,
    build_id: int,
    subsystem_id: int,
    now: datetime,
    refused: Refused | None = None,
    refused_id: int | None = None,
    told: str = "",
) -> page.ComparePage:
    """`refused_id`: the design whose choice was refused; `told`: what was just done. Raises NotFound."""
    build = builds.build_face(session, build_id)

    def make() -> page.ComparePage:
        return _compared(session, build, subsystem_id, now, refused, refused_id)

    if refused is not None:
        return make()
    found = builds.kept(build, ("compare page", subsystem_id, minute_of(now)), make)
    return replace(found, news=designing.choice_news(session, build_id, told))


def _compared(
    session: Session,
    build: BuildFace,
    subsystem_id: int,
    now: datetime,
    refused: Refused | None,
    refused_id: int | None,
) -> page.ComparePage:
    """Raises NotFound."""
    around = designs.surroundings(session, build)
    subsystem = around.every_subsystem.get(subsystem_id)
    if subsystem is None:
        raise NotFound("There is no such subsystem in this build.")
    own = [one for one in design_store.designs_of(session, build.id, subsystem_id) if not one.pattern]
    book = book_of(session, build)
    there = market(session, build, book)
    others = tuple(bill for bill in book.bills if bill.subsystem_id != subsystem_id)
    without = _stands(build, subsystem_id, None, replace(book, bills=others), there, now)[1]
    candidates = []
    for rows in design_store.rows_of(session, own).values():
        checked = designs.checked(rows, around)
        bill = designs.bill_of(rows.design, checked.case.plan, around)
        decided = tuple(
            replace(one, decided=True) if one.subsystem_id == subsystem_id else one for one in book.designs
        )
        supposed = replace(book, bills=(*others, bill), designs=decided)
        state, found = _stands(build, subsystem_id, rows.design.key, supposed, there, now)
        candidates.append(
            page.Candidate(
                rows.design,
                designing.offered_because(rows.design),
                len(rows.run.pieces),
                checked.answers,
                making(checked.case.plan),
                prospect(build, bill, state, found, without, now),
            )
        )
    return page.compare_page(build, subsystem, candidates, now.date(), refused, refused_id)


def _stands(
    build: BuildFace, subsystem_id: int, design_id: int | None, supposed: Book, there: Market, now: datetime
) -> tuple[WorkState, ShoppingList]:
    """How the work stands and what is to be bought with a design of the subsystem chosen, or with none."""
    which = "compared", subsystem_id, design_id
    state = builds.made_again(build.id, which, lambda again: derive(supposed, now, again))
    given = state.needs.wants, there, state.supplies
    return state, builds.kept_while(build.id, ("listed", *which), given, lambda: list_of(state, there))


def check_belongs(session: Session, build_id: int, subsystem_id: int, design_id: int) -> None:
    """Raises NotFound where the subsystem has no such design."""
    design = design_store.load_design(session, build_id, design_id)
    if design.subsystem_id != subsystem_id:
        raise NotFound("There is no such design of this subsystem.")


def prospect(
    build: BuildFace,
    bill: Bill,
    state: WorkState,
    with_it: ShoppingList,
    without: ShoppingList,
    now: datetime,
) -> page.Prospect:
    """What choosing a design would bring; `without` is the shopping list with no design of its subsystem."""
    days, slowest = _wait(bill, state, with_it, now)
    specs = {item.spec for item in bill.items}
    unsure = tuple(f"{item.name}: {item.unsure}" for item in bill.items if item.unsure)
    return page.Prospect(
        to_pay=with_it.totals.to_buy_minor - without.totals.to_buy_minor,
        unpriced=sum(line.cost_minor is None and line.spec in specs for line in with_it.unoffered.lines),
        wait_days=None if unsure else days,
        waits_for=slowest,
        unsure=unsure,
        held=_held(build, bill, state),
    )


def _wait(bill: Bill, state: WorkState, found: ShoppingList, now: datetime) -> tuple[int | None, str]:
    """Days until the last part of a design can be here, and which part that is.

    Not known where a part is coming on no promised day, or nobody said how long it takes. A late parcel
    counts as due today.
    """
    waits: list[tuple[float, str]] = []
    specs = {item.spec for item in bill.items}
    linked = {item.part_id for item in bill.items}
    parts = {part.id: part for part in state.book.parts if part.id in linked or part.spec in specs}
    for part_id, part in parts.items():
        for allotment in state.supplies[part_id].allotted:
            last = allotment.last
            if last is not None:
                due = last.due_on
                waits.append((float("inf") if due is None else max((due - now.date()).days, 0), part.name))
    for basket in (*found.baskets, found.unoffered):
        usual = basket.seller.lead_days if basket.seller is not None else None
        for line in basket.lines:
            if line.part_id in parts or line.spec in specs:
                lead = line.offer.lead_days if line.offer is not None else None
                days = usual if lead is None else lead
                waits.append((float("inf") if days is None else days, line.name))
    longest, name = max(waits, default=(0.0, ""))
    return (None if longest == float("inf") else int(longest)), name


def _held(build: BuildFace, bill: Bill, state: WorkState) -> tuple[Link, ...]:
    """The tasks that wait for the pieces of this design and would be held by parts."""
    waiting = {
        wait.task_id
        for wait in state.book.rows.waits
        if wait.subsystem_id == bill.subsystem_id and wait.kind.startswith("to ")
    }
    return tuple(
        Link(urls.task(build.id, task.id), task.title)
        for task in state.plan.tasks
        if (task.id in waiting or task.subsystem_id == bill.subsystem_id)
        and any(hold.kind is HoldKind.PART for hold in state.plan.standings[task.id].holds)
    )
