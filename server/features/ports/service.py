"""What can be done with ports and readings, their pages, and what the other features learn of a port."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime

from sqlmodel import Session

from server.core.measure.opening import DIMENSIONS, coarsely_taken, together
from server.core.measure.opening import Reading as Taken
from server.core.tube.port import PortFacts, wanted_sizes
from server.core.tube.run import EndForm, Frame, Stretch
from server.core.tube.space.siting import Found
from server.errors import BadInput, FieldError, Refused, Stale
from server.features.builds.service import build_face, clashes, kept, subsystem_faces
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.photos import service as photos
from server.features.photos.page import album
from server.features.places.service import known_places
from server.features.ports import forms, page, store
from server.features.ports.tables import Port, Reading
from server.web import urls
from server.web.view import FormState, Happening, Link
from server.web.with_photo import WithPhoto

Resting = Callable[[Session, int, int], tuple[str, ...]]
"""What rests on a port of a build, in words. Runs and tasks know that, so it is handed in from above."""


def port_facts(session: Session, build_id: int) -> tuple[PortFacts, ...]:
    """Every port of a build in the order of their numbers, in one query.

    Those set aside are left out and keep their numbers, so that drawings made before still tell the truth.
    """
    return _port_facts(session, build_id)[0]


def known_ports(session: Session, build: BuildFace) -> tuple[PortFacts, ...]:
    """Every port that counts; read once for each state of the build."""
    return _known(session, build)[0]


def _known(session: Session, build: BuildFace) -> tuple[tuple[PortFacts, ...], tuple[Link, ...]]:
    """The ports that count, and the way back of those that were set aside."""
    return kept(build, ("ports",), lambda: _read_ports(session, build.id))


def _read_ports(session: Session, build_id: int) -> tuple[tuple[PortFacts, ...], tuple[Link, ...]]:
    facts, aside = _port_facts(session, build_id)
    return facts, tuple(Link(urls.port_removal(build_id, port.key), port.name) for port in aside)


def _port_facts(session: Session, build_id: int) -> tuple[tuple[PortFacts, ...], tuple[Port, ...]]:
    """The ports that count, and those that were set aside."""
    rows = store.ports(session, build_id)
    facts = tuple(
        _facts(row.port, number, row.readings)
        for number, row in enumerate(rows, start=1)
        if row.counts and row.port.removed_at is None
    )
    return facts, tuple(row.port for row in rows if row.port.removed_at is not None)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """The readings that were taken, for the log, in one query."""
    return tuple(
        Happening(
            reading.taken_at,
            f"Measured {port.name}: {DIMENSIONS[reading.dimension]} {reading.words}",
            urls.port(build_id, port.key),
            reading.taken_by,
        )
        for port, reading in store.taken(session, build_id)
    )


def readings_of(session: Session, build_id: int) -> Mapping[int, list[Taken]]:
    """The readings of each port of a build that count, by the port's number, in one query."""
    found: dict[int, list[Taken]] = {}
    for port, reading in store.taken(session, build_id):
        found.setdefault(port.key, []).append(reading)
    return found


def _facts(port: Port, number: int, readings: Sequence[Taken]) -> PortFacts:
    sizes = together(readings)
    return PortFacts(
        id=port.key,
        version=port.version,
        number=number,
        name=port.name,
        role=port.role,
        shape=port.shape,
        end_form=EndForm(port.end_form),
        medium=port.medium,
        stretch=Stretch(port.stretch),
        subsystem_id=port.subsystem_id,
        material=port.material,
        frame=Frame(port.frame),
        sizes={size: one.estimate for size, one in sizes.items()},
        wanted=wanted_sizes(port.role, port.shape, sizes),
        coarse=coarsely_taken(readings),
    )


