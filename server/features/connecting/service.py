"""What can be done with a build's ledger, and the pages that read the line map made of it."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.lines.ledger import Closing
from server.core.lines.register import answer_solved
from server.core.lines.solve import Solved
from server.core.lines.states import Kind, State
from server.errors import BadInput, FieldError, NotFound, Stale
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.connecting import page
from server.features.ledger import store
from server.features.ledger.forms import Offered, cut_form, entry_form, out_form
from server.features.ledger.page import LABELS, LOOSE, Act, entry_values
from server.features.ledger.store import Rows
from server.features.ledger.tables import Entry, LedgerLine, LineDevice, LineFact, LinePoint, LineSpace
from server.web.fields import Fields
from server.web.view import Happening

MOST = 400
"""So many of one sort no car has."""
USUAL = (
    Kind.ATMOSPHERE,
    Kind.BEFORE_METER,
    Kind.INTAKE,
    Kind.CHARGE,
    Kind.MANIFOLD,
    Kind.EXHAUST,
    Kind.CRANKCASE,
    Kind.CANISTER,
    Kind.TANK,
    Kind.SERVO,
    Kind.ACTUATOR,
    Kind.REGULATOR,
    Kind.BYPASS_TOP,
    Kind.OIL_GALLERY,
    Kind.SUMP,
    Kind.PUMP_OUT,
    Kind.PUMP_IN,
    Kind.FUEL_SUPPLY,
    Kind.FUEL_RETURN,
)
"""The spaces that nearly every turbo car has. Source: common practice, no source."""


def add_entry(session: Session, build_id: int, sort: str, typed: Mapping[str, str], by: str) -> int:
    """Enter a line, point, device or space; the number it got. Raises NotFound, BadInput."""
    build = builds.build_face(session, build_id)
    table = _table(sort)
    rows = store.rows_beside(session, build_id, sort)
    values = entry_form(sort, typed, build.system, _offered(rows, None), by)
    if store.count_of(session, build_id, sort) >= MOST:
        raise BadInput((FieldError("entry", f"There are {MOST} already.", "corrected ones"),), typed)
    row = table(build_id=build_id, **values)
    if isinstance(row, LedgerLine):
        row.first_was_id, row.second_was_id = row.first_id, row.second_id
    number = store.add(session, row)
    _joined(session, rows, row)
    return number


def edit_entry(
    session: Session,
    build_id: int,
    sort: str,
    entry_id: int,
    typed: Mapping[str, str],
    now: datetime,
    by: str,
) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale with both values of every field that differs."""
    build = builds.build_face(session, build_id)
    stands = store.load(session, build_id, sort, entry_id)
    rows = store.rows_beside(session, build_id, sort)
    version, values = _version(typed), entry_form(sort, typed, build.system, _offered(rows, stands), by)
    if isinstance(stands, LinePoint) and (stands.closing, stands.reason) == (
        values["closing"],
        values["reason"],
    ):
        values["by"] = stands.by
    act = _changed(rows, stands, values)
    if not store.edit(session, _table(sort), entry_id, version, values):
        shown = entry_values(sort, store.load(session, build_id, sort, entry_id))
        wanted = {name: typed.get(name, "") for name in shown}
        labels = {name: LABELS[name] for name in shown}
        raise Stale(builds.clashes(labels, wanted, shown), typed)
    stands = store.load(session, build_id, sort, entry_id)
    _joined(session, store.rows_beside(session, build_id, sort), stands)
    if act is not None:
        store.note(session, stands, *act, now, by)


def _changed(rows: Rows, stands: Entry, values: Mapping[str, object]) -> tuple[Act, str] | None:
    """What a correction does to a line's ends or to what closes a point, and its words; None for nothing."""
    if isinstance(stands, LedgerLine):
        ends = (values["first_id"], values["second_id"])
        if ends == (stands.first_id, stands.second_id):
            return None
        names = {point.key: point.name for point in rows.points}
        told = " to ".join(str(names.get(one, LOOSE)) if isinstance(one, int) else LOOSE for one in ends)
        return (Act.OFF if None in ends else Act.JOINED), told
    if isinstance(stands, LinePoint) and values["closing"] != stands.closing:
        return Act.of(str(values["closing"])), str(values["reason"])
    return None


