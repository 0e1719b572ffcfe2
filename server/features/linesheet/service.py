"""The sheet of one line, and photos of it."""

from datetime import datetime

from sqlmodel import Session

from server.core.lines.delete import Deletion, joined_as_before, may_delete
from server.errors import BadInput, FieldError, Refused
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.connecting.service import known, on_the_ledger
from server.features.ledger import store
from server.features.linesheet import page
from server.features.photos import service as photos
from server.web.with_photo import WithPhoto


def line_page(
    session: Session, build_id: int, line_id: int, now: datetime, refused: Refused | None = None
) -> page.LinePage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)

    def make() -> page.LinePage:
        return _made(session, build, line_id, now, refused)

    return make() if refused else builds.kept(build, ("line page", line_id, builds.day_of(now)), make)


def _made(
    session: Session, build: BuildFace, line_id: int, now: datetime, refused: Refused | None
) -> page.LinePage:
    row = on_the_ledger(session, build.id, line_id)
    told = known(session, build)
    found = None
    if row.in_car:
        name = ("may this line go", build.meter_place, line_id)

        def make() -> Deletion:
            return may_delete(joined_as_before(known(session, build).map, line_id), line_id)

        found = builds.kept(build, name, make)
    pictures = {
        kind: photos.photos_of_many(session, build.id, kind, (line_id,), now).get(line_id, ())
        for kind in page.SHOWS
    }
    rows = store.rows_of(session, build.id)
    return page.line_page(build, row, rows, told, found, pictures, refused, now)


def add_photo(session: Session, ids: tuple[int, int], sent: WithPhoto) -> None:
    """A photo of a line, before or after. ids: of build and line. Raises NotFound, BadInput."""
    build_id, line_id = ids
    on_the_ledger(session, build_id, line_id)
    kind = sent.typed.get("shows", "")
    if kind not in page.SHOWS:
        message = "It is not said what the photo shows."
        raise BadInput((FieldError("shows", message, "before, after"),), sent.typed)
    photos.attach_required(session, build_id, (kind, line_id), sent)
