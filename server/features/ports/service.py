"""What can be done with ports and readings, their pages, and what the other features learn of a port."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime

from sqlmodel import Session

from server.core.measure.opening import DIMENSIONS, coarsely_taken, together
from server.core.measure.opening import Reading as Taken
from server.core.tube.port import PortFacts, wanted_sizes
from server.core.tube.run import EndForm, Frame, Stretch
from server.errors import BadInput, Refused, Stale
from server.features.builds.service import build_face, clashes, subsystem_faces
from server.features.builds.store import SubsystemFace
from server.features.ports import forms, page, store
from server.features.ports.tables import Port, Reading
from server.web import urls
from server.web.view import Happening


def port_facts(session: Session, build_id: int) -> tuple[PortFacts, ...]:
    """Every port of a build in the order of their numbers: one query for ports, one for readings."""
    taken = store.standing_readings(session, build_id)
    return tuple(
        _facts(port, number, taken[port.key])
        for number, port in enumerate(store.ports(session, build_id), start=1)
    )


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


def add_reading(
    session: Session, build_id: int, port_id: int, typed: Mapping[str, str], now: datetime, actor: str
) -> None:
    """One more reading. Raises NotFound, BadInput."""
    build = build_face(session, build_id)
    port = store.load_port(session, build_id, port_id)
    form = forms.reading_form(typed, build.system)
    store.add_reading(session, Reading(port_id=port.key, taken_at=now, taken_by=actor, **asdict(form)))


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


def ports_page(
    session: Session, build_id: int, now: datetime, refused: Refused | None = None
) -> page.PortsPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    return page.ports_page(
        build,
        now.date(),
        port_facts(session, build_id),
        _names(subsystem_faces(session, build_id)),
        refused,
    )


def port_page(
    session: Session,
    build_id: int,
    port_id: int,
    now: datetime,
    measure: str = "",
    editing: Refused | None = None,
    taking: Refused | None = None,
) -> page.PortPage:
    """measure: the dimension that the reading form is for, the next one wanted where empty.

    Raises NotFound.
    """
    build = build_face(session, build_id)
    port = store.load_port(session, build_id, port_id)
    readings = store.readings(session, port_id)
    sizes = together(readings)
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
