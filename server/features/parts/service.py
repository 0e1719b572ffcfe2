"""What can be done with parts, and their pages."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime

from sqlmodel import Session

from server.core.buying.stock import Supply
from server.errors import BadInput, FieldError, Refused, Stale
from server.features.builds.service import build_face, clashes
from server.features.builds.store import BuildFace
from server.features.parts import forms, page, store
from server.features.parts.store import OffCutFace, OfferFace, PartFace, SupplierFace
from server.features.parts.tables import Part, Supplier
from server.web.words import plain_money

Supplies = Callable[[Session, BuildFace, date], Mapping[int, Supply]]
"""Works out what there is of each part. Orders and tasks know that, so it is handed in from above."""


def part_faces(session: Session, build_id: int, *, aside: bool = False) -> tuple[PartFace, ...]:
    """Every part of the build, by name, in one query; those set aside too where `aside` says so."""
    return tuple(store.face(row) for row in store.parts(session, build_id, aside=aside))


def supplier_faces(session: Session, build_id: int) -> tuple[SupplierFace, ...]:
    """Every supplier of the build, by name, in one query."""
    return tuple(store.supplier_face(row) for row in store.suppliers(session, build_id))


def offer_faces(session: Session, build_id: int) -> tuple[OfferFace, ...]:
    """Every offer that counts, by part, in one query."""
    return store.offers_of_build(session, build_id)


def off_cut_faces(session: Session, build_id: int) -> tuple[OffCutFace, ...]:
    """Every off-cut that lies on the shelf, in one query."""
    return store.off_cuts(session, build_id)


def part_named(session: Session, build_id: int, name: str, *, price_minor: int | None = None) -> int:
    """The part of that name, capitals aside; a new one to buy where there is none yet.

    What is asked for by name again is not set aside any longer.
    """
    wanted = name.casefold()
    same = [row for row in store.parts(session, build_id, aside=True) if row.name.casefold() == wanted]
    if not same:
        return store.add(session, Part(build_id=build_id, name=name, price_minor=price_minor))
    return _back_on_the_list(session, same)


def part_for_spec(
    session: Session,
    build_id: int,
    spec: str,
    name: str,
    kind: str,
    stock_length: float | None = None,
) -> int:
    """The part that runs call `spec`; else one of that name that runs call nothing yet; else a new one.

    stock_length: of a new part, one length as it is sold [m].
    """
    rows = store.parts(session, build_id, aside=True)
    known = [row for row in rows if row.spec == spec]
    if known:
        return _back_on_the_list(session, known)
    name = name[: forms.LONGEST_NAME]
    same = [row for row in rows if not row.spec and row.name.casefold() == name.casefold()]
    if same:
        part_id = _back_on_the_list(session, same)
        store.set_values(session, Part, part_id, spec=spec)
        return part_id
    part = Part(
        build_id=build_id,
        name=name,
        kind=kind if kind in forms.KINDS else "other",
        spec=spec,
        stock_length=stock_length,
    )
    return store.add(session, part)


def _back_on_the_list(session: Session, same: Sequence[Part]) -> int:
    """Of parts that are asked for again the first on the list, else the first set aside, put back."""
    row = min(same, key=lambda one: one.removed_at is not None)
    if row.removed_at is not None:
        store.set_values(session, Part, row.key, removed_at=None)
    return row.key


def supplier_named(session: Session, build_id: int, name: str) -> int:
    """The supplier of that name, capitals aside; a new one where there is none yet."""
    wanted = name.casefold()
    for row in store.suppliers(session, build_id):
        if row.name.casefold() == wanted:
            return row.key
    return store.add(session, Supplier(build_id=build_id, name=name))


def add_part(session: Session, build_id: int, new: forms.NewPart) -> int:
    """Raises NotFound."""
    build_face(session, build_id)
    return store.add(session, Part(build_id=build_id, on_shelf=new.count, **asdict(new.form)))


def edit_part(
    session: Session, build_id: int, part_id: int, edit: forms.PartEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, Stale with both values of every field that differs."""
    stands = store.load_part(session, build_id, part_id)
    values = asdict(edit.form)
    if not store.edit(session, Part, part_id, edit.version, values):
        raise Stale(clashes(page.LABELS, _as_shown(values), _as_shown(stands.model_dump())), typed)
    session.expire(stands)


def _as_shown(values: Mapping[str, object]) -> dict[str, object]:
    minor = values["price_minor"]
    return {**values, "price": plain_money(minor if isinstance(minor, int) else None)}


def count_shelf(
    session: Session, build_id: int, part_id: int, form: forms.ShelfForm, supplies: Supplies, today: date
) -> None:
    """Put the count right: one piece more, one less, or the number that was counted.

    Raises NotFound, and BadInput where one is to be taken from none.
    """
    part = store.load_part(session, build_id, part_id)
    supply = supplies(session, build_face(session, build_id), today).get(part_id)
    in_hand = supply.in_hand if supply else 0
    beyond = supply.unrecorded if supply else 0
    wanted = in_hand + form.change if form.count is None else form.count
    if wanted < 0:
        message = f"There is no {part.name} in the garage to take away."
        raise BadInput((FieldError("change", message, "one more, or a count"),), {})
    if wanted != in_hand:
        store.move_shelf(session, part_id, wanted - in_hand + beyond)


def parts_page(
    session: Session, build_id: int, now: datetime, supplies: Supplies, refused: Refused | None = None
) -> page.PartsPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    today = now.date()
    there_is = supplies(session, build, today)
    return page.parts_page(build, part_faces(session, build_id), there_is, today, refused)


def part_page(
    session: Session,
    build_id: int,
    part_id: int,
    now: datetime,
    supplies: Supplies,
    refused: Refused | None = None,
) -> page.PartPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    part = store.face(store.load_part(session, build_id, part_id))
    supply = supplies(session, build, now.date()).get(part_id)
    return page.part_page(build, part, supply, now.date(), refused)
