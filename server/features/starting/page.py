"""The starting set as offered: a few questions, then subsystems with their ports and tasks to tick."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.work.tasks import TaskPlan, expected_minutes
from server.core.work.usual.questions import QUESTIONS, facts_of
from server.core.work.usual.values import UsualSubsystem, UsualTask
from server.core.work.usual.whole import GROUPS, suiting
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web.view import FormState, Option, Page
from server.web.words import counted, minutes_text


@dataclass(frozen=True, slots=True)
class Asked:
    """One question with its answers, the one that counts, and the one that the ticks were made for."""

    name: str
    text: str
    options: tuple[Option, ...]
    value: str
    suits: str


@dataclass(frozen=True, slots=True)
class Offer:
    """One port or task: its code is the name of its tick."""

    code: str
    text: str
    about: str
    ticked: bool
    there: bool


@dataclass(frozen=True, slots=True)
class OfferGroup:
    """One subsystem, or work on the whole car where `kind` is empty.

    there: the build has it already; aside: it has, but it was set aside, and nothing of it is offered.
    """

    kind: str
    name: str
    counts: str
    ticked: bool
    there: bool
    aside: bool
    ports: tuple[Offer, ...]
    tasks: tuple[Offer, ...]


@dataclass(frozen=True, kw_only=True)
class StartPage(Page):
    """What the starting set offers this build; `of` where it is asked for one subsystem alone."""

    template: ClassVar[str] = "starting/start.html"

    build_id: int
    of: str
    questions: tuple[Asked, ...]
    groups: tuple[OfferGroup, ...]
    left: int
    form: FormState


def start_page(
    *,
    build: Face,
    answers: Mapping[str, str],
    suits: Mapping[str, str],
    of: str,
    kinds: frozenset[str],
    aside: frozenset[str],
    codes: frozenset[str],
    ticked: frozenset[str] | None,
    today: date,
    refused: Refused | None,
) -> StartPage:
    """kinds, codes: what the build has; ticked: what a refused form had ticked, where one was refused, and
    suits: the answers that its ticks were made for.
    """
    on = suiting(facts_of(answers, build.meter_place)) if ticked is None else ticked
    groups = tuple(_group(group, kinds, aside, codes, on) for group in GROUPS if not of or group.kind == of)
    offered = [offer for group in groups for offer in (*group.ports, *group.tasks)]
    return StartPage(
        **heading(build, "Starting set", today, within="Subsystems"),
        build_id=build.id,
        of=of,
        questions=tuple(
            Asked(
                one.name,
                one.text,
                tuple(Option(answer.value, answer.text) for answer in one.answers),
                answers[one.name],
                suits[one.name],
            )
            for one in QUESTIONS
        ),
        groups=groups,
        left=sum(not offer.there for offer in offered)
        + sum(bool(one.kind) and not one.there for one in groups),
        form=FormState.of(refused),
    )


def _group(
    group: UsualSubsystem,
    kinds: frozenset[str],
    aside: frozenset[str],
    codes: frozenset[str],
    ticked: frozenset[str],
) -> OfferGroup:
    def offer(code: str, text: str, about: str) -> Offer:
        return Offer(code, text, about, code in ticked, code in codes)

    ports = tuple(offer(port.code, port.name, port.role) for port in group.ports)
    tasks = tuple(offer(task.code, task.title, _about(task)) for task in group.tasks)
    is_aside = group.kind in aside
    return OfferGroup(
        kind=group.kind,
        name=group.name,
        counts=_counts(ports, tasks),
        ticked=group.kind in ticked,
        there=group.kind in kinds,
        aside=is_aside,
        ports=() if is_aside else ports,
        tasks=() if is_aside else tasks,
    )


def _counts(ports: tuple[Offer, ...], tasks: tuple[Offer, ...]) -> str:
    """E.g. "4 ports, 7 tasks; 5 there already"."""
    words = [counted(len(rows), noun) for rows, noun in ((ports, "port"), (tasks, "task")) if rows]
    already = sum(offer.there for offer in (*ports, *tasks))
    return ", ".join(words) + (f"; {already} there already" if already else "")


def _about(task: UsualTask) -> str:
    """E.g. "40 min, under the car, 2 people"."""
    low, likely, high = task.times
    plan = TaskPlan(0, task.title, minutes_low=low, minutes_likely=likely, minutes_high=high)
    words = [minutes_text(expected_minutes(plan)), task.place]
    if task.hands > 1:
        words.append(f"{task.hands} people")
    if task.hot_work:
        words.append("hot work")
    return ", ".join(words)
