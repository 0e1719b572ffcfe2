"""Queries on parts, the suppliers that offer them, and the off-cuts on the shelf."""

from typing import Any

from sqlalchemy import bindparam
from sqlalchemy import select as select_columns
from sqlmodel import Session, and_, col, select, update

from server.core.buying.part import OffCutFace, OfferFace, PartFace, SupplierFace
from server.db import Row, VersionedRow, plain_rows
from server.errors import NotFound
from server.features.parts.tables import OffCut, Offer, Part, Supplier

__all__ = ["OffCutFace", "OfferFace", "PartFace", "SupplierFace"]
"""The faces are values of the core; here they are filled."""


def face(row: Part) -> PartFace:
    return PartFace(
        row.key,
        row.version,
        row.name,
        row.kind,
        row.origin,
        row.tried,
        row.price_minor,
        row.on_shelf,
        row.note,
        row.spec,
        row.stock_length,
        row.spares,
        row.spare_reason,
        row.removed_at is not None,
        row.same_as_id,
    )


def supplier_face(row: Supplier) -> SupplierFace:
    return SupplierFace(
        row.key,
        row.version,
        row.name,
        row.postage_minor,
        row.lead_days,
        row.contact,
        row.note,
        row.free_from_minor,
        row.takes_back,
    )


def _offer_face(row: Offer, supplier: Supplier) -> OfferFace:
    return OfferFace(
        row.key,
        row.version,
        row.part_id,
        row.supplier_id,
        supplier.name,
        row.price_minor,
        row.pack,
        row.code,
        supplier.lead_days if row.lead_days is None else row.lead_days,
        row.preferred,
        row.note,
        row.lead_days,
        row.removed_at is not None,
    )


def off_cut_face(row: OffCut) -> OffCutFace:
    return OffCutFace(row.key, row.part_id, row.length, row.note, row.put_at, row.used_at is not None)


# parts


OTHERWISE_NAMED = {
    "set_aside": col(Part.removed_at).is_not(None).label("set_aside"),
    "same_as": col(Part.same_as_id).label("same_as"),
}
FACES: tuple[Any, ...] = tuple(
    OTHERWISE_NAMED[one] if one in OTHERWISE_NAMED else getattr(Part, one) for one in PartFace._fields
)
"""Columns as the face has them."""
EVERY = (
    select_columns(*FACES)
    .where(col(Part.build_id) == bindparam("build"))
    .order_by(col(Part.name), col(Part.id))
)
NOT_ASIDE = EVERY.where(col(Part.removed_at).is_(None))


def faces(session: Session, build_id: int, *, aside: bool = False) -> tuple[PartFace, ...]:
    """By name; those set aside too where `aside` says so."""
    rows = plain_rows(session, EVERY if aside else NOT_ASIDE, build=build_id)
    return tuple(PartFace(*row) for row in rows)


def parts(session: Session, build_id: int, *, aside: bool = False) -> list[Part]:
    """By name; those set aside too where `aside` says so."""
    query = select(Part).where(Part.build_id == build_id)
    if not aside:
        query = query.where(col(Part.removed_at).is_(None))
    return list(session.exec(query.order_by(col(Part.name), col(Part.id))))


def part_names(session: Session, build_id: int) -> dict[int, str]:
    """By number, those set aside left out."""
    return dict(plain_rows(session, NAMES, build=build_id))


NAMES = select(Part.id, Part.name).where(
    col(Part.build_id) == bindparam("build"), col(Part.removed_at).is_(None)
)