def set_aside(session: Session, build_id: int, sort: str, entry_id: int, at: datetime | None) -> None:
    """Take off the ledger what was entered by mistake, or put it back where there is no moment.

    Raises NotFound, BadInput where something that stays rests on it, or it on something set aside.
    """
    builds.build_face(session, build_id)
    row = store.load(session, build_id, sort, entry_id)
    rows = store.rows_of(session, build_id)
    why = _rests_on_it(rows, row) if at is not None else _rests_on_gone(rows, row)
    if why:
        raise BadInput((FieldError("entry", why, "that one first"),), {})
    store.set_removed(session, row, at)
    if at is None and isinstance(row, LedgerLine):
        _loose_where_taken(session, rows, row)


def take_out(
    session: Session, build_id: int, line_id: int, typed: Mapping[str, str], now: datetime, by: str
) -> None:
    """Take a line out of the car and say what closes its points.

    Raises NotFound, MissingVersion, BadInput, Stale.
    """
    builds.build_face(session, build_id)
    row = on_the_ledger(session, build_id, line_id)
    form, ends = out_form(typed), row.ends
    values = {"taken_out": form.closing.value, "reason": form.reason, "by": by, "out_at": now}
    if not store.edit(session, LedgerLine, line_id, form.version, values):
        stands = {"closing": row.taken_out or "in the car", "reason": row.reason}
        wanted = {"closing": form.closing.value, "reason": form.reason}
        raise Stale(builds.clashes({name: LABELS[name] for name in stands}, wanted, stands), typed)
    store.close(session, ends or free_before(session, row), form.closing, form.reason, by)
    store.note(session, row, Act.OUT, f"its points {form.closing}: {form.reason}", now, by)


def free_before(session: Session, row: LedgerLine) -> tuple[int, ...]:
    """The points that a line joined before, where no other line joins them now."""
    free = {point.key for point in store.rows_beside(session, row.build_id, "line").free_points(row)}
    return tuple(one for one in (row.first_was_id, row.second_was_id) if one in free)


def put_in(session: Session, build_id: int, line_id: int, now: datetime, by: str) -> None:
    """Put a line that was taken out back where it was; an end whose point has another line hangs loose.

    Raises NotFound.
    """
    builds.build_face(session, build_id)
    row = on_the_ledger(session, build_id, line_id)
    row.taken_out, row.reason, row.by, row.out_at = "", "", "", None
    row.version += 1
    store.add(session, row)
    rows = store.rows_of(session, build_id)
    _loose_where_taken(session, rows, row)
    _joined(session, rows, row)
    store.note(session, row, Act.BACK, "", now, by)


