"""What can be read of where ports are, and the sheets that show it."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.tube.port import PortFacts
from server.core.tube.space.fix import Fixes
from server.core.tube.space.poses import Place
from server.core.tube.space.siting import SIDES, Sights, Way, found_poses, leads_back, meetings
from server.core.units import System
from server.errors import BadInput, Choice, FieldError, NotFound, Refused, Stale
from server.features.builds.service import build_face, clashes
from server.features.places import forms, store
from server.features.places import page as words
from server.features.places.service import known_places
from server.features.places.tables import Datum, PoseReading
from server.features.placing import page
from server.features.ports.service import known_ports, port_facts
from server.features.ports.store import load_port


def add_reading(
    session: Session, build_id: int, port_id: int, typed: Mapping[str, str], now: datetime, actor: str
) -> int:
    """One more reading of where a port is or how it faces; its number. Raises NotFound, BadInput."""
    build = build_face(session, build_id)
    load_port(session, build_id, port_id)
    rows = store.readings_of(session, build_id)
    sights = store.sights_of(rows)
    names = {port.id: port.name for port in port_facts(session, build_id)}
    places = {key: found.place for key, found in found_poses(sights).items()}
    from_which = {key: name for key, name in names.items() if key != port_id and places.get(key)}
    form = forms.pose_form(typed, from_which, build.system)
    row = PoseReading(
        build_id=build_id,
        port_id=port_id,
        about=form.about,
        way=form.way,
        numbers=form.numbers,
        said=form.said,
        typed=form.typed,
        beside_id=form.beside,
        instrument=form.instrument,
        taken_at=now,
        taken_by=actor,
        note=form.note,
    )
    sight = store.sight_of(row)
    if leads_back(port_id, sight, sights):
        ring = "That port was read from this one: neither would have a place."
        field = "beside" if form.beside else "hook1"
        raise BadInput((FieldError(field, ring, "another port, or the datum"),), typed)
    if sight.way is Way.TAPES:
        _settled(meetings(sight, places), form, typed, build.system)
    return store.add(session, row)


def _settled(met: Fixes | None, form: forms.PoseForm, typed: Mapping[str, str], system: System) -> None:
    """Raises BadInput where tapes don't meet, or in two places and nobody said in which."""
    if met is None or len(met.fixes) < len(SIDES):
        why = "A port that a tape is hooked at has no place."
        if met is not None:
            why = met.reason or " ".join(met.notes)
        accepts = "three tapes that meet, away from the plane of their hooks"
        raise BadInput((FieldError("tape1", why, accepts),), typed)
    if not form.said["side"]:
        both = [words.place_words(Place(fix.point, fix.doubt), system) for fix in met.fixes]
        choices = tuple(map(Choice, SIDES, both))
        text = " ".join(("The tapes meet in two places: which of them is it?", *met.notes))
        raise BadInput((FieldError("side", text, "one of the two", choices),), typed)


def withdraw_reading(
    session: Session, build_id: int, port_id: int, reading_id: int, typed: Mapping[str, str], now: datetime
) -> None:
    """Withdraw a reading, or put it back. Raises NotFound, BadInput."""
    load_port(session, build_id, port_id)
    reading = store.load_reading(session, port_id, reading_id)
    withdraw = forms.standing(typed, reading.withdrawn_at is not None)
    if withdraw != (reading.withdrawn_at is not None):
        store.set_withdrawn(session, reading, now if withdraw else None)


def say_datum(session: Session, build_id: int, typed: Mapping[str, str]) -> None:
    """What forward, left and up are counted from. Raises NotFound, MissingVersion, BadInput, Stale."""
    build_face(session, build_id)
    stands = store.datum_of(session, build_id)
    form = forms.datum_form(typed, stands=stands is not None)
    if stands is None:
        store.add(session, Datum(build_id=build_id, words=form.words))
        return
    before = {"words": stands.words}
    if not store.edit_datum(session, build_id, form.version or 0, form.words):
        raise Stale(clashes({"words": words.LABELS["words"]}, {"words": form.words}, before), typed)


def places_page(
    session: Session, build_id: int, now: datetime, refused: Refused | None = None
) -> page.PlacesPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    return page.places_page(
        build,
        now.date(),
        store.datum_of(session, build_id),
        known_ports(session, build),
        known_places(session, build),
        refused,
    )


def place_page(
    session: Session,
    build_id: int,
    port_id: int,
    now: datetime,
    way: str = "",
    refused: Refused | None = None,
    told: str = "",
) -> page.PlacePage:
    """way: how the form reads; what is still to read where empty. told: what was just done, "reading-7".

    Raises NotFound.
    """
    build = build_face(session, build_id)
    ports = known_ports(session, build)
    port = _port(ports, port_id)
    rows = store.readings_of(session, build_id)
    found = found_poses(store.sights_of(rows))
    if isinstance(refused, BadInput):
        way = refused.typed.get("way", way)
    return page.place_page(
        build=build,
        now=now,
        port=port,
        ports={one.id: one.name for one in ports},
        found=found,
        datum=store.datum_of(session, build_id),
        rows=[(row, store.sight_of(row)) for row in reversed(rows) if row.port_id == port_id],
        counting=store.sights_of(rows).get(port_id, Sights()),
        way=way,
        refused=refused,
        told=told,
    )


def _port(ports: tuple[PortFacts, ...], port_id: int) -> PortFacts:
    port = next((one for one in ports if one.id == port_id), None)
    if port is None:
        raise NotFound("There is no such port in this build, or it is set aside.")
    return port
