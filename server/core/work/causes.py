"""Holds that are worked out: from a part that is not here, a reading, a decision or checks."""

from dataclasses import dataclass
from datetime import date

from server.core.work.holds import Hold, HoldKind

IN_THE_POST = "in the post"
NOT_COMING = {
    "buy": "not ordered",
    "make": "to be made",
    "salvage": "to be salvaged",
    "borrowed": "to be borrowed",
}
"""By where a part comes from, how it stands when none of it is under way."""


@dataclass(frozen=True, slots=True)
class WantedPart:
    """What a task still wants of one part.

    missing: pieces not in hand; short: those of them that nothing is under way for; due, late_days: of the
    order that brings the last of the others; origin: buy, make, salvage or borrowed; tried: of a borrowed
    fitting: not tried, fits or does not.
    """

    part_id: int
    name: str
    missing: int
    short: int = 0
    due: date | None = None
    late_days: int = 0
    origin: str = "buy"
    tried: str = ""


def part_hold(wanted: WantedPart) -> Hold | None:
    """Why this part holds the task, or None where it is here and, if borrowed, was tried on and fits."""
    name = wanted.name if wanted.missing <= 1 else f"{wanted.missing} × {wanted.name}"
    if wanted.short:
        state = NOT_COMING[wanted.origin]
        return Hold(HoldKind.PART, name, state, subject_id=wanted.part_id)
    if wanted.missing:
        return Hold(HoldKind.PART, name, IN_THE_POST, wanted.due, wanted.late_days, None, wanted.part_id)
    if wanted.origin == "borrowed" and wanted.tried != "fits":
        state = "tried on, does not fit" if wanted.tried == "does not" else "to be tried on"
        return Hold(HoldKind.PART, name, state, subject_id=wanted.part_id)
    return None


def piece_hold(name: str, state: str) -> Hold:
    """A piece of a chosen design that is no part of the list yet, or can't be bought yet."""
    return Hold(HoldKind.PART, name, state)


def reading_hold(port_id: int, port_name: str, dimension: str) -> Hold:
    """A dimension that nobody measured yet."""
    return Hold(HoldKind.READING, f"the {dimension} of {port_name}", "to measure", subject_id=port_id)


def decision_hold(subsystem_id: int, subsystem_name: str) -> Hold:
    """No design of the subsystem was chosen yet."""
    return Hold(
        HoldKind.DECISION, f"the choice of a design for {subsystem_name}", "not made", subject_id=subsystem_id
    )


def check_hold(
    subsystem_id: int, subsystem_name: str, *, has_design: bool, no_go: bool, missing: tuple[str, ...]
) -> Hold | None:
    """Why the subsystem's checks hold the task, or None where they pass.

    no_go: a check says no-go and was not conceded; missing: what is not measured, in plain words.
    """
    if not has_design:
        state = "no design yet"
    elif no_go:
        state = "no-go"
    elif missing:
        state = "not measured yet: " + ", ".join(lower_first(item.rstrip(".")) for item in missing)
    else:
        return None
    return Hold(HoldKind.CHECK, f"the checks of {subsystem_name}", state, subject_id=subsystem_id)


def by_hand(kind: HoldKind, reason: str, until: date | None, today: date, hold_id: int) -> Hold:
    """A hold set by hand; it stays until it is cleared, and is late after its day."""
    late = max((today - until).days, 0) if until else 0
    return Hold(kind, reason, "", until, late, None, hold_id)


def lower_first(name: str) -> str:
    """A name inside a sentence: "Oil drain flange" becomes "oil drain flange", "T-bolt clamp" stays.

    >>> lower_first("Lined clamp"), lower_first("T-bolt clamp"), lower_first("NBR hose")
    ('lined clamp', 'T-bolt clamp', 'NBR hose')
    """
    return name[0].lower() + name[1:] if name[1:2].islower() else name
