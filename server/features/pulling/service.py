"""A hose comes off: the ledger knows at once, with the number on both its ends."""

import re
from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.lines.states import Kind
from server.errors import BadInput, FieldError, Refused
from server.features.builds import service as builds
from server.features.connecting.service import MOST, on_the_ledger
from server.features.ledger import store
from server.features.ledger.page import Act
from server.features.ledger.tables import LedgerLine, LinePoint, LineSpace
from server.features.pulling import page
from server.features.pulling.forms import known_hose, new_hose

TOLD = re.compile(r"line-([0-9]{1,9})")


def pull(session: Session, build_id: int, typed: Mapping[str, str], made: datetime, by: str) -> int:
    """A line of the ledger is off, with the number that its page showed; the line. One that is off stays so.

    Raises NotFound, BadInput where it is out of the car, or that number is on another line by now.
    """
    builds.build_face(session, build_id)
    line_id, tag = known_hose(typed)
    row = on_the_ledger(session, build_id, line_id)
    if row.taken_out:
        message = f"{row.name} is out of the car already."
        raise BadInput((FieldError("line", message, "a hose that is in the car"),), typed)
    if row.tag and row.tag != tag:
        message = f"{row.name} has number {row.tag}, not {tag}. Write {row.tag} on both ends."
        raise BadInput((FieldError("line", message, "the number that stands on this page now"),), typed)
    _refuse_taken(session, row, tag, "line", typed)
    if not row.ends:
        return line_id
    row.tag = tag
    row.first_was_id = row.first_id or row.first_was_id
    row.second_was_id = row.second_id or row.second_was_id
    row.first_id = row.second_id = None
    row.version += 1
    store.add(session, row)
    store.note(session, row, Act.OFF, f"{tag} on both ends", made, by)
    return line_id


def pull_new(session: Session, build_id: int, typed: Mapping[str, str], made: datetime, by: str) -> int:
    """A hose that is not in the ledger is off: it is entered with both its points; the line.

    What its points open into is said later: each gets a junction of its own. Raises NotFound, BadInput.
    """
    builds.build_face(session, build_id)
    hose = new_hose(typed)
    if store.count_of(session, build_id, "line") >= MOST:
        raise BadInput((FieldError("first", f"There are {MOST} lines already.", "one of the list"),), typed)
    row = LedgerLine(build_id=build_id, name=hose.name, medium=hose.medium.value, kind="hose", tag=hose.tag)
    _refuse_taken(session, row, hose.tag, "tag", typed)
    row.first_was_id, row.second_was_id = (_point(session, row, name) for name in (hose.first, hose.second))
    number = store.add(session, row)
    store.note(session, row, Act.OFF, f"{hose.tag} on both ends", made, by)
    return number


def _point(session: Session, row: LedgerLine, name: str) -> int:
    space = store.add(session, LineSpace(build_id=row.build_id, kind=Kind.JUNCTION.value, name=name))
    point = LinePoint(build_id=row.build_id, space_id=space, name=name, medium=row.medium)
    return store.add(session, point)


def _refuse_taken(session: Session, row: LedgerLine, tag: int, field: str, typed: Mapping[str, str]) -> None:
    """Raises BadInput where another line has this number."""
    lines = store.rows_beside(session, row.build_id, "line")
    has = next(
        (one for one in lines.lines if one.tag == tag and one.removed_at is None and one.id != row.id), None
    )
    if has is not None:
        message = f"Number {tag} is on {has.name}."
        raise BadInput((FieldError(field, message, f"{lines.next_tag()}, the next free one"),), typed)


def pull_page(
    session: Session, build_id: int, asked: Mapping[str, str], now: datetime, refused: Refused | None = None
) -> page.PullPage:
    """asked: `told`, what has just come off, e.g. "line-7"; `line`, the one that stands first.

    Raises NotFound.
    """
    build = builds.build_face(session, build_id)
    named = TOLD.fullmatch(asked.get("told", ""))
    off = on_the_ledger(session, build_id, int(named[1])) if named is not None else None
    line = asked.get("line", "")
    first = int(line) if line.isascii() and line.isdigit() and len(line) < 12 else None
    rows = store.rows_beside(session, build_id, "line")
    return page.pull_page(build, rows, off, first, refused, now.date())


def tags_page(session: Session, build_id: int, now: datetime) -> page.TagsPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    return page.tags_page(build, store.rows_beside(session, build_id, "line"), now.date())
