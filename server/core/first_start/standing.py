"""How each stage stands: whether it may be begun, what it still asks, and whether its signature stands."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from server.core.first_start.holds import Root, StageHold
from server.core.first_start.stage import Bound, Sense, Stage

SHOWN = 3
"""So many changes are named; the others are counted."""


class Word(StrEnum):
    """How a stage stands; the value is the word pages show."""

    SIGNED = "signed"
    TO_SIGN = "to sign"
    TO_DO = "to do"
    HELD = "held"
    CLOSED = "closed"


Evidence = Mapping[str, tuple[str, str]]
"""What a signature rests on beside the stage's own ticks and figures: by key, its name and how it is."""


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature that was not taken back. id: rises with time; evidence: as it was when it was given."""

    id: int
    by: str
    at: datetime
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Entered:
    """What stands entered of a stage: the codes that are ticked, and figures by code [SI]."""

    ticked: frozenset[str] = frozenset()
    numbers: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True)
class StageStanding:
    """How one stage stands.

    holds: what holds it, its own figures included; unticked, unentered: codes of what is missing; signature:
    the last one that was not taken back, also where it no longer stands; fell: why it does not.
    """

    stage: Stage
    word: Word
    holds: tuple[StageHold, ...]
    unticked: tuple[str, ...]
    unentered: tuple[str, ...]
    signature: Signature | None
    fell: tuple[str, ...]

    @property
    def opens(self) -> bool:
        """Whether its work may be begun: every stage before it is signed."""
        return self.word is not Word.CLOSED


def stand(
    stages: Sequence[Stage],
    entered: Mapping[str, Entered],
    signatures: Mapping[str, Signature],
    holds: Iterable[StageHold],
    evidence: Mapping[str, Evidence],
) -> tuple[StageStanding, ...]:
    """Every stage, in order. Source: definition.

    A signature stands while the one before it stands and was given before it, nothing holds the stage, all
    that it asks is entered, and what it rests on is as it was. A stage opens when the one before it is
    signed so.
    """
    held: dict[str, list[StageHold]] = {stage.code: [] for stage in stages}
    for hold in holds:
        held.get(hold.stage, held[stages[0].code]).append(hold)
    numbers = {code: value for one in entered.values() for code, value in (one.numbers or {}).items()}
    found: list[StageStanding] = []
    for place, stage in enumerate(stages):
        before = found[place - 1] if place else None
        mine = entered.get(stage.code, Entered())
        found.append(
            _stand(
                stage,
                before,
                mine,
                (*held[stage.code], *_out_of_bounds(stage, numbers)),
                signatures.get(stage.code),
                evidence.get(stage.code, {}),
            )
        )
    return tuple(found)


def _stand(
    stage: Stage,
    before: StageStanding | None,
    entered: Entered,
    holds: tuple[StageHold, ...],
    signature: Signature | None,
    evidence: Evidence,
) -> StageStanding:
    unticked = tuple(tick.code for tick in stage.ticks if tick.code not in entered.ticked)
    there = entered.numbers or {}
    unentered = tuple(number.code for number in stage.numbers if number.code not in there)
    opens = before is None or before.word is Word.SIGNED
    fell = _fell(before, holds, bool(unticked or unentered), signature, evidence) if signature else ()
    return StageStanding(
        stage,
        _word(opens, signature is not None and not fell, bool(holds), bool(unticked or unentered)),
        holds,
        unticked,
        unentered,
        signature,
        fell,
    )


def _word(opens: bool, stands: bool, held: bool, asks: bool) -> Word:
    if stands:
        return Word.SIGNED
    if not opens:
        return Word.CLOSED
    if held:
        return Word.HELD
    return Word.TO_DO if asks else Word.TO_SIGN


def _fell(
    before: StageStanding | None,
    holds: Sequence[StageHold],
    asks: bool,
    signature: Signature,
    evidence: Evidence,
) -> tuple[str, ...]:
    """Why a signature does not stand any more; nothing where it stands."""
    why = _changed(signature.evidence, evidence)
    why += [hold.what for hold in holds[:SHOWN]]
    why += [f"and {len(holds) - SHOWN} more that hold it"] if len(holds) > SHOWN else []
    why += ["something that it asks is not entered"] if asks else []
    if before is not None and before.word is not Word.SIGNED:
        why.append(f"‘{before.stage.title}’, before it, is not signed")
    elif before is not None and before.signature is not None and before.signature.id > signature.id:
        why.append(f"‘{before.stage.title}’, before it, was signed again since")
    return tuple(why)


def _changed(then: Evidence, now: Evidence) -> list[str]:
    """What is not as it was when it was signed, in words."""
    told = [
        f"{name} was changed since" for key, (name, how) in now.items() if key in then and then[key][1] != how
    ]
    told += [f"{name} came since" for key, (name, _) in now.items() if key not in then]
    told += [f"{name} is there no longer" for key, (name, _) in then.items() if key not in now]
    return told if len(told) <= SHOWN else [*told[:SHOWN], f"and {len(told) - SHOWN} more changes"]


def _out_of_bounds(stage: Stage, numbers: Mapping[str, float]) -> list[StageHold]:
    """The figures of a stage that do not keep to what they must; one that is not entered is none of them."""
    found = []
    for bound in stage.bounds:
        limit = bound.limit if not bound.than else numbers.get(bound.than)
        value = numbers.get(bound.number)
        if value is not None and limit is not None and not _keeps(bound, value, limit * bound.share):
            item = f"number.{bound.number}"
            found.append(StageHold(stage.code, Root.NUMBER, bound.words, item, True))
    return found


def _keeps(bound: Bound, value: float, limit: float) -> bool:
    room = 1e-9 * max(abs(limit), 1.0)
    if bound.sense is Sense.SAME:
        return abs(value - limit) <= room
    return value <= limit + room if bound.sense is Sense.AT_MOST else value >= limit - room


def standing_after(found: Sequence[StageStanding], code: str) -> tuple[StageStanding, ...]:
    """The signed stages behind one: their signatures no longer stand once its own is taken back."""
    place = next(at for at, one in enumerate(found) if one.stage.code == code)
    return tuple(one for one in found[place + 1 :] if one.word is Word.SIGNED)