def join_again(session: Session, build_id: int, line_id: int, now: datetime, by: str) -> None:
    """Join what hangs loose of a line to the points that it joined before, where no other line does.

    One that is joined stays so. Raises NotFound, BadInput where both its points have other lines.
    """
    builds.build_face(session, build_id)
    row = on_the_ledger(session, build_id, line_id)
    if len(row.ends) == 2 or not row.in_car:
        return
    free = free_before(session, row)
    if not free:
        message = f"The points of {row.name} have other lines now."
        raise BadInput((FieldError("joined", message, "its ends, chosen on the ledger"),), {})
    row.first_id = row.first_id or (row.first_was_id if row.first_was_id in free else None)
    row.second_id = row.second_id or (row.second_was_id if row.second_was_id in free else None)
    row.version += 1
    store.add(session, row)
    _joined(session, store.rows_beside(session, build_id, "line"), row)
    store.note(session, row, Act.JOINED, "as before", now, by)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What came off, was joined, capped or taken out, for the log."""
    return tuple(
        Happening(row.at, page.told_act(row, name), page.where_of(row, aside), row.by)
        for row, name, aside in store.acts_in(session, build_id)
    )


def add_usual(session: Session, build_id: int) -> None:
    """Enter each of the usual spaces that is not there yet. Raises NotFound."""
    builds.build_face(session, build_id)
    for kind in _usual_missing(store.rows_of(session, build_id)):
        store.add(session, LineSpace(build_id=build_id, kind=kind.value, name=kind.value))


def say_cut(session: Session, build_id: int, typed: Mapping[str, str]) -> None:
    """Say whether an over-boost cut is proved. Raises NotFound, BadInput, MissingVersion, Stale."""
    builds.build_face(session, build_id)
    version, said = cut_form(typed)
    row = store.fact_of(session, build_id)
    if row is None:
        store.add(session, LineFact(build_id=build_id, over_boost_cut=said))
    elif not store.edit(session, LineFact, row.key, version, {"over_boost_cut": said}):
        stands = {"over_boost_cut": row.over_boost_cut}
        labels = {"over_boost_cut": LABELS["over_boost_cut"]}
        raise Stale(builds.clashes(labels, {"over_boost_cut": said}, stands), typed)


def known(session: Session, build: BuildFace) -> page.Told:
    """What follows of a ledger: the map, the rules' answers, each line's flow in each state."""

    def make() -> page.Told:
        line_map = store.map_of(store.rows_of(session, build.id), build.meter_place)
        solved = Solved(line_map)
        flows = {state: {line.id: solved.flow(line, state) for line in line_map.lines} for state in State}
        levels = {state: {one.id: solved.level(one.id, state) for one in line_map.regions} for state in State}
        return page.Told(line_map, answer_solved(solved), flows, levels)

    return builds.kept(build, ("line map", build.meter_place), make)


def ledger_page(session: Session, build_id: int, now: datetime, shown: page.Shown) -> page.LedgerPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)

    def make() -> page.LedgerPage:
        rows = store.rows_of(session, build_id)
        return page.ledger_page(build, rows, known(session, build), len(_usual_missing(rows)), shown, now)

    if shown.refused is not None:
        return make()
    return builds.kept(build, ("ledger page", shown, builds.day_of(now)), make)


def on_the_ledger(session: Session, build_id: int, line_id: int) -> LedgerLine:
    """Raises NotFound, also where it is set aside."""
    row = store.load_line(session, build_id, line_id)
    if row.removed_at is not None:
        raise NotFound("This line is set aside. It can be put back on the sheet of lines.")
    return row


def _table(sort: str) -> type[Entry]:
    """Raises NotFound."""
    if sort not in store.TABLES:
        raise NotFound("No ledger has entries of that sort.")
    return store.TABLES[sort]


def _version(typed: Mapping[str, str]) -> int:
    return Fields(typed).version()


def _offered(rows: Rows, row: Entry | None) -> Offered:
    others = [one for one in rows.lines if row is None or one.key != row.key]
    spaces = [one for one in rows.spaces if one.removed_at is None]
    return Offered(
        spaces=[one.key for one in spaces],
        points=[one.key for one in rows.free_points(row)],
        tags=[one.tag for one in others if one.removed_at is None and one.tag],
        kinds=[one.kind for one in spaces if row is None or one.key != row.key],
    )


def _usual_missing(rows: Rows) -> tuple[Kind, ...]:
    there = {row.kind for row in rows.spaces if row.removed_at is None}
    return tuple(kind for kind in USUAL if kind.value not in there)


def _joined(session: Session, rows: Rows, row: Entry) -> None:
    """A point that a line joins is no longer capped: pulled off again, it is open."""
    if isinstance(row, LedgerLine) and row.in_car:
        capped = [one.key for one in rows.points if one.key in row.ends and one.closing != Closing.OPEN]
        if capped:
            store.close(session, capped, Closing.OPEN, "", "")


def _loose_where_taken(session: Session, rows: Rows, row: LedgerLine) -> None:
    free = {point.key for point in rows.free_points(row)}
    row.first_id = row.first_id if row.first_id in free else None
    row.second_id = row.second_id if row.second_id in free else None
    store.add(session, row)


def _rests_on_it(rows: Rows, row: Entry) -> str:
    """What stays and rests on an entry, in words; empty for nothing."""
    names: list[str] = []
    if isinstance(row, LinePoint):
        names = [line.name for line in rows.lines if line.in_car and row.key in line.ends]
    if isinstance(row, LineSpace):
        names = [point.name for point in rows.points if _there(point) and point.space_id == row.key]
        names += [one.name for one in rows.devices if _there(one) and row.key in (*one.sides, one.signal_id)]
    return f"Rests on it: {', '.join(names[:4])}." if names else ""


def _rests_on_gone(rows: Rows, row: Entry) -> str:
    """That an entry rests on a space that is set aside, in words; empty where it does not."""
    gone = {space.key: space.name for space in rows.spaces if not _there(space)}
    needs: tuple[int | None, ...] = ()
    if isinstance(row, LinePoint):
        needs = (row.space_id,)
    if isinstance(row, LineDevice):
        needs = (*row.sides, row.signal_id)
    names = [gone[one] for one in needs if one in gone]
    return f"Set aside itself: {', '.join(names)}." if names else ""


def _there(row: Entry) -> bool:
    return row.removed_at is None
