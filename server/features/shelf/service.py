"""What can be done at the shelf, and its page."""

import re
from datetime import datetime

from sqlmodel import Session

from server.features.builds.service import build_face
from server.features.parts import store
from server.features.parts.forms import ALL, Ask
from server.features.parts.service import Above, known_parts, part_faces
from server.features.parts.tables import OffCut
from server.features.shelf import forms, page

TOLD = re.compile(r"cut-([0-9]{1,9})")


def part_names(session: Session, build_id: int) -> tuple[tuple[int, str], ...]:
    """Number and name of each part, those sold by length first. Raises NotFound."""
    build_face(session, build_id)
    faces = sorted(part_faces(session, build_id), key=lambda part: part.stock_length is None)
    return tuple((part.id, part.name) for part in faces)


def put_off_cut(session: Session, form: forms.OffCutForm, now: datetime) -> int:
    """An off-cut of a part that was looked up in its build; the number it got."""
    row = OffCut(part_id=form.part_id, length=form.length, note=form.note, put_at=now)
    return store.add(session, row)


def use_up(session: Session, build_id: int, off_cut_id: int, used: bool, now: datetime) -> None:
    """Take an off-cut from the shelf, or lay it back. Raises NotFound."""
    store.load_off_cut(session, build_id, off_cut_id)
    store.set_values(session, OffCut, off_cut_id, used_at=now if used else None)


def shelf_page(
    session: Session,
    build_id: int,
    now: datetime,
    above: Above,
    ask: Ask = ALL,
    told: str = "",
    refused: page.RefusedForm = page.FIRST_SHOWN,
) -> page.ShelfPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    found = TOLD.fullmatch(told)
    return page.shelf_page(
        build,
        [part for part in known_parts(session, build) if not part.set_aside],
        above.supplies(session, build, now.date()),
        store.off_cuts(session, build_id, used=True),
        ask,
        now.date(),
        int(found[1]) if found else 0,
        refused,
    )
