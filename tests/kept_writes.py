"""Writes of every kind that are made at the car, each under a mark of its own, and what stands of them."""

import hashlib
import random
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import Engine
from sqlmodel import Session, col, func, select

from server.db import write_session
from server.features.log.tables import LogEntry
from server.features.orders.tables import Order, OrderLine
from server.features.photos.service import small_path
from server.features.photos.tables import Photo
from server.features.ports.tables import Port, Reading
from server.features.work.tables import Task
from server.once import OperationKey
from tests.factories import a_build
from tests.pictures import picture, saved

KINDS = ("note", "note with photo", "reading", "reading with photo", "photo", "order", "tick")
JPEG = saved(picture(300, 200))


@dataclass(frozen=True, slots=True)
class Write:
    """One form on its way. mark: the words by which it is found again, and its operation key."""

    kind: str
    mark: str
    address: str
    fields: Mapping[str, str]
    files: Mapping[str, Any] = field(default_factory=dict)


def writes(count: int, dice: random.Random) -> tuple[Write, ...]:
    """So many, of each kind about as many, in an order that is drawn."""
    kinds = [KINDS[number % len(KINDS)] for number in range(count)]
    dice.shuffle(kinds)
    return tuple(_write(kind, number) for number, kind in enumerate(kinds, 1))


def _write(kind: str, number: int) -> Write:
    mark, files = f"{kind} {number}", {"photo": ("a.jpg", JPEG, "image/jpeg")}
    sent = files if "photo" in kind else {}
    reading = {"dimension": "bore", "reading": "57.3 mm", "reading_note": mark}
    of_order = {"supplier": "Tarn Hose & Clamp", "note": mark}
    of_order |= {f"part_{line}": f"hose {line}" for line in (1, 2)}
    of_order |= {f"quantity_{line}": "2" for line in (1, 2)}
    match kind:
        case "note" | "note with photo":
            return Write(kind, mark, "/builds/1/log", {"text": mark}, sent)
        case "reading" | "reading with photo":
            return Write(kind, mark, "/builds/1/ports/1/readings", reading, sent)
        case "photo":
            return Write(kind, mark, "/builds/1/ports/1/photos", {"caption": mark}, sent)
        case "order":
            return Write(kind, mark, "/builds/1/orders", of_order)
        case _:
            return Write(kind, mark, f"/builds/1/tasks/{number}/state", {"state": "done", "back": "garage"})


def prepare(engine: Engine, count: int, now: datetime) -> None:
    """A build with a port and as many open tasks as there are writes, so that any of them may be a tick."""
    with write_session(engine) as session:
        build = a_build(session, now)
        session.add(Port(build_id=build.id, name="Compressor inlet"))
        session.add_all(
            Task(
                build_id=build.id,
                title=f"tick {number}",
                minutes_low=5,
                minutes_likely=10,
                minutes_high=20,
            )
            for number in range(1, count + 1)
        )


def send(client: httpx.Client, origin: str, write: Write) -> int:
    """The status of the answer; 0 where none came."""
    headers = {"origin": origin, "idempotency-key": write.mark}
    try:
        asked = client.post(
            origin + write.address, data=dict(write.fields), files=write.files or None, headers=headers
        )
    except httpx.TransportError:
        return 0
    return asked.status_code


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands in a database. whole: how often each write by its mark; halves: what is not whole."""

    whole: Counter[str]
    halves: tuple[str, ...]


def standing(engine: Engine, photos: Path) -> Standing:
    """Every write that stands, and each row that lacks its other half: its picture, its lines, its key."""
    with Session(engine) as session:
        whole = Counter(_found(session))
        keys = set(session.exec(select(OperationKey.key)))
        halves = [*_halves(session), *_without_file(session, photos)]
    halves += [f"{mark} stands without its key" for mark in whole.keys() - keys]
    halves += [f"the key of {mark} stands without it" for mark in keys - whole.keys() if _of_ours(mark)]
    return Standing(whole, tuple(halves))


def _of_ours(key: str) -> bool:
    return key.rsplit(" ", maxsplit=1)[0] in KINDS


def _found(session: Session) -> Iterator[str]:
    yield from session.exec(select(LogEntry.text).where(LogEntry.kind == "note"))
    yield from session.exec(select(Reading.note))
    yield from session.exec(select(Order.note))
    yield from session.exec(select(Task.title).where(Task.state == "done"))
    yield from session.exec(select(Photo.caption).where(Photo.caption != ""))


def _halves(session: Session) -> Iterator[str]:
    shown = set(session.exec(select(Photo.subject_kind, Photo.subject_id)))
    notes = select(LogEntry.text, LogEntry.id).where(col(LogEntry.text).startswith("note with photo"))
    readings = select(Reading.note, Reading.id).where(col(Reading.note).startswith("reading with photo"))
    for kind, asked in (("log", notes), ("reading", readings)):
        yield from (
            f"{mark} lacks its photo" for mark, number in session.exec(asked) if (kind, number) not in shown
        )
    lines = dict(
        session.exec(select(OrderLine.order_id, func.count()).group_by(col(OrderLine.order_id))).all()
    )
    for mark, number in session.exec(select(Order.note, Order.id)):
        if lines.get(number or 0) != 2:
            yield f"{mark} has {lines.get(number or 0, 0)} of its 2 lines"


def _without_file(session: Session, photos: Path) -> Iterator[str]:
    for photo in session.exec(select(Photo)):
        path = photos / photo.name
        if not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != photo.digest:
            yield f"the file of photo {photo.key} is not there, or is another"
        elif not small_path(path).is_file():
            yield f"photo {photo.key} lacks its small picture"


def left_over(engine: Engine, photos: Path) -> int:
    """Files of photos whose rows never came to be: they are swept away later."""
    with Session(engine) as session:
        known = set(session.exec(select(Photo.name)))
    return sum(path.name.replace(".s.jpg", ".jpg") not in known for path in photos.iterdir())
