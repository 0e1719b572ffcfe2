"""What can be done with keep-outs, their sheet, and what the other features learn of them."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.tube.space.solids import Shape, Solid
from server.errors import BadInput, FieldError, Refused, Stale
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.keepouts import page, store
from server.features.keepouts.forms import keep_out_form
from server.features.keepouts.tables import KeepOut
from server.web.fields import Fields

MOST = 60
"""So many things stand in no engine bay's way."""


def known_solids(session: Session, build: BuildFace) -> tuple[Solid, ...]:
    """The keep-outs of a build that stand; read once for each state of it."""

    def read() -> tuple[Solid, ...]:
        rows = store.keep_outs_of(session, build.id)
        return tuple(store.solid_of(row) for row in rows if row.removed_at is None)

    return builds.kept(build, ("keep-outs",), read)


def add_keep_out(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    build = builds.build_face(session, build_id)
    form = keep_out_form(typed, build.system)
    if len(store.keep_outs_of(session, build_id)) >= MOST:
        raise BadInput((FieldError("what", f"There are {MOST} already.", "fewer, larger ones"),), typed)
    return store.add(session, KeepOut(build_id=build_id, **form.values))


def edit_keep_out(session: Session, build_id: int, keep_out_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    build = builds.build_face(session, build_id)
    stands = store.load(session, build_id, keep_out_id)
    version = Fields(typed).version()
    form = keep_out_form(typed, build.system, Shape(stands.shape))
    if not store.edit(session, keep_out_id, version, form.values):
        raise Stale(page.keep_out_clashes(typed, store.load(session, build_id, keep_out_id)), typed)


def set_aside(session: Session, build_id: int, keep_out_id: int, at: datetime | None) -> None:
    """Take it off the sheet, or put it back where there is no moment. Raises NotFound."""
    store.set_removed(session, store.load(session, build_id, keep_out_id), at)


def keep_outs_page(
    session: Session,
    build_id: int,
    now: datetime,
    edit: int | None = None,
    shape: str = "",
    refused: Refused | None = None,
) -> page.KeepOutsPage:
    """edit: whose form is shown, none for a new one of a shape. Raises NotFound."""
    build = builds.build_face(session, build_id)
    rows = store.keep_outs_of(session, build_id)
    if isinstance(refused, BadInput):
        shape = refused.typed.get("shape", shape)
    return page.keep_outs_page(
        build=build,
        today=now.date(),
        rows=rows,
        solids={row.key: store.solid_of(row) for row in rows if row.removed_at is None},
        edit=edit,
        shape=Shape(shape) if shape in list(Shape) else Shape.CAPSULE,
        refused=refused,
    )