def add_port(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """One more port; the number of its row. Raises NotFound, BadInput."""
    build_face(session, build_id)
    form = forms.port_form(typed, [face.id for face in subsystem_faces(session, build_id)])
    return store.add_port(session, Port(build_id=build_id, **asdict(form))).key


def edit_port(session: Session, build_id: int, port_id: int, typed: Mapping[str, str]) -> None:
    """Raises NotFound, MissingVersion, BadInput, Stale with both values of every field that differs."""
    stands = store.load_port(session, build_id, port_id)
    faces = subsystem_faces(session, build_id)
    edit = forms.port_edit(typed, [face.id for face in faces])
    values = asdict(edit.form)
    if store.edit_port(session, build_id, port_id, edit.version, values):
        return
    differ = clashes(page.LABELS, _texts(values, faces), _texts(stands.model_dump(), faces))
    if differ:
        raise Stale(differ, typed)


def _texts(values: Mapping[str, object], faces: Iterable[SubsystemFace]) -> dict[str, object]:
    """A port's fields as people read them."""
    name = next((face.name for face in faces if face.id == values["subsystem_id"]), "")
    return {**values, "subsystem_id": name}


def _names(faces: Iterable[SubsystemFace]) -> dict[int, str]:
    return {face.id: f"{face.letter} {face.name}" for face in faces}


def set_removed(
    session: Session, build_id: int, port_id: int, aside: bool, resting: Resting, now: datetime
) -> None:
    """Set a port aside, or put it back. Raises NotFound, and BadInput where something rests on it."""
    port = store.load_port(session, build_id, port_id)
    if aside == (port.removed_at is not None):
        return
    rests = resting(session, build_id, port_id) if aside else ()
    if rests:
        more = f", and {len(rests) - 3} more" if len(rests) > 3 else ""
        message = f"{port.name} can't be set aside: {'; '.join(rests[:3])}{more}."
        raise BadInput((FieldError("to", message, "a port that nothing rests on"),), {"to": "aside"})
    store.set_removed(session, port, now if aside else None)


def add_reading(
    session: Session, build_id: int, port_id: int, typed: Mapping[str, str], now: datetime, actor: str
) -> int:
    """One more reading; the number of its row. Raises NotFound, BadInput."""
    build = build_face(session, build_id)
    port = store.load_port(session, build_id, port_id)
    form = forms.reading_form(typed, build.system, port.role)
    return store.add_reading(session, Reading(port_id=port.key, taken_at=now, taken_by=actor, **asdict(form)))


def add_photo(session: Session, build_id: int, port_id: int, sent: WithPhoto) -> None:
    """A photo of a port, or of one of its readings. Raises NotFound, BadInput."""
    store.load_port(session, build_id, port_id)
    reading = forms.shown_reading(sent.typed, [one.id for one in store.readings(session, port_id)])
    subject = ("port", port_id) if reading is None else ("reading", reading)
    photos.attach_required(session, build_id, subject, sent)


def port_of_reading(session: Session, build_id: int, reading_id: int) -> int:
    """The number of the port that a reading is of. Raises NotFound."""
    return store.port_of_reading(session, build_id, reading_id)


def withdraw_reading(
    session: Session,
    build_id: int,
    port_id: int,
    reading_id: int,
    typed: Mapping[str, str],
    now: datetime,
) -> None:
    """Withdraw a reading, or put it back; without a word either way, the opposite of what stands.

    Raises NotFound, BadInput.
    """
    port = store.load_port(session, build_id, port_id)
    reading = store.load_reading(session, port, reading_id)
    withdraw = forms.withdrawal(typed, reading.withdrawn_at is not None)
    if withdraw != (reading.withdrawn_at is not None):
        store.set_withdrawn(session, reading, now if withdraw else None)


TOLD = re.compile(r"port-([0-9]{1,9})")


def ports_page(
    session: Session,
    build_id: int,
    now: datetime,
    refused: Refused | None = None,
    told: str = "",
    start: int = 0,
) -> page.PortsPage:
    """told: what was just done, e.g. "port-7"; start: how many ports to pass over. Raises NotFound."""
    build = build_face(session, build_id)
    facts, set_aside = _known(session, build)
    names = _names(subsystem_faces(session, build_id))
    named = TOLD.fullmatch(told)
    news = page.news_of(build, int(named[1]), facts, set_aside) if named else None
    return page.ports_page(build, now.date(), facts, names, refused, news, set_aside, start)


def port_page(
    session: Session,
    build_id: int,
    port_id: int,
    now: datetime,
    measure: str = "",
    editing: Refused | None = None,
    taking: Refused | None = None,
    picturing: Refused | None = None,
    placing: Refused | None = None,
    told: str = "",
) -> page.PortPage:
    """measure: the dimension that the reading form is for, the next one wanted where empty; told: what was
    just done, e.g. "reading-7".

    Raises NotFound.
    """
    build = build_face(session, build_id)
    port = store.load_port(session, build_id, port_id)
    readings = store.readings(session, port_id)
    sizes = together(readings)
    shown = {
        **photos.photos_of_many(session, build_id, "reading", [one.id for one in readings], now),
        0: photos.photos_of_many(session, build_id, "port", (port_id,), now).get(port_id, ()),
    }
    if isinstance(taking, BadInput):
        measure = taking.typed.get("dimension", "")
    return page.port_page(
        build,
        now,
        _facts(port, store.number_of(session, port), readings),
        _fields(port),
        sizes,
        readings,
        _names(subsystem_faces(session, build_id)),
        measure,
        editing,
        taking,
        page.Side(
            {one: album(pictures) for one, pictures in shown.items()},
            port.removed_at is not None,
            FormState.of(picturing),
            FormState.of(placing),
            known_places(session, build).get(port_id, Found()),
            any(one.id == port_id for one in known_ports(session, build)),
        ),
        told,
    )


def _fields(port: Port) -> page.PortFields:
    return page.PortFields(
        name=port.name,
        role=port.role,
        shape=port.shape,
        end_form=port.end_form,
        medium=port.medium,
        subsystem_id="" if port.subsystem_id is None else str(port.subsystem_id),
        stretch=port.stretch,
        material=port.material,
        frame=port.frame,
        facing=port.facing,
        note=port.note,
    )
