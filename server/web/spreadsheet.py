"""Tables as CSV files: RFC 4180, readable by a spreadsheet, and nothing in them is taken for a formula."""

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal

Cell = str | int | Decimal | None

STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""With these a spreadsheet begins a formula; the last four are the full-width forms of the first four."""


def csv_file(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A table with its header: UTF-8 with a byte order mark, CRLF, quotes doubled, numbers bare.

    A text that a spreadsheet would take for a formula gets an apostrophe in front. Sources: RFC 4180 (form);
    OWASP, CSV injection (which texts).
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow([_safe(cell) for cell in header])
    writer.writerows([_safe(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig", "replace")


def _safe(cell: Cell) -> Cell:
    if cell is None:
        return ""
    if isinstance(cell, str) and cell.startswith(STARTS_A_FORMULA):
        return f"'{cell}"
    return cell


def minor_units(minor: int | None) -> Decimal | None:
    """Money as a number of whole units, e.g. 84.20."""
    return None if minor is None else Decimal(minor).scaleb(-2)
