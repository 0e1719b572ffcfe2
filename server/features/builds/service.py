"""What can be done with a build, and its pages."""

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Collection, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from threading import Lock
from typing import Any, TypeVar, cast

from sqlmodel import Session

from server.core.again import Again
from server.errors import BadInput, Clash, FieldError, Refused, Stale
from server.features.builds import forms, page, store
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.builds.tables import Build, Subsystem
from server.tables_used import NOT_STAMPED, noting_reads, rests_on, take_written
from server.web.live import READ
from server.web.whose import Whose

T = TypeVar("T")
L = TypeVar("L")

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"

Memory = OrderedDict[tuple[object, ...], Any]

KEPT_OF_BUILDS = 256
KEPT_OF_STEPS = 1024
KEPT_BY_INPUT = 1024
KEPT_BEGINNINGS = 32
"""How many derived values are kept: those of a state of a build, those of its steps that outlive it, those
that rest on one value wherever it comes from, and what the next making of a value may begin from."""
_of_builds: Memory = OrderedDict()
_of_steps: Memory = OrderedDict()
_by_input: Memory = OrderedDict()
_beginnings: Memory = OrderedDict()
_memory_lock = Lock()


def build_face(session: Session, build_id: int) -> BuildFace:
    """The build as other features see it. Raises NotFound."""
    build = store.face(session, build_id)
    session.info[READ] = revision_of(build)
    return build


def revision_of(build: BuildFace) -> str:
    """A short text that changes with every write to anything of the build."""
    stands = repr((build.revision, sorted(build.stamps.items())))
    return hashlib.sha256(stands.encode()).hexdigest()[:16]


def subsystem_faces(session: Session, build_id: int) -> tuple[SubsystemFace, ...]:
    return tuple(store.subsystem_face(row) for row in store.subsystems(session, build_id))


def subsystem_face(session: Session, build_id: int, subsystem_id: int) -> SubsystemFace:
    """Raises NotFound."""
    return store.subsystem_face(store.load_subsystem(session, build_id, subsystem_id))


def kept(build: BuildFace, name: tuple[object, ...], make: Callable[[], T]) -> T:
    """A derived value, kept in memory until somebody writes to a table that it was made from.

    `make` reads whatever it needs through its session or takes what is kept: which tables that were is noted
    meanwhile. It may bring nothing else of the build along, and `name` tells all that it depends on besides.
    """
    key = (build.id, build.revision, *name)
    found: _Kept | None = _recall(_of_builds, key)
    if found is None or any(build.stamp_of(table) != stamp for table, stamp in found.stamps):
        with noting_reads() as tables:
            value = make()
        found = _Kept(
            value, tuple((table, build.stamp_of(table)) for table in {*tables, Build.__tablename__})
        )
        if NOT_STAMPED not in tables:
            _remember(_of_builds, KEPT_OF_BUILDS, key, found)
    rests_on([table for table, _ in found.stamps])
    return cast(T, found.value)


def kept_while(
    build_id: int, name: tuple[object, ...], inputs: tuple[object, ...], make: Callable[[], T]
) -> T:
    """A derived value, kept in memory for as long as what it is made from is equal to what it was.

    For a step that many writes have no effect on, though they change a table that its inputs were read from.
    `make` uses `inputs` alone; what stands in them never changes.
    """
    key = (build_id, *name)
    found: tuple[tuple[object, ...], T] | None = _recall(_of_steps, key)
    if found is None or found[0] != inputs:
        found = inputs, make()
        _remember(_of_steps, KEPT_OF_STEPS, key, found)
    return found[1]


def day_of(now: datetime) -> str:
    """What is kept of pages that tell days, and moments on the clock of `now`, is kept by."""
    return now.strftime("%Y-%m-%d %z")


@dataclass(frozen=True, slots=True)
class _Kept:
    """A value with the tables that it was made from, each as it stood then."""

    value: Any
    stamps: tuple[tuple[str, str], ...]


def kept_for(name: str, value: object, make: Callable[[], T]) -> T:
    """A derived value, worked out once for each input and kept in memory only.

    For what costs much and rests on one frozen value: it outlives changes elsewhere in the build. The
    value's `repr` must tell all of it.
    """
    key = (name, hashlib.sha256(repr(value).encode()).digest())
    found: _Kept | None = _recall(_by_input, key)
    if found is None:
        found = _Kept(make(), ())
        _remember(_by_input, KEPT_BY_INPUT, key, found)
    return cast(T, found.value)


def begun_from_last(build_id: int, name: tuple[object, ...], make: Callable[[L | None], tuple[T, L]]) -> T:
    """A derived value, begun from what its last making left, which is kept in memory.

    make: from what was left, None where there is nothing, to the value and what is left for the next time.
    The value is the same whatever it began from: that only saves work.
    """
    key = (build_id, *name)
    value, left = make(_recall(_beginnings, key))
    _remember(_beginnings, KEPT_BEGINNINGS, key, left)
    return value


def made_again(build_id: int, name: tuple[object, ...], make: Callable[[Again], T]) -> T:
    """A derived value that is made in steps, of which those that nothing changed for are taken again.

    For what is made of many things, of which most writes change one. The value is the same whatever was left.
    """
    key = (build_id, "again", *name)
    again = Again(_recall(_of_steps, key))
    value = make(again)
    _remember(_of_steps, KEPT_OF_STEPS, key, again.left)
    return value


