"""A run told in words, for who can't see the drawing, and what the drawing can't show."""

import math
from collections.abc import Mapping

from server.core.tube.centreline import BungPlace, Centreline, PieceLine, Straight
from server.core.tube.nominal import SIZE_WORDS
from server.core.tube.run import Origin, PieceKind, PortPlan, RunPlan
from server.core.tube.view import View
from server.core.units import Kind, System, show_text

LEANS = math.radians(10.0)
"""A leg that leans less than this is drawn within two per cent of its length."""


def title(plan: RunPlan) -> str:
    """One line: what run, how many pieces, from where to where."""
    count = len(plan.pieces)
    pieces = "1 piece" if count == 1 else f"{count} pieces"
    return f"{_capital(plan.place.value)}, {pieces}, from {_port(plan.start)} to {_port(plan.end)}"


def description(line: Centreline, verdicts: Mapping[int, str], system: System) -> str:
    """Every piece in words in flow direction, then side ports and the length [shown in the build's units]."""
    if not line.pieces:
        return "No pieces yet."
    pieces = "; ".join(_piece(piece, verdicts.get(piece.piece.number, ""), system) for piece in line.pieces)
    bungs = "".join(f" {bung_words(place, letter)}." for place, letter in lettered(line))
    return f"{pieces}.{bungs} Along the centre line {length_words(line, system)}."


def length_words(line: Centreline, system: System) -> str:
    """The run's length in the build's units, marked where stand-ins went into it."""
    text = show_text(line.length, Kind.length, system)
    return f"about {text}" if line.assumed else text


def lettered(line: Centreline) -> list[tuple[BungPlace, str]]:
    """Each side port with the letter that marks it: A to Z, then AA and on."""
    found = []
    for index, place in enumerate(line.bungs):
        row, column = divmod(index, 26)
        found.append((place, (chr(64 + row) if row else "") + chr(65 + column)))
    return found


def bung_words(place: BungPlace, letter: str) -> str:
    """A side port in words, by its letter."""
    hour = round(math.degrees(place.bung.clock) / 30.0) % 12 or 12
    return f"Side port {letter}, {place.bung.name}, on piece {place.piece_number} at {hour} o'clock"


def notes(line: Centreline, view: View) -> tuple[str, ...]:
    """What the drawing can't show true: legs that lean, sizes stood in for, side ports typed beyond their
    piece.
    """
    return (*_mock_ups(line), *_leaning(line, view), *_assumed(line), *_beyond(line))


def _mock_ups(line: Centreline) -> list[str]:
    return [
        f"Piece {piece.piece.number} is a mock-up: drawn in wide dashes until a real piece stands there."
        for piece in line.pieces
        if piece.piece.origin is Origin.MOCK_UP
    ]


def _leaning(line: Centreline, view: View) -> list[str]:
    """Neighbours that lean alike share a sentence."""
    leaning: dict[tuple[int, str, str], list[str]] = {}
    for piece in line.pieces:
        legs = [part for part in piece.stretches if isinstance(part, Straight) and part.length > 0.0]
        lean = max((view.lean(leg.start.direction) for leg in legs), key=abs, default=0.0)
        if abs(lean) >= LEANS:
            way = "towards you" if lean > 0.0 else "away from you"
            alike = round(math.degrees(abs(lean))), way, f"{math.cos(lean):.0%}"
            leaning.setdefault(alike, []).append(str(piece.piece.number))
    return [
        f"{'Pieces' if len(numbers) > 1 else 'Piece'} {_list(numbers)}: {degrees}° out of the page, {way}, "
        f"so what runs that way is drawn at {share} of its length."
        for (degrees, way, share), numbers in leaning.items()
    ]


def _assumed(line: Centreline) -> list[str]:
    return [
        f"Piece {number} is drawn with a stand-in for its {_list([SIZE_WORDS[name] for name in names])}."
        for number, names in line.assumed
    ]


def _beyond(line: Centreline) -> list[str]:
    return [
        f"Side port {letter} is set beyond the end of piece {place.piece_number}: it is drawn at that end."
        for place, letter in lettered(line)
        if place.beyond
    ]


def _piece(line: PieceLine, verdict: str, system: System) -> str:
    piece, sizes = line.piece, line.sizes

    def length(value: float) -> str:
        return show_text(value, Kind.length, system)

    words = f"{piece.number} {piece.kind.value}"
    if piece.has_arc:
        angle = show_text(sizes.angle, Kind.angle, system)
        legs = f"{length(sizes.leg_in)} and {length(sizes.leg_out)}"
        words += f" {angle}, radius {length(sizes.radius)}, legs {legs}"
    else:
        words += f", straight, {length(sizes.length)} long"
    if piece.kind is PieceKind.REDUCER:
        words += f", from {length(sizes.fit_in)} to {length(sizes.fit_out)}"
    if piece.origin is not Origin.NEW and piece.origin.value not in words:
        words += f", {piece.origin.value}"
    if line.assumed:
        words += ", partly assumed"
    return f"{words}, {verdict}" if verdict else words


def _port(port: PortPlan | None) -> str:
    return "no port chosen" if port is None else port.name


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _list(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
