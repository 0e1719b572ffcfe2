"""What a subsystem is made of, as tables: the pieces and joints of a run, the figures of what is fitted."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Protocol

from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.figures import Figure
from server.core.checks.layout import Joint
from server.core.checks.missing import NotMeasured
from server.core.tube.run import Clamp, PieceKind, PiecePlan
from server.core.tube.said import LINERS, OFFERS, ORIGINS
from server.core.units import Kind, System, show
from server.features.evidence.page import NOTHING, UNKNOWN_HAND, Head, Row, Table
from server.web.words import counted, date_text

SHOWN_ROWS = 12
"""Rows of a typed table that a sheet repeats; a longer one is counted."""


class FigureRow(Protocol):
    """What is stored of the figures of what is fitted."""

    @property
    def typed(self) -> Mapping[str, str]: ...
    @property
    def numbers(self) -> Mapping[str, Sequence[float]]: ...
    @property
    def by(self) -> str: ...
    @property
    def at(self) -> datetime: ...


PIECES = (
    Head("No.", 0.6),
    Head("Piece", 3.4),
    Head("Bore", 1.5, True),
    Head("Outside", 1.5, True),
    Head("Wall", 1.1, True),
    Head("Length", 1.4, True),
    Head("Material", 1.6),
    Head("Origin", 1.8),
)
JOINTS = (
    Head("No.", 0.6),
    Head("Between", 3.6),
    Head("Held by", 2.2),
    Head("Clamp", 2.4),
    Head("Overlap", 1.2, True),
    Head("Holds", 1.2, True),
)


def piece_table(case: Case, system: System) -> Table | None:
    """Every piece in the direction of flow, numbered as on the drawing; None where there is none."""
    facts = Facts.at_best(case)
    rows = tuple(_piece(facts, piece, system) for piece in case.plan.pieces)
    return Table("pieces", "Pieces", PIECES, rows).without_empty() if rows else None


def _piece(facts: Facts, piece: PiecePlan, system: System) -> Row:
    inlet, outlet = facts.ends(piece)
    cells = (
        str(piece.number),
        piece.name or piece.kind.value,
        _both(lambda: facts.bore(inlet), lambda: facts.bore(outlet), system),
        _both(lambda: facts.outside(inlet), lambda: facts.outside(outlet), system),
        _length(lambda: facts.wall(inlet), system),
        _length(lambda: facts.length_along(piece), system),
        piece.material or NOTHING,
        ORIGINS[piece.origin],
    )
    return Row(cells, "; ".join(_said_of_piece(piece, system)))


def _said_of_piece(piece: PiecePlan, system: System) -> list[str]:
    sizes = piece.sizes
    said = [] if piece.name == piece.kind.value or not piece.name else [piece.kind.value]
    if "bend_angle" in sizes and "bend_radius" in sizes:
        angle = show(sizes["bend_angle"].value, Kind.angle, system).text
        said.append(f"{angle} on a radius of {show(sizes['bend_radius'].value, Kind.length, system).text}")
    if piece.roll:
        said.append(f"turned {show(piece.roll, Kind.angle, system).text}")
    said.append(f"ends {piece.inlet_end.value} and {piece.outlet_end.value}")
    if piece.rated_pressure is not None:
        rating = show(piece.rated_pressure, Kind.pressure, system).text
        at = piece.rated_temperature
        said.append(f"rated {rating}" + (f" at {show(at, Kind.temperature, system).text}" if at else ""))
    said += ["wire or helix inside"] if piece.reinforced else []
    said += [f"liner {LINERS.get(piece.liner, piece.liner)}"] if piece.kind is PieceKind.FLEX else []
    if piece.offered:
        said.append(f"offered up: {OFFERS[piece.offered]} {piece.offered_note}".strip())
    for bung in piece.bungs:
        at_text = show(bung.at, Kind.length, system).text
        said.append(f"side port {bung.name}, {bung.fixing.value}, {at_text} from the inlet")
    return said


def joint_table(case: Case, system: System) -> Table | None:
    """Every joint in the direction of flow; None where there are no pieces to join."""
    if not case.plan.pieces:
        return None
    layout = Facts.at_best(case).layout
    rows = tuple(_joint(joint, system) for joint in layout.joints)
    return Table("joints", "Joints", JOINTS, rows).without_empty()


def _joint(joint: Joint, system: System) -> Row:
    plan = joint.plan
    sides = [side.label if side is not None else "no port yet" for side in (joint.before, joint.after)]

    def size(name: str, kind: Kind = Kind.length) -> str:
        one = plan.sizes.get(name)
        return NOTHING if one is None else show(one.value, kind, system).text

    clamp = NOTHING
    if plan.clamp is not Clamp.NONE:
        clamp = f"{plan.clamp.value}, {size('clamp_least')} to {size('clamp_most')}"
    said = [f"filler {plan.filler}"] if plan.filler else []
    said += [f"holds: {plan.holds_origin}"] if plan.holds_origin else []
    said += ["a bracket takes the thrust"] if plan.bracket else []
    said += [f"screw: {', '.join(filter(None, (plan.screw.value, plan.screw_at)))}"] if plan.screw else []
    cells = (
        str(joint.number),
        " to ".join(sides),
        plan.kind.value,
        clamp,
        size("overlap"),
        size("holds", Kind.force),
    )
    return Row(cells, "; ".join(said))


def _both(inlet: Callable[[], float], outlet: Callable[[], float], system: System) -> str:
    """A size at both ends: once where they are the same."""
    texts = dict.fromkeys((_length(inlet, system), _length(outlet, system)))
    return " to ".join(texts)


def _length(size: Callable[[], float], system: System) -> str:
    try:
        return show(size(), Kind.length, system).text
    except NotMeasured:
        return NOTHING


FIGURES = (Head("Figure", 4.0), Head("As typed", 2.6), Head("With its doubt", 2.2, True))


def figure_table(
    asked: Iterable[Figure], row: FigureRow | None, system: System, now: datetime
) -> Table | None:
    """The figures of what is fitted, as typed and with their doubt; None where none was typed."""
    if row is None:
        return None
    rows = tuple(_figure(one, row, system) for one in asked if one.key in row.typed)
    moment = row.at.astimezone(now.tzinfo)
    note = f"Typed {date_text(moment)} by {row.by or UNKNOWN_HAND}."
    return Table("figures", "What is fitted", FIGURES, rows, note) if rows else None


def _figure(one: Figure, row: FigureRow, system: System) -> Row:
    typed = row.typed[one.key]
    words = one.words[:1].upper() + one.words[1:]
    if one.choices:
        return Row((words, dict(one.choices).get(typed, typed), ""))
    if one.columns:
        lines = typed.splitlines()
        told = "; ".join(lines) if len(lines) <= SHOWN_ROWS else f"a table of {counted(len(lines), 'row')}"
        return Row((words, told, ""), ", ".join(column.heading for column in one.columns))
    value, doubt = row.numbers[one.key]
    sure = show(value, one.kind, system, doubt or None).text if one.kind is not None else ""
    return Row((words, typed, sure))
