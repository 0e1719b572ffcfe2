"""What can be done with the limits of the checks, and their page."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.checks.limits import LIMITS, Changed, Limit
from server.errors import NotFound, Refused, Stale
from server.features.builds.service import build_face, clashes, kept
from server.features.builds.store import BuildFace
from server.features.limits import forms, page, store
from server.features.limits.tables import LimitChange
from server.web import urls
from server.web.view import Happening


def changed_limits(session: Session, build: BuildFace) -> tuple[Changed, ...]:
    """The limits that differ from the usual ones in this build, read once for each state of it."""
    return kept(build, ("limits",), lambda: _read(session, build.id))


def _read(session: Session, build_id: int) -> tuple[Changed, ...]:
    rows = store.changes(session, build_id)
    return tuple(
        Changed(LIMITS[row.limit_key], row.value, row.reason)
        for row in rows
        if row.value is not None and row.limit_key in LIMITS
    )


def changes_by_key(session: Session, build_id: int) -> Mapping[str, LimitChange]:
    """What was ever changed of the limits of a build, with reason, name and date, by the limit's key."""
    return {row.limit_key: row for row in store.changes(session, build_id)}


def limit_named(key: str) -> Limit:
    """Raises NotFound."""
    if key not in LIMITS:
        raise NotFound("There is no such limit.")
    return LIMITS[key]


def change_limit(
    session: Session, build_id: int, key: str, typed: Mapping[str, str], now: datetime, by: str
) -> None:
    """Change a limit for a build. Raises NotFound, BadInput, MissingVersion, Stale with both values."""
    build = build_face(session, build_id)
    edit = forms.limit_edit(typed, limit_named(key), build.system)
    form = edit.form
    _write(session, build_id, key, edit.version, form.value, form.typed, form.reason, typed, now, by)


def use_usual(
    session: Session, build_id: int, key: str, typed: Mapping[str, str], now: datetime, by: str
) -> None:
    """Let the usual limit count again. Raises NotFound, MissingVersion, Stale."""
    build_face(session, build_id)
    limit_named(key)
    _write(session, build_id, key, forms.withdrawal(typed), None, "", "", typed, now, by)


def _write(
    session: Session,
    build_id: int,
    key: str,
    version: int,
    value: float | None,
    text: str,
    reason: str,
    typed: Mapping[str, str],
    now: datetime,
    by: str,
) -> None:
    row = store.change(session, build_id, key)
    if row is None and version == 0:
        change = LimitChange(
            build_id=build_id, limit_key=key, value=value, typed=text, reason=reason, by=by, at=now
        )
        store.add(session, change)
        return
    if row is None:
        raise NotFound("This limit was never changed in this build.")
    if not store.edit(session, row, version, value=value, typed=text, reason=reason, by=by, at=now):
        wanted = {"value": text, "reason": reason}
        stands = {"value": row.typed, "reason": row.reason}
        raise Stale(clashes(page.LABELS, wanted, stands), typed)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What was changed last about each limit, for the log."""
    return tuple(
        Happening(
            row.at, page.told(LIMITS[row.limit_key], row), urls.limit_in_list(build_id, row.limit_key), row.by
        )
        for row in store.changes(session, build_id)
        if row.limit_key in LIMITS
    )


def limits_page(
    session: Session, build_id: int, now: datetime, key: str = "", refused: Refused | None = None
) -> page.LimitsPage:
    """`key` names the limit whose form is shown. Raises NotFound."""
    build = build_face(session, build_id)
    rows = {row.limit_key: row for row in store.changes(session, build_id)}
    return page.limits_page(build, rows, now, key, refused)
