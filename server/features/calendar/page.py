"""What a build puts into a calendar: visits, expected post, days to order by, when it is done by the plan."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from itertools import groupby
from uuid import NAMESPACE_URL, uuid5

from server.core.buying.order import OrderFace
from server.core.work.hours import Visit, later, moment_of
from server.core.work.order_by import OrderBy
from server.core.work.plan.schedule import Placed
from server.core.work.tasks import is_first_start
from server.web import urls
from server.web.calendar_file import Entry
from server.web.words import counted, day_text, pieces

NOTHING = "Nothing with a date yet"
NOTHING_MORE = "Note your stints, who comes and what you order: their dates appear here."
BY_POST = "What comes by post can be used from the evening of its day."


@dataclass(frozen=True, slots=True)
class Naming:
    """How entries are named. created_at: when the build began; origin: what addresses here begin with.

    An entry of the same thing has the same name on any machine that the build is moved to.
    """

    build_id: int
    created_at: datetime
    origin: str

    def uid(self, what: str) -> str:
        """A name of the thing that no other build anywhere has (RFC 7986, 5.3: a UUID)."""
        whole = f"urn:witness-mark:{self.created_at.timestamp():.0f}:{self.build_id}:{what}"
        return str(uuid5(NAMESPACE_URL, whole))


def entries(
    naming: Naming,
    today: date,
    zone: tzinfo,
    visits: Iterable[Visit],
    orders: Iterable[OrderFace],
    order_by: Iterable[OrderBy],
    titles: Mapping[int, str],
    done: tuple[str, datetime, Placed] | None,
) -> tuple[Entry, ...]:
    """done: title of the task whose date counts, the origin of the plan, and its place there."""
    found = [entry for one in visits for entry in _visit(naming, zone, one)]
    found += [entry for order in orders if (entry := _order(naming, today, order)) is not None]
    found += [
        _order_by(naming, day, tuple(some), titles)
        for day, some in groupby(order_by, key=lambda one: one.day)
    ]
    found += [_done(naming, *done)] if done is not None else []
    href = naming.origin + urls.stints(naming.build_id)
    return tuple(found) or (Entry(naming.uid("nothing"), NOTHING, today, None, NOTHING_MORE, href),)


def _visit(naming: Naming, zone: tzinfo, visit: Visit) -> Iterable[Entry]:
    href = naming.origin + urls.visit(naming.build_id, visit.id)
    able = f"Able to do: {', '.join(visit.skills)}." if visit.skills else ""
    last = f"Can be called off until {day_text(visit.cancel_by)}." if visit.cancel_by else ""
    note = "\n".join(filter(None, (able, last, visit.note)))
    begins, ends = (moment_of(visit.day, at, zone) for at in (visit.span.begins, visit.span.ends))
    yield Entry(naming.uid(f"visit {visit.id}"), f"{visit.helper} comes", begins, ends, note, href)
    if visit.cancel_by is not None:
        title = f"Last day to call off: {visit.helper}, {day_text(visit.day)}"
        yield Entry(naming.uid(f"calling off visit {visit.id}"), title, visit.cancel_by, None, "", href)


def _order(naming: Naming, today: date, order: OrderFace) -> Entry | None:
    owed = [pieces(line.rest, line.part_name) for line in order.lines if line.rest]
    if not owed or order.due_on is None:
        return None
    how = "Late" if order.due_on < today else "Expected"
    href = naming.origin + urls.order(naming.build_id, order.id)
    title, note = f"{how} from {order.supplier}: {_first(owed)}", "\n".join((*owed, BY_POST))
    return Entry(naming.uid(f"order {order.id}"), title, order.due_on, None, note, href)


def _order_by(naming: Naming, day: date, some: Sequence[OrderBy], titles: Mapping[int, str]) -> Entry:
    told = []
    for one in some:
        days = f"{counted(one.days, 'day')} to the door{'' if one.told else ', assumed: nobody offers it'}"
        wanted = f"for ‘{titles[one.task_id]}’, {day_text(one.starts.date())} by the plan"
        told.append(f"{one.what}: {days}; {wanted}")
    title = f"Order by today: {_first([one.what for one in some])}"
    href = naming.origin + urls.shopping(naming.build_id)
    return Entry(naming.uid(f"order by {day.isoformat()}"), title, day, None, "\n".join(told), href)


def _done(naming: Naming, title: str, origin: datetime, placed: Placed) -> Entry:
    """The last go at it, so that work over several stints does not fill all the days between."""
    start = placed.parts[-1].start if placed.parts else placed.start
    words = "First start by the plan" if is_first_start(title) else "All done by the plan"
    href = naming.origin + urls.plan(naming.build_id)
    note = f"‘{title}’, by the plan as it stands."
    moments = later(origin, start), later(origin, placed.finish)
    return Entry(naming.uid("done by the plan"), words, *moments, note, href)


def _first(names: Sequence[str]) -> str:
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    return f"{names[0]}{more}"
