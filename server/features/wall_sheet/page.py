"""The stages of the first start as a printed sheet: a big box each, its steps, and every caution once."""

from collections.abc import Sequence
from datetime import datetime

from server.core.first_start.stage import Signal
from server.core.first_start.standing import StageStanding, Word
from server.core.first_start.whole import LAST_WORD
from server.features.builds.page import Face
from server.web.paper import Sheet
from server.web.paper_stages import CautionLine, StageBox
from server.web.paper_words import Heading, Words
from server.web.words import day_text, moment_text


def sheet(build: Face, standings: Sequence[StageStanding], now: datetime, *, letter: bool) -> Sheet:
    """What is signed already says so."""
    signed = sum(one.word is Word.SIGNED for one in standings)
    every = dict.fromkeys(caution for one in standings for caution in one.stage.cautions)
    order = list(Signal)
    grave = sorted(every, key=lambda one: order.index(one.signal))
    marks = {caution: chr(ord("A") + at) for at, caution in enumerate(grave)}
    return Sheet(
        f"First start, {build.name}",
        (
            ("Build", build.name),
            ("Sheet", "First start"),
            ("Date", day_text(now.date())),
            ("Signed", f"{signed} of {len(standings)}"),
        ),
        (
            Words(
                "From top to bottom: none before the one above it is signed, here and in the build, where a "
                f"signature falls when something changes. {LAST_WORD}",
                7.5,
            ),
            *(
                StageBox(
                    number,
                    one.stage.title,
                    _steps(one),
                    ", ".join(f"{caution.signal.value} {marks[caution]}" for caution in one.stage.cautions),
                    _signed(one, now),
                )
                for number, one in enumerate(standings, 1)
            ),
            Heading("Cautions", 9.0),
            *(CautionLine(marks[one], one.signal.value, one.text) for one in grave),
        ),
        letter,
    )


def _steps(one: StageStanding) -> tuple[str, ...]:
    figures = tuple(f"{each.text} ______ {each.unit}".rstrip() for each in one.stage.numbers)
    return (*(tick.text for tick in one.stage.ticks), *figures)


def _signed(one: StageStanding, now: datetime) -> str:
    if one.word is not Word.SIGNED or one.signature is None:
        return ""
    return f"{one.signature.by}, {moment_text(one.signature.at, now)}"
