"""What the cutting plan asks for.

The names and units of the fields are fixed: scripts of other people call them.
"""

from typing import Any

from server.core.units import Kind
from server.features.bench.forms import Asked, number, rows, whole

MOST_PIECES = 10_000
"""Pieces in one plan."""


def _length(title: str, example: float, description: str = "") -> Any:
    return number(title, Kind.length, "mm", example, least=0.1, most=100_000.0, description=description)


class StockIn(Asked):
    """Bars of one length."""

    length_mm: float = _length("Length", 2000.0)
    count: int | None = whole(
        "How many", 2, least=0, most=MOST_PIECES, default=None,
        description="How many there are, any number where nothing is said",
    )  # fmt: skip
    price: float | None = number(
        "Price of one", Kind.ratio, "", 24.5, least=0.0, most=1_000_000.0, default=None,
        description="Price of one, 0 for an off-cut that lies there",
    )  # fmt: skip


class PieceIn(Asked):
    """Pieces of one length."""

    length_mm: float = _length("Length", 450.0)
    count: int = whole("How many", 3, least=1, most=MOST_PIECES)


class CutPlanIn(Asked):
    """Which pieces to cut out of which bars."""

    stock: list[StockIn] = rows("Stock", "{length_mm, count, price}", least=1)
    pieces: list[PieceIn] = rows("Pieces", "{length_mm, count}", least=1, shown=4)
    kerf_mm: float = number(
        "Kerf", Kind.length, "mm", 3.0, least=0.0, most=100.0, description="Kerf, lost at each cut [mm]"
    )
