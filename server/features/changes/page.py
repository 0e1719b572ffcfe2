"""What changed on pieces, in words: by the save just made, and against the design a run was started from."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from server.core.checks.levers import DIAMETERS, THERE
from server.core.tube.difference import PieceChange, difference
from server.core.tube.run import Origin, PiecePlan
from server.core.tube.sizes import SIZE_LABELS, UNIT_OF_KIND, kind_of_size
from server.core.units import System, show
from server.errors import Clash
from server.web import urls
from server.web.view import Undo


@dataclass(frozen=True, slots=True)
class Changed:
    """One thing that differs on a piece, in words; empty where it is not known or not there."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class DifferenceLine:
    """One piece that differs: its numbers in both runs, or in the one it is in."""

    before: int | None
    after: int | None
    name: str
    changes: tuple[Changed, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """What differs from the design this one was started from."""

    name: str
    href: str
    same: int
    lines: tuple[DifferenceLine, ...]


def run_difference(
    name: str, href: str, before: tuple[PiecePlan, ...], after: tuple[PiecePlan, ...], system: System
) -> Difference:
    """`name`, `href`: of the design that the run was started from."""
    steps = difference(before, after)
    return Difference(
        name,
        href,
        sum(1 for step in steps if step.same),
        tuple(
            DifferenceLine(step.before, step.after, step.name, _changes(step, system))
            for step in steps
            if not step.same
        ),
    )


def _changes(step: PieceChange, system: System) -> tuple[Changed, ...]:
    def words(name: str, value: float | None) -> str:
        return "" if value is None else show(value, kind_of_size(name), system).text

    sizes = [
        Changed(SIZE_LABELS[size.name], words(size.name, size.before), words(size.name, size.after))
        for size in step.sizes
    ]
    return (*sizes, *(Changed(word.name.capitalize(), word.before, word.after) for word in step.words))


class PieceLike(Protocol):
    """What the news of a piece needs to know of it."""

    @property
    def key(self) -> int: ...
    @property
    def version(self) -> int: ...
    @property
    def kind(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def origin(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Saved:
    """What was just saved, what to mind with it, and the ways on: take it back, or say that it is another
    piece.
    """

    text: str
    more: str = ""
    undo: Undo | None = None
    another: Undo | None = None


def saved_piece(
    build_id: int,
    design_id: int,
    piece: PieceLike,
    number: int,
    changed: Sequence[Clash] | None,
    *,
    undone: bool = False,
) -> Saved:
    """`changed`: every field with its words before (`stands`) and now; None where nothing can be undone.

    `undone`: it has just got back what it was.
    """
    label = f"{piece.name or piece.kind} ({number})"
    label = label[:1].upper() + label[1:]
    if changed is None:
        return Saved(f"Saved: {label}.")
    version = (("version", str(piece.version)),)
    undo = Undo(urls.piece_undo(build_id, design_id, piece.key), version, "Undo")
    emptied = [
        one.label.lower() for one in changed if one.field in SIZE_LABELS and one.stands and not one.typed
    ]
    told = "; ".join(
        f"{one.label} {_said(one, one.stands, 'not said')} → {_said(one, one.typed, 'empty')}"
        for one in changed
    )
    more = (
        f"{label} has no {' and no '.join(emptied)} now: what rests on it is not measured." if emptied else ""
    )
    another = None
    if not emptied and not undone and piece.origin in THERE and _was_resized(changed):
        more = f"{label} is there already ({Origin(piece.origin).value}). Is this another piece?"
        fields = (*version, ("kind", piece.kind), ("anew", "on"))
        another = Undo(urls.piece_swap(build_id, design_id, piece.key), fields, "Mark it as new")
    word = "Undone" if undone else "Saved"
    return Saved(f"{word}: {told}." if told else f"{word}.", more, undo, another)


def _said(change: Clash, text: str, nothing: str) -> str:
    """A value with the unit that a bare number is taken in; `nothing` where there is none."""
    bare = text.replace(",", ".").replace(".", "", 1).removeprefix("-").isdigit()
    unit = f" {UNIT_OF_KIND[kind_of_size(change.field)][1]}" if bare and change.field in SIZE_LABELS else ""
    return text + unit or nothing


def _was_resized(changed: Sequence[Clash]) -> bool:
    return any(one.field in DIAMETERS and one.stands for one in changed)
