"""What may go wrong with a task, as a task's sheet shows it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from server.features.builds.page import Face
from server.features.work.page import Plan, risk_words
from server.web import urls
from server.web.view import FormState, Link, News, Undo
from server.web.words import minutes_typed, moment_text

LABELS = {
    "title": "What it would bring",
    "chance": "The chance in %",
    "low": "If all goes well",
    "likely": "Likely",
    "high": "If it fights back",
    "carry": "Carry with you",
    "caution": "Caution",
    "note": "Note",
}


class Setback(Protocol):
    """What is stored of something that may go wrong; `chance` between 0 and 1."""

    @property
    def id(self) -> int: ...
    @property
    def task_id(self) -> int: ...
    @property
    def version(self) -> int: ...
    @property
    def title(self) -> str: ...
    @property
    def chance(self) -> float: ...
    @property
    def minutes_low(self) -> int: ...
    @property
    def minutes_likely(self) -> int: ...
    @property
    def minutes_high(self) -> int: ...
    @property
    def carry(self) -> str: ...
    @property
    def caution(self) -> str: ...
    @property
    def note(self) -> str: ...
    @property
    def happened_at(self) -> datetime | None: ...
    @property
    def set_aside(self) -> bool: ...
    @property
    def brought_task_id(self) -> int | None: ...


@dataclass(frozen=True, slots=True)
class SetbackLine:
    """What may go wrong, what it would bring, and what stands in its form. `brought`: the task it brought."""

    id: int
    version: int
    title: str
    about: str
    happened: str
    brought: Link | None
    chance: str
    low: str
    likely: str
    high: str
    carry: str
    caution: str
    note: str
    form: FormState


def setback_line(
    build: Face,
    plan: Plan,
    setback: Setback,
    form: FormState,
) -> SetbackLine:
    about = risk_words([(setback.chance, setback.minutes_likely)])
    happened, brought = "", None
    if setback.happened_at is not None:
        happened = f"happened {moment_text(setback.happened_at, plan.now)}"
        task = next((one for one in plan.tasks if one.id == setback.brought_task_id), None)
        brought = Link(urls.task(build.id, task.id), task.title) if task else None
    return SetbackLine(
        id=setback.id,
        version=setback.version,
        title=setback.title,
        about=about,
        happened=happened,
        brought=brought,
        chance=percent(setback.chance),
        low=minutes_typed(setback.minutes_low),
        likely=minutes_typed(setback.minutes_likely),
        high=minutes_typed(setback.minutes_high),
        carry=setback.carry,
        caution=setback.caution,
        note=setback.note,
        form=form,
    )


def percent(chance: float) -> str:
    """A chance between 0 and 1 as it is typed."""
    return f"{chance * 100:.0f}"


def news_of(build: Face, setback: Setback) -> News:
    """What was just done about something that may go wrong, and how to undo it."""
    if setback.set_aside:
        undo = Undo(
            urls.setback_removal(build.id, setback.task_id, setback.id), (("to", "back"),), "Put it back"
        )
        return News(f"Set aside: ‘{setback.title}’.", undo=undo)
    where = urls.setback_happening(build.id, setback.task_id, setback.id)
    if setback.happened_at is None:
        return News(f"May go wrong: ‘{setback.title}’.", "It has not happened.")
    link = Link(urls.task(build.id, setback.brought_task_id or 0), setback.title)
    more = "What comes after this task now waits for that one too."
    undo = Undo(where, (("happened", "no"),), "It did not happen")
    return News(f"It happened: ‘{setback.title}’ is on the list.", more, (link,), undo)
