"""What is likely to be asked of a subsystem, and by which name an answer is known again."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from sqlmodel import Session

from server.core.checks.rule import HOT
from server.core.tube.port import PortFacts
from server.core.tube.run import Place
from server.core.tube.space.vectors import Vector
from server.errors import BadInput, FieldError
from server.features.builds.store import SubsystemFace
from server.features.designs import store as designs
from server.features.proposing.forms import METALS

USUAL_OUTSIDE, USUAL_WALL = "60", "1.5"
"""What is asked where nothing tells [mm]; common practice, no source."""


def usual(
    session: Session, build_id: int, subsystem: SubsystemFace, ports: Sequence[PortFacts]
) -> dict[str, str]:
    """Both ends and the tube that are likely to be asked for, by the names of their fields."""
    start, end = likely_ends(session, build_id, subsystem.id, ports)
    port = next((one for one in ports if str(one.id) == start and one.shape == "spigot"), None)
    outside, wall, material = _usual_tube(session, build_id, subsystem, port)
    ends = {"start_port_id": start, "end_port_id": end}
    return ends | {"outside": outside, "wall": wall, "material": material}


def likely_ends(
    session: Session, build_id: int, subsystem_id: int, ports: Sequence[PortFacts]
) -> tuple[str, str]:
    """Those of the latest design; before there is one, the subsystem's own two, in their order."""
    rows = designs.designs_of(session, build_id, subsystem_id)
    if rows:
        return str(rows[-1].start_port_id or ""), str(rows[-1].end_port_id or "")
    own = [port.id for port in ports if port.role == "run end" and port.subsystem_id == subsystem_id]
    return (str(own[0]), str(own[1])) if len(own) == 2 else ("", "")


def _usual_tube(
    session: Session, build_id: int, subsystem: SubsystemFace, port: PortFacts | None
) -> tuple[str, str, str]:
    """Outside, wall and material of the latest design's pipes, as typed; before there is one, of a port."""
    rows = designs.rows_of(session, designs.designs_of(session, build_id, subsystem.id)[-1:])
    for piece in (piece for row in rows.values() for piece in row.run.pieces):
        if piece.outside_diameter is not None and piece.wall is not None and piece.material in METALS:
            return _mm(piece.outside_diameter), _mm(piece.wall), piece.material
    outside = port.sizes.get("outside_diameter") if port is not None else None
    across = USUAL_OUTSIDE if outside is None else _mm(outside.value)
    return across, USUAL_WALL, usual_material(Place(subsystem.kind))


def usual_material(place: Place) -> str:
    """What pipes there are usually made of; common practice, no source."""
    return "304 stainless" if place in HOT else "aluminium"


def _mm(value: float) -> str:
    """A size as its field takes it [mm]."""
    return f"{value * 1000:.1f}".removesuffix(".0")


def mark_of(corners: Iterable[Vector]) -> str:
    """By which an answer is known again: its corners to a tenth of a millimetre [m]."""
    # Adding 0 takes the sign off a zero.
    told = repr([(np.round(corner, 4) + 0.0).tolist() for corner in corners])
    return hashlib.sha256(told.encode()).hexdigest()[:12]


def gone(field: str, changed: str, typed: Mapping[str, str]) -> BadInput:
    """Refuses an answer that is not found any more. field: "route", "splice"; changed: what may have."""
    message = f"This {field} is no longer among those found: {changed} changed."
    return BadInput((FieldError(field, message, "one of those found now: look for them again"),), typed)