def load_part(session: Session, build_id: int, part_id: int) -> Part:
    """Raises NotFound."""
    row = session.get(Part, part_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such part in this build.")
    return row


def add(session: Session, row: Part | Supplier | Offer | OffCut) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit(
    session: Session, table: type[VersionedRow], row_id: int, version: int, values: dict[str, object]
) -> bool:
    """Change a row that was read as `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(table)
        .where(col(table.id) == row_id, col(table.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def set_values(session: Session, table: type[Row], row_id: int, **values: object) -> None:
    """Set what one tap sets; a second tap changes nothing."""
    session.exec(update(table).where(col(table.id) == row_id).values(**values))


def move_shelf(session: Session, part_id: int, by: int) -> None:
    """Count so many pieces more (or less) on the shelf."""
    session.exec(update(Part).where(col(Part.id) == part_id).values(on_shelf=Part.on_shelf + by))


# suppliers and offers


def suppliers(session: Session, build_id: int) -> list[Supplier]:
    query = select(Supplier).where(Supplier.build_id == build_id)
    return list(session.exec(query.order_by(col(Supplier.name), col(Supplier.id))))


def load_supplier(session: Session, build_id: int, supplier_id: int) -> Supplier:
    """Raises NotFound."""
    row = session.get(Supplier, supplier_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such supplier in this build.")
    return row


def offers_of_build(session: Session, build_id: int) -> tuple[OfferFace, ...]:
    """Every offer that counts, by part, with its supplier's name, in one query."""
    query = (
        select(Offer, Supplier)
        .join(Supplier, col(Supplier.id) == Offer.supplier_id)
        .join(Part, col(Part.id) == Offer.part_id)
        .where(Part.build_id == build_id, col(Part.removed_at).is_(None), col(Offer.removed_at).is_(None))
        .order_by(col(Offer.part_id), col(Offer.id))
    )
    return tuple(_offer_face(row, supplier) for row, supplier in session.exec(query))


def market_of_part(
    session: Session, build_id: int, part_id: int
) -> tuple[tuple[OfferFace, ...], tuple[str, ...]]:
    """Every offer of one part, those set aside too, and the name of every supplier; in one query."""
    mine = and_(col(Offer.supplier_id) == Supplier.id, col(Offer.part_id) == part_id)
    query = (
        select(Supplier, Offer)
        .join(Offer, mine, isouter=True)
        .where(Supplier.build_id == build_id)
        .order_by(col(Supplier.name), col(Supplier.id), col(Offer.id))
    )
    rows = session.exec(query).all()
    offers = tuple(_offer_face(offer, supplier) for supplier, offer in rows if offer is not None)
    return offers, tuple(dict.fromkeys(supplier.name for supplier, _ in rows))


def load_offer(session: Session, build_id: int, offer_id: int) -> Offer:
    """Raises NotFound."""
    row = session.get(Offer, offer_id)
    if row is None:
        raise NotFound("There is no such offer in this build.")
    load_part(session, build_id, row.part_id)
    return row


def prefer(session: Session, part_id: int, offer_id: int | None) -> None:
    """Of a part's offers that one is taken whatever the others ask; none: the cheapest."""
    session.exec(
        update(Offer).where(col(Offer.part_id) == part_id).values(preferred=col(Offer.id) == (offer_id or 0))
    )


# off-cuts


def off_cuts(session: Session, build_id: int, *, used: bool = False) -> tuple[OffCutFace, ...]:
    """What lies on the shelf, the longest of each part first; used ones too where `used` says so."""
    query = (
        select(OffCut)
        .join(Part, col(Part.id) == OffCut.part_id)
        .where(Part.build_id == build_id, col(Part.removed_at).is_(None))
    )
    if not used:
        query = query.where(col(OffCut.used_at).is_(None))
    query = query.order_by(col(OffCut.part_id), col(OffCut.length).desc(), col(OffCut.id))
    return tuple(off_cut_face(row) for row in session.exec(query))


def load_off_cut(session: Session, build_id: int, off_cut_id: int) -> OffCut:
    """Raises NotFound."""
    row = session.get(OffCut, off_cut_id)
    if row is None:
        raise NotFound("There is no such off-cut in this build.")
    load_part(session, build_id, row.part_id)
    return row
