"""The drawing of the speed along a run, for the sheet of its design."""

from server.core.checks.answer import Answers
from server.core.checks.flow import PieceFlow
from server.core.units import Kind, System, from_si, show_text
from server.web.bars import BarPlot, Measure, draw_bars

MACH_LIMITS = frozenset({"mach.most", "hot.mach"})
"""Keys of the limit that the checks of speed rest on, in air and in exhaust."""


def speed_plot(answers: Answers | None, system: System) -> BarPlot | None:
    """Speed in each piece at the peak against its limit; None where it is not known or the run chokes."""
    if (
        answers is None
        or answers.flow is None
        or answers.flow.choked_at is not None
        or not answers.flow.pieces
    ):
        return None
    pieces, most = answers.flow.pieces, _most(answers)
    unit, label = ("m/s", "m/s") if system is System.metric else ("ft/s", "ft/s")
    fastest = max(pieces, key=lambda piece: piece.speed)
    told = f"{show_text(fastest.speed, Kind.speed, system)} in piece {fastest.number}"
    words = f"fastest {told}, Mach {fastest.mach:.2f}"
    limit_words = "" if most is None else f"limit, Mach {most:.2f}"
    return draw_bars(
        title=f"Speed along the run at the peak: {words}",
        description=_in_words(pieces, system) + (f" The {limit_words}." if most is not None else ""),
        y_title=f"speed, {label}",
        pieces=[
            Measure(piece.number, from_si(piece.speed, unit), _limit(piece, most, unit)) for piece in pieces
        ],
        called=told,
        limit_text=limit_words,
    )


def _most(answers: Answers) -> float | None:
    """The Mach number up to which speed passes, as it stands for this build."""
    for check in answers.checks:
        if MACH_LIMITS & set(check.rule.limit_keys) and check.finding is not None:
            return check.finding.limit
    return None


def _limit(piece: PieceFlow, most: float | None, unit: str) -> float | None:
    """The limit as a speed: the Mach number's, at the speed of sound that the piece has."""
    return from_si(most * piece.speed / piece.mach, unit) if most is not None and piece.mach > 0.0 else None


def _in_words(pieces: tuple[PieceFlow, ...], system: System) -> str:
    told = (f"piece {piece.number} {show_text(piece.speed, Kind.speed, system)}" for piece in pieces)
    return f"In flow direction: {', '.join(told)}."
