"""A piece cut long and trimmed: how long at first, what may come off next, and what came off so far."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from server.core.measure.instruments import instrument
from server.core.tube.cutting.trim import SHARES, Advice, Fit, Saw, left_long, to_saw_from
from server.core.units import Kind, System, show
from server.errors import Clash, Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import Caution, FormState, Option, Page
from server.web.words import moment_text

if TYPE_CHECKING:
    from server.features.trimming.tables import Trim

LABELS = {
    "excess": "Too long by",
    "read_with": "Read with",
    "note": "Note",
    "taken_off": "Taken off",
    "part": "What it was cut from",
    "length": "Length that is left over",
}
READ_WITH = ("rule", "digital_caliper", "vernier_caliper", "tape", "feel")
WORTH_A_WORD, ASKEW = 0.001, math.radians(0.5)
"""What stays off and is told from here on [m], [rad]; common practice, no source."""
CAUTION = Caution(
    "WARNING",
    "A saw, a disc and a fresh edge cut, and sparks start fires. Goggles on, piece in the vice, guard on the "
    "disc, no gloves near a turning blade, gloves for the edges, nothing near that burns. Deburr inside and "
    "out, and get every chip out of the pipe before it goes back. The makers' instructions of saw and disc "
    "and local rules come first.",
)


@dataclass(frozen=True, slots=True)
class Sized:
    """The piece: length wanted, doubt of it as one standard uncertainty and whence, all in [m]."""

    id: int
    label: str
    wanted: float
    doubt: float
    doubt_from: str
    stays_off: tuple[float, float]
    """Standard uncertainty of what no length takes up [m] and [rad]."""
    hose_end: bool
    part: str
    by_length: tuple[str, ...]
    """Names of the parts that are sold by length."""


@dataclass(frozen=True, slots=True)
class TrimLine:
    """One offering up of the log."""

    id: int
    when: str
    text: str
    detail: str


@dataclass(frozen=True, kw_only=True)
class TrimPage(Page):
    """A piece from its first cut to the fit. `state`: reading, trim, fits, short, spent."""

    template: ClassVar[str] = "trimming/trim.html"

    build_id: int
    design_id: int
    design: str
    piece_id: int
    piece: str
    wanted: str
    first_cut: str
    long_by: str
    stock: str
    doubt: str
    doubt_from: str
    stays_off: str
    fits_when: str
    risk: str
    saw: str
    state: str
    to_do: str
    why: str
    proposed: str
    last: TrimLine | None
    last_version: int
    lines: tuple[TrimLine, ...]
    withdrawn: tuple[TrimLine, ...]
    read_with: tuple[Option, ...]
    part: str
    by_length: tuple[str, ...]
    form: FormState
    labels: dict[str, str]
    caution: Caution


def trim_page(
    build: Face,
    design_id: int,
    design: str,
    sized: Sized,
    rows: Sequence["Trim"],
    advice: Advice | None,
    saw: Saw,
    fit: Fit,
    now: datetime,
    refused: Refused | None,
) -> TrimPage:
    """advice: on the last reading, None where nothing is to be told of one: none yet, or trimmed since."""
    system = build.system
    counted_rows = [row for row in rows if row.withdrawn_at is None]
    last = counted_rows[-1] if counted_rows else None
    state = _state(advice)
    left = left_long(sized.doubt, saw, fit)
    return TrimPage(
        **heading(build, "Cut and trim", now.date(), within="Designs"),
        build_id=build.id,
        design_id=design_id,
        design=design,
        piece_id=sized.id,
        piece=sized.label,
        wanted=_length(sized.wanted, system),
        first_cut=_length(sized.wanted + left, system),
        long_by=_length(left, system),
        stock=_length(to_saw_from(sized.wanted, sized.doubt, saw, fit), system),
        doubt=_length(round(sized.doubt, 4), system),
        doubt_from=sized.doubt_from,
        stays_off=_stays_off(sized.stays_off, system),
        fits_when=f"{_length(fit.short, system)} short to {_length(fit.long, system)} long",
        risk=show(fit.risk, Kind.ratio, system, unit="percent").text,
        saw=_length(saw.blade, system),
        state=state,
        to_do=_to_do(state, advice, saw, len(counted_rows), system),
        why=_why(state, advice, last, system),
        proposed=_at_most(advice.take_off, system) if advice is not None and advice.take_off else "",
        last=_line(last, now, system) if last is not None else None,
        last_version=last.version if last is not None else 0,
        lines=tuple(_line(row, now, system) for row in reversed(counted_rows)),
        withdrawn=tuple(_line(row, now, system) for row in rows if row.withdrawn_at is not None),
        read_with=tuple(Option(code, instrument(code).name) for code in READ_WITH),
        part=sized.part,
        by_length=sized.by_length,
        form=FormState.of(refused),
        labels=LABELS,
        caution=CAUTION,
    )


def _stays_off(off: tuple[float, float], system: System) -> str:
    """What a cut can't mend, where it is worth a word."""
    by, askew = off
    if by < WORTH_A_WORD and askew < ASKEW:
        return ""
    return (
        f"No cut takes up what remains of that doubt: {_length(round(by, 4), system)} sideways and "
        f"{show(round(askew, 3), Kind.angle, system).text} askew. Turn the joints before they are tacked "
        "and keep one loose to the last."
    )