def _recall(memory: Memory, key: tuple[object, ...]) -> Any:
    with _memory_lock:
        if key in memory:
            memory.move_to_end(key)
        return memory.get(key)


def _remember(memory: Memory, most: int, key: tuple[object, ...], value: object) -> None:
    with _memory_lock:
        memory[key] = value
        memory.move_to_end(key)
        while len(memory) > most:
            memory.popitem(last=False)


def after_write(session: Session, path: Mapping[str, Any]) -> None:
    """After any write below a build's address: what was derived from the tables written is out of date."""
    if "build_id" in path:
        store.touch_tables(session, int(path["build_id"]), take_written(session))
        take_written(session)


def create_build(session: Session, form: forms.BuildForm, now: datetime, whose: Whose | None = None) -> int:
    """A new, empty build; the number it got. whose: who has it, None as who owns the server."""
    values = asdict(form) | {"system": form.system.value}
    owner = whose.builder_id if whose else None
    row = Build(**values, builder_id=owner, revision=store.new_revision(), created_at=now)
    return store.add_build(session, row).key


def edit_build(session: Session, build_id: int, edit: forms.BuildEdit, typed: Mapping[str, str]) -> None:
    """Raises NotFound, Stale with both values of every field that differs."""
    stands = store.load_build(session, build_id)
    values = asdict(edit.form) | {"system": edit.form.system.value}
    if not store.edit_build(session, build_id, edit.version, values):
        raise Stale(clashes(page.LABELS, _texts(values), _texts(stands.model_dump())), typed)
    session.expire(stands)


def _texts(values: Mapping[str, Any]) -> dict[str, object]:
    """A build's fields as people type them."""
    money = {name: page.budget_text(values[f"{name}_minor"]) for name in ("budget", "week")}
    return {**values, **money}


def clashes(
    labels: Mapping[str, str], wanted: Mapping[str, object], stands: Mapping[str, object]
) -> tuple[Clash, ...]:
    """Each labelled field whose wanted value differs from what stands now."""
    return tuple(
        Clash(name, label, str(stands[name]), str(wanted[name]))
        for name, label in labels.items()
        if str(stands[name]) != str(wanted[name])
    )


def add_subsystem(session: Session, build_id: int, form: forms.SubsystemForm) -> int:
    """Give the build one more subsystem, under the next free letter. Raises NotFound, BadInput."""
    store.load_build(session, build_id)
    taken = [row.letter for row in store.every_subsystem(session, build_id)]
    free = free_letters(taken)
    if not free:
        message = f"There are {len(taken)} subsystems already; drawings have letters for no more."
        raise BadInput((FieldError("name", message),), {"name": form.name, "kind": form.kind})
    row = Subsystem(build_id=build_id, letter=free[0], name=form.name, kind=form.kind, position=len(taken))
    return store.add_subsystem(session, row).key


def free_letters(taken: Collection[str]) -> list[str]:
    """The letters that drawings have left, in order: A to Z, then AA, AB ...; no I and O, read as 1 and 0."""
    both = (*LETTERS, *(first + second for first in LETTERS for second in LETTERS))
    return [letter for letter in both if letter not in taken]


def edit_subsystem(
    session: Session, build_id: int, subsystem_id: int, edit: forms.SubsystemEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, Stale with both values of every field that differs."""
    stood = store.subsystem_face(store.load_subsystem(session, build_id, subsystem_id))
    values = asdict(edit.form)
    if not store.edit_subsystem(session, subsystem_id, edit.version, values):
        raise Stale(clashes(page.SUBSYSTEM_LABELS, values, asdict(stood)), typed)


def set_subsystem_removed(
    session: Session, build_id: int, subsystem_id: int, removed: bool, now: datetime
) -> None:
    """Set a subsystem aside, or put it back; what stands so already stays. Raises NotFound."""
    row = store.load_subsystem(session, build_id, subsystem_id)
    if removed != (row.removed_at is not None):
        store.set_removed(session, row, now if removed else None)


def hand_over(session: Session, build_id: int, whose: Whose) -> None:
    """From now on it is this builder's. Raises NotFound."""
    build = store.load_build(session, build_id)
    build.builder_id = whose.builder_id
    store.add_build(session, build)


def is_of(session: Session, build_id: int, whose: Whose) -> bool:
    """Whether a build is there and is this builder's."""
    return store.is_of(session, build_id, whose)


def builds_page(
    session: Session,
    now: datetime,
    whose: Whose | None = None,
    refused: Refused | None = None,
    *,
    bringing: Refused | None = None,
) -> page.BuildsPage:
    """The builds of one builder, or with None of all. `bringing`: why none could be brought in."""
    faces = store.all_builds(session, whose)
    return page.builds_page(faces, now.date(), refused, bringing, signed_in=whose is not None)


def build_page(
    session: Session, build_id: int, now: datetime, refused: Refused | None = None
) -> page.BuildPage:
    """Raises NotFound."""
    return page.build_page(build_face(session, build_id), now.date(), refused)
