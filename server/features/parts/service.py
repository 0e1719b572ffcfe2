"""What can be done with parts, and their pages."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime

from sqlmodel import Session

from server.core.buying.part import OffCutFace, OfferFace, PartFace, SupplierFace
from server.core.buying.stock import Supply
from server.core.units import System
from server.errors import BadInput, FieldError, Refused, Stale
from server.features.builds.service import build_face, clashes, kept
from server.features.builds.store import BuildFace
from server.features.parts import forms, page, store
from server.features.parts.tables import Part, Supplier
from server.web import urls
from server.web.view import News, Undo
from server.web.words import plain_money

EMPTY: Mapping[str, str] = {}

Supplies = Callable[[Session, BuildFace, date], Mapping[int, Supply]]
"""Works out what there is of each part. Orders and tasks know that, so it is handed in from above."""
Titles = Callable[[Session, BuildFace], Mapping[int, str]]
"""The titles of the build's tasks by number. Tasks know them, so it is handed in from above."""


@dataclass(frozen=True, slots=True)
class Above:
    """What sheets of parts show that only features above know."""

    supplies: Supplies
    titles: Titles


def part_faces(session: Session, build_id: int, *, aside: bool = False) -> tuple[PartFace, ...]:
    """Every part of the build, by name, in one query; those set aside too where `aside` says so."""
    return store.faces(session, build_id, aside=aside)


def part_names(session: Session, build_id: int) -> dict[int, str]:
    """The name of every part of the build by its number, in one query."""
    return store.part_names(session, build_id)


def known_parts(session: Session, build: BuildFace) -> tuple[PartFace, ...]:
    """Every part of the build, those set aside too, by name; read once for each state of the build."""
    return kept(build, ("parts",), lambda: part_faces(session, build.id, aside=True))


def known_offers(session: Session, build: BuildFace) -> tuple[OfferFace, ...]:
    """Every offer that counts, by part; read once for each state of the build."""
    return kept(build, ("offers",), lambda: offer_faces(session, build.id))


def supplier_faces(session: Session, build_id: int) -> tuple[SupplierFace, ...]:
    """Every supplier of the build, by name, in one query."""
    return tuple(store.supplier_face(row) for row in store.suppliers(session, build_id))


def offer_faces(session: Session, build_id: int) -> tuple[OfferFace, ...]:
    """Every offer that counts, by part, in one query."""
    return store.offers_of_build(session, build_id)


def off_cut_faces(session: Session, build_id: int, *, used: bool = False) -> tuple[OffCutFace, ...]:
    """Every off-cut that lies on the shelf, used ones too where `used` says so; in one query."""
    return store.off_cuts(session, build_id, used=used)


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


def add_part(session: Session, build_id: int, new: forms.NewPart, typed: Mapping[str, str] = EMPTY) -> int:
    """Raises NotFound, BadInput."""
    build_face(session, build_id)
    _spec_is_free(session, build_id, 0, new.form, typed)
    return store.add(session, Part(build_id=build_id, on_shelf=new.count, **asdict(new.form)))


