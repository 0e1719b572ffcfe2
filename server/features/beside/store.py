"""What photos show, by name: queries on the things themselves."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping

from sqlmodel import Session, col, select

from server.core.measure.opening import DIMENSIONS
from server.errors import NotFound
from server.features.beside.page import Thing
from server.features.designs.tables import Design
from server.features.ledger.tables import LedgerLine
from server.features.log.tables import LogEntry
from server.features.photos.page import DESIGN, LINE_AFTER, LINE_BEFORE, PIECE
from server.features.ports.tables import Port, Reading
from server.features.runs.tables import Piece
from server.features.work.tables import Task

Subject = tuple[str, int]
Named = Callable[[Session, Collection[int]], Iterator[tuple[int, Thing]]]
LONGEST = 60
"""Of a note, as far as it names its photos."""


def _ports(session: Session, ids: Collection[int]) -> Iterator[tuple[int, Thing]]:
    for number, name in session.exec(select(Port.id, Port.name).where(col(Port.id).in_(ids))):
        yield number or 0, Thing(f"port {number}", name)


def _readings(session: Session, ids: Collection[int]) -> Iterator[tuple[int, Thing]]:
    asked = select(Reading.id, Reading.dimension, Port.id, Port.name).join(Port)
    for number, dimension, port_id, name in session.exec(asked.where(col(Reading.id).in_(ids))):
        yield number or 0, Thing(f"port {port_id}", name, DIMENSIONS[dimension])


def _tasks(session: Session, ids: Collection[int]) -> Iterator[tuple[int, Thing]]:
    for number, title in session.exec(select(Task.id, Task.title).where(col(Task.id).in_(ids))):
        yield number or 0, Thing(f"task {number}", title)


def _notes(session: Session, ids: Collection[int]) -> Iterator[tuple[int, Thing]]:
    for number, text in session.exec(select(LogEntry.id, LogEntry.text).where(col(LogEntry.id).in_(ids))):
        short = text if len(text) <= LONGEST else text[:LONGEST].rstrip(" .,;") + "…"
        yield number or 0, Thing(f"log {number}", f"Note: {short}")


def _lines(part: str) -> Named:
    def named(session: Session, ids: Collection[int]) -> Iterator[tuple[int, Thing]]:
        asked = select(LedgerLine.id, LedgerLine.name).where(col(LedgerLine.id).in_(ids))
        for number, name in session.exec(asked):
            yield number or 0, Thing(f"line {number}", name[:1].upper() + name[1:], part)

    return named


def _designs(session: Session, ids: Collection[int]) -> Iterator[tuple[int, Thing]]:
    for number, name in session.exec(select(Design.id, Design.name).where(col(Design.id).in_(ids))):
        yield number or 0, Thing(f"design {number}", name)


def _pieces(session: Session, ids: Collection[int]) -> Iterator[tuple[int, Thing]]:
    asked = select(Piece, Design.name).join(Design).where(col(Piece.id).in_(ids))
    for piece, design in session.exec(asked):
        yield piece.key, Thing(f"design {piece.design_id}", design, piece.name or piece.kind)


NAMED: Mapping[str, Named] = {
    "port": _ports,
    "reading": _readings,
    "task": _tasks,
    "log": _notes,
    LINE_BEFORE: _lines("before"),
    LINE_AFTER: _lines("after"),
    DESIGN: _designs,
    PIECE: _pieces,
}
"""How what a photo shows is named, by its kind."""


def things(session: Session, shown: Collection[Subject]) -> dict[Subject, Thing]:
    """The name of everything that photos show, one query a kind."""
    ids: dict[str, set[int]] = defaultdict(set)
    for kind, number in shown:
        ids[kind].add(number)
    return {
        (kind, number): thing for kind, some in ids.items() for number, thing in NAMED[kind](session, some)
    }


def design_of_piece(session: Session, build_id: int, piece_id: int) -> int:
    """Raises NotFound."""
    asked = select(Piece.design_id).join(Design).where(Piece.id == piece_id, Design.build_id == build_id)
    found = session.exec(asked).first()
    if found is None:
        raise NotFound("There is no such piece in this build.")
    return found