def _state(advice: Advice | None) -> str:
    if advice is None:
        return "reading"
    if advice.take_off:
        return "trim"
    if advice.fits:
        return "fits"
    return "spent" if advice.spent else "short"


def _to_do(state: str, advice: Advice | None, saw: Saw, rows: int, system: System) -> str:
    if state == "reading" or advice is None:
        return "Offer it up again and read what is left." if rows else "Cut it, offer it up, read it."
    if state == "trim":
        taken = _at_most(advice.take_off, system)
        if not advice.sawn:
            return f"File or grind {taken} off one end."
        return f"Saw {taken} off one end: {_blades(advice.blades(saw))}."
    if state == "fits":
        return "It fits. Mark both sides of each joint with a paint line at 12 o'clock."
    if state == "short":
        return "It is short: cut a new one, or fill the gap where the joint lets you."
    return "Nothing more may come off on this reading."


def _blades(number: int) -> str:
    return "about one width of the blade" if number == 1 else f"about {number} widths of the blade"


def _why(state: str, advice: Advice | None, last: "Trim | None", system: System) -> str:
    if last is None or advice is None:
        return "Several small cuts beat one; never two faces at once. Common practice, no source."
    read = f"Read: {_read(last, system)}."
    if state == "trim":
        chance = show(advice.chance_short, Kind.ratio, system, unit="percent").text
        return f"{read} Chance that this cut leaves it short: {chance}. Then offer it up again."
    if state == "spent":
        return f"{read} That is too coarse, or it was trimmed {len(SHARES) - 1} times: read it finer."
    return read


def _line(row: "Trim", now: datetime, system: System) -> TrimLine:
    people = " and ".join(dict.fromkeys(name for name in (row.by, row.taken_by) if name))
    return TrimLine(
        row.key,
        moment_text(row.at, now),
        _text(row, system),
        " · ".join(part for part in (instrument(row.read_with).name, people, row.note) if part),
    )


def told(row: "Trim", piece: str) -> str:
    """E.g. "Down tube: 14.0 ± 0.5 mm too long, 12 mm taken off", for the log."""
    return f"{piece}: {_text(row, System.metric)}"


def _text(row: "Trim", system: System) -> str:
    text = _read(row, system)
    if row.taken_off is not None:
        text += f", {_length(row.taken_off, system)} taken off"
    return text


def _read(row: "Trim", system: System) -> str:
    """E.g. "14.0 ± 0.2 mm too long", "gap of 2.0 ± 0.2 mm"."""
    far = show(abs(row.excess), Kind.length, system, row.doubt).text
    return f"gap of {far}" if row.excess < 0.0 else f"{far} too long"


def clash(row: "Trim", taken: float) -> tuple[Clash, ...]:
    """What somebody else wrote of the same trim meanwhile."""
    stored = "nothing" if row.taken_off is None else _length(row.taken_off, System.metric)
    return (Clash("taken_off", LABELS["taken_off"], stored, _length(taken, System.metric)),)


def address(build_id: int, design_id: int, piece_id: int) -> str:
    return urls.trims(build_id, design_id, piece_id)


def _length(value: float, system: System) -> str:
    return show(value, Kind.length, system).text


def _at_most(value: float, system: System) -> str:
    """What may come off, to a tenth of a millimetre, rounded down: never more than was reckoned."""
    return _length(math.floor(value * 1e4 + 1e-6) / 1e4, system)
