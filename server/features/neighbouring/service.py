"""What can be done with what stands near a run, and its sheet."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.errors import BadInput, FieldError, NotFound, Refused, Stale
from server.features.builds import service as builds
from server.features.designs import store as designs
from server.features.designs.service import answers_of, case_of, in_car_of, surroundings
from server.features.neighbouring import page
from server.features.neighbours import store
from server.features.neighbours.forms import neighbour_form
from server.features.neighbours.tables import Neighbour
from server.features.runs.store import pieces_in_order
from server.web import urls
from server.web.fields import Fields, one_of_two

MOST = 40
"""So many things stand near no run."""


def add_neighbour(session: Session, build_id: int, design_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    designs.load_design(session, build_id, design_id)
    form = neighbour_form(typed, _pieces(session, design_id))
    (rows,) = store.neighbours_of(session, [design_id]).values()
    if len(rows) >= MOST:
        error = FieldError("what", f"{len(rows)} things stand near this run already.", f"up to {MOST}")
        raise BadInput((error,), typed)
    return store.add(session, Neighbour(design_id=design_id, **form.values))


def edit_neighbour(
    session: Session, build_id: int, design_id: int, neighbour_id: int, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale."""
    build = builds.build_face(session, build_id)
    design = designs.load_design(session, build_id, design_id)
    before = store.load_neighbour(session, design_id, neighbour_id).model_dump()
    version = Fields(typed).version()
    form = neighbour_form(typed, _pieces(session, design_id))
    if not store.edit(session, neighbour_id, version, form.values):
        rows = designs.rows_of(session, [design])[design_id]
        plan = case_of(rows, surroundings(session, build)).plan
        raise Stale(page.neighbour_clashes(form.values, before, plan), typed)


def _pieces(session: Session, design_id: int) -> list[int]:
    return [piece.key for piece in pieces_in_order(session, design_id)]


def set_aside(
    session: Session, build_id: int, design_id: int, neighbour_id: int, at: datetime | None
) -> None:
    """Take it off the sheet, or put it back where there is no moment. Raises NotFound."""
    designs.load_design(session, build_id, design_id)
    store.set_removed(session, store.load_neighbour(session, design_id, neighbour_id), at)


def say_looked_round(session: Session, build_id: int, design_id: int, typed: Mapping[str, str]) -> None:
    """Say that all that stands near is entered, or that it is not. Raises NotFound, BadInput."""
    looked = one_of_two(typed, "looked", "Nothing else stands near")
    designs.set_looked_round(session, designs.load_design(session, build_id, design_id), looked)


def sheet_with(session: Session, build_id: int, neighbour_id: int) -> str:
    """The address of the form of a neighbour, or of the keep-out that it is. Raises NotFound."""
    if neighbour_id < 0:
        return urls.keep_out_editing(build_id, -neighbour_id)
    design_id = store.design_of(session, neighbour_id)
    if design_id is None:
        raise NotFound("Nothing of that number stands near a run.")
    designs.load_design(session, build_id, design_id)
    return urls.neighbour_editing(build_id, design_id, neighbour_id)


def neighbours_page(
    session: Session,
    build_id: int,
    design_id: int,
    now: datetime,
    edit: int | None = None,
    refused: Refused | None = None,
) -> page.NeighboursPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    design = designs.load_design(session, build_id, design_id)
    around = surroundings(session, build)
    rows = designs.rows_of(session, [design])[design_id]
    plan = case_of(rows, around).plan
    return page.neighbours_page(
        build=build,
        subsystem=around.every_subsystem[design.subsystem_id],
        design_id=design_id,
        design=design.name,
        looked_round=design.looked_round,
        rows=rows.neighbours,
        plan=plan,
        answers=answers_of(rows, around),
        in_car=in_car_of(plan, around),
        today=now.date(),
        edit=edit,
        refused=refused,
    )