def edit_part(
    session: Session, build_id: int, part_id: int, edit: forms.PartEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, BadInput, Stale with both values of every field that differs."""
    stands = store.load_part(session, build_id, part_id)
    _spec_is_free(session, build_id, part_id, edit.form, typed)
    values = asdict(edit.form)
    if not store.edit(session, Part, part_id, edit.version, values):
        system = build_face(session, build_id).system
        shown = _as_shown(values, system), _as_shown(stands.model_dump(), system)
        raise Stale(clashes(page.LABELS, *shown), typed)
    session.expire(stands)


def _spec_is_free(
    session: Session, build_id: int, part_id: int, form: forms.PartForm, typed: Mapping[str, str]
) -> None:
    """What runs call one part can't be another part too."""
    for row in store.parts(session, build_id) if form.spec else ():
        if row.spec == form.spec and row.key != part_id:
            message = f"Runs call {row.name} that already."
            raise BadInput((FieldError("spec", message, "nothing, or clear it there first"),), typed)


def _as_shown(values: Mapping[str, object], system: System) -> dict[str, object]:
    minor, length = values["price_minor"], values["stock_length"]
    return {
        **values,
        "price": plain_money(minor if isinstance(minor, int) else None),
        "stock_length": page.length_typed(length if isinstance(length, float) else None, system),
    }


def set_tried(session: Session, build_id: int, part_id: int, tried: str) -> None:
    """How a borrowed part went on. Raises NotFound, and BadInput for a part that is not borrowed."""
    part = store.load_part(session, build_id, part_id)
    if part.origin != "borrowed":
        raise _refused_tap(f"{part.name} is not borrowed to try on.", "a part that is borrowed to try")
    store.set_values(session, Part, part_id, tried=tried)


def set_aside(
    session: Session, build_id: int, part_id: int, aside: bool, above: Above, now: datetime
) -> None:
    """Set a part aside, or put it back.

    Raises NotFound, and BadInput where tasks still call for it or some is on order.
    """
    build = build_face(session, build_id)
    part = store.load_part(session, build_id, part_id)
    if aside:
        supply = above.supplies(session, build, now.date()).get(part_id)
        titles = above.titles(session, build)
        why = page.standing_in_the_way(build, store.face(part), supply, titles)
        if why:
            raise _refused_tap(why, "a part that nothing calls for")
    store.set_values(session, Part, part_id, removed_at=now if aside else None)


def _refused_tap(message: str, accepts: str) -> BadInput:
    """One tap that can't be done; the message stands at the head of the sheet."""
    return BadInput((FieldError("act", message, accepts),), {"act": ""})


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


# pages


TOLD = re.compile(r"(part|offer|tried)-([0-9]{1,9})")


def _told(told: str, what: str) -> int:
    """The number of what was just done on a sheet, e.g. 7 of "offer-7"; 0 where that was something else."""
    found = TOLD.fullmatch(told)
    return int(found[2]) if found and found[1] == what else 0


def parts_page(
    session: Session,
    build_id: int,
    now: datetime,
    above: Above,
    ask: forms.Ask = forms.ALL,
    told: str = "",
    refused: Refused | None = None,
) -> page.PartsPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    today = now.date()
    there_is = above.supplies(session, build, today)
    faces = known_parts(session, build)
    news = _news_of_part(build, faces, _told(told, "part"))
    return page.parts_page(build, faces, there_is, ask, today, news, refused)


def _news_of_part(build: BuildFace, parts: Sequence[PartFace], part_id: int) -> News | None:
    """After a part was set aside or put back."""
    part = next((one for one in parts if one.id == part_id), None)
    if part is None:
        return None
    where = urls.part_removal(build.id, part_id)
    if part.set_aside:
        return News(f"Set aside: {part.name}.", undo=Undo(where, (("aside", "no"),), "Put it back"))
    return News(f"Put back: {part.name}.", undo=Undo(where, (("aside", "yes"),), "Set it aside"))


def part_page(
    session: Session,
    build_id: int,
    part_id: int,
    now: datetime,
    above: Above,
    told: str = "",
    refused: page.RefusedForm = page.FIRST_SHOWN,
) -> page.PartPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    part = store.face(store.load_part(session, build_id, part_id))
    offers, suppliers = store.market_of_part(session, build_id, part_id)
    return page.part_page(
        build,
        part,
        above.supplies(session, build, now.date()).get(part_id),
        above.titles(session, build),
        offers,
        suppliers,
        now.date(),
        _news_of_sheet(build, part, offers, told),
        refused,
    )


def _news_of_sheet(build: BuildFace, part: PartFace, offers: Sequence[OfferFace], told: str) -> News | None:
    if _told(told, "part") == part.id:
        return _news_of_part(build, [part], part.id)
    if _told(told, "tried") == part.id and part.tried:
        where = urls.part_tried(build.id, part.id)
        undo = (
            Undo(where, (("tried", "not tried"),), "Not tried on yet") if part.tried != "not tried" else None
        )
        return News(
            f"Noted: {page.TRIED_WORDS[part.tried]}.", undo=undo if part.tried != "not tried" else None
        )
    offer = next((one for one in offers if one.id == _told(told, "offer")), None)
    if offer is None:
        return None
    where = urls.offer_removal(build.id, offer.id)
    if offer.set_aside:
        undo = Undo(where, (("aside", "no"),), "Put it back")
        return News(f"Set aside: the offer of {offer.supplier}.", "It is not bought from.", undo=undo)
    return News(
        f"Noted: the offer of {offer.supplier}.", undo=Undo(where, (("aside", "yes"),), "Set it aside")
    )
