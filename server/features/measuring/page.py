"""What to measure next as a page: each reading, what it settles and holds up, and where it is entered."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.checks.figures import OWNER as FIGURE
from server.core.checks.gaps import LOOKED_ROUND
from server.core.checks.rule import Verdict as CheckVerdict
from server.core.checks.wanted import Opens, WantedReading, Wants, kind_of_variable
from server.core.measure.instruments import instrument
from server.core.phrase import say
from server.core.tube.port import PortFacts
from server.core.tube.run import RunPlan
from server.core.tube.sizes import SIZE_LABELS, SIZES_OF
from server.features.builds.page import Face, heading
from server.features.verdicts.page import DesignLike, Subsystem, variable_href, word_of
from server.features.work.page import holds_words
from server.web import urls
from server.web.view import Link, Page, Quantity, Verdict
from server.web.words import counted

SHOWN = 12
SHOWN_CHECKS = 4
SURE = 0.95
"""From this chance on a check counts as settled in words."""


@dataclass(frozen=True, slots=True)
class Asker:
    """A design, or what is fitted in a subsystem, that asks for readings."""

    key: str
    subsystem_id: int
    label: str
    href: str
    plan: RunPlan
    design_id: int | None


def design_asker(build_id: int, subsystem: Subsystem, design_id: int, name: str, plan: RunPlan) -> Asker:
    href = urls.design(build_id, design_id)
    return Asker(f"design {design_id}", subsystem.id, f"{subsystem.name}: {name}", href, plan, design_id)


def figures_asker(build_id: int, subsystem: Subsystem, plan: RunPlan) -> Asker:
    href = urls.figures(build_id, subsystem.id)
    return Asker(f"figures {subsystem.id}", subsystem.id, subsystem.name, href, plan, None)


@dataclass(frozen=True, slots=True)
class Settles:
    """One check that a reading settles, and how likely, or what else it lacks."""

    href: str
    title: str
    where: str
    verdict: Verdict
    how: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One reading to take: what, where, with what, how it stands, what it settles and what it holds up."""

    href: str
    act: str
    spoken: str
    """The words of the act for those who hear the page."""
    title: str
    where: str
    instrument: str
    now: Quantity | None
    taken: str
    count: str
    checks: tuple[Settles, ...]
    more_checks: int
    holds: str


@dataclass(frozen=True, kw_only=True)
class MeasuringPage(Page):
    """The readings to take next, over the whole build or for one design.

    design: its name, empty for the build. nothing: what is true where no reading is wanted. unsettled: what
    no reading settles.
    """

    template: ClassVar[str] = "measuring/measure.html"
    fragments: ClassVar[dict[str, str]] = {"measure-next": "measure_next"}

    build_id: int
    design: str
    whole: Link
    """All readings that are asked for here."""
    entries: tuple[Entry, ...]
    more: int
    open_checks: int
    nothing: str
    unsettled: str
    onward: Link


def measuring_page(
    build: Face,
    wants: Wants,
    askers: Mapping[str, Asker],
    titles: Mapping[str, tuple[str, ...]],
    held_by_readings: Mapping[str, tuple[str, ...]],
    ports: Sequence[PortFacts],
    only: DesignLike | None,
    today: date,
) -> MeasuringPage:
    """`askers`: by key. `titles`: of the tasks that wait for the checks of each asker.
    `held_by_readings`: of those that wait for a reading by itself, by its variable. `only`: the one design
    that is asked about.
    """
    here = urls.measuring(build.id) if only is None else urls.measuring_for(build.id, only.key)
    numbers = {port.id: port.number for port in ports}
    entries = [
        _entry(one, build, askers, titles, held_by_readings, numbers, alone=only is not None)
        for one in wants.readings[:SHOWN]
    ]
    return MeasuringPage(
        **heading(build, "Measure next", today, note=only.name if only else ""),
        build_id=build.id,
        design=only.name if only else "",
        whole=Link(here, f"All {len(wants.readings)} readings" if len(entries) > 1 else "Why this one"),
        entries=tuple(entries),
        more=len(wants.readings) - len(entries),
        open_checks=wants.open_checks,
        nothing="" if entries else _nothing(wants, askers),
        unsettled=_unsettled(wants),
        onward=_onward(build, askers, only),
    )


def _nothing(wants: Wants, askers: Mapping[str, Asker]) -> str:
    if not askers:
        return "There is no design with pieces yet, so no check waits for a reading."
    if not wants.open_checks:
        return "No check is open: there is nothing that a reading would settle."
    return "Every check that can be settled by a reading is settled."


def _unsettled(wants: Wants) -> str:
    rest = wants.open_checks - wants.answerable
    if not rest:
        return ""
    verb = "is" if rest == 1 else "are"
    return (
        f"{counted(rest, 'open check')} {verb} left that no reading settles: a size or a piece has to change."
    )


def _onward(build: Face, askers: Mapping[str, Asker], only: DesignLike | None) -> Link:
    if only is not None:
        return Link(urls.design(build.id, only.key), f"Back to {only.name}")
    if not askers:
        return Link(urls.subsystems(build.id), "Subsystems and their designs")
    return Link(urls.ports(build.id), "All ports and what is still to measure on them")


def _entry(
    one: WantedReading,
    build: Face,
    askers: Mapping[str, Asker],
    titles: Mapping[str, tuple[str, ...]],
    held_by_readings: Mapping[str, tuple[str, ...]],
    numbers: Mapping[int, int],
    *,
    alone: bool,
) -> Entry:
    """`alone`: of one design, whose name need not be said."""
    asker = askers.get(one.key or "")
    checks = [_settles(opens, askers[opens.key], alone) for opens in one.settles]
    waiting = dict.fromkeys(opens.key for opens in one.settles if opens.verdict is not CheckVerdict.TIGHT)
    held = (*held_by_readings.get(one.variable, ()), *(title for key in waiting for title in titles[key]))
    title, where = say(one.phrase, build.system), _where(one, asker, numbers)
    measured = title.startswith("Measure")
    return Entry(
        href=_href(one, build.id, asker),
        act="Measure" if measured else "Go to it",
        spoken=title if measured else f"Go to it: {title}",
        title=title,
        where="" if alone and asker and where == asker.label else where,
        instrument=instrument(one.instrument).name if one.instrument else "",
        now=Quantity.of(one.now.value, kind_of_variable(one.variable), build.system, one.now.doubt)
        if one.now
        else None,
        taken=one.taken,
        count=count_words(one.settles),
        checks=tuple(checks[:SHOWN_CHECKS]),
        more_checks=max(len(checks) - SHOWN_CHECKS, 0),
        holds=holds_words(tuple(dict.fromkeys(held))),
    )


def count_words(settles: Sequence[Opens]) -> str:
    """E.g. "settles 2 checks", "may settle 1 check", "answers 3 checks"; empty where no check rests on it."""
    if not settles:
        return ""
    checks = counted(len(settles), "check")
    if any(one.chance is not None for one in settles):
        return f"{'settles' if min(one.part for one in settles) >= SURE else 'may settle'} {checks}"
    if any(one.beside for one in settles):
        return f"is wanted by {checks}"
    return f"answers {checks}"


def _settles(opens: Opens, asker: Asker, alone: bool) -> Settles:
    href = f"{asker.href}#check-{opens.rule.code}"
    return Settles(
        href, opens.rule.title, "" if alone else asker.label, Verdict(word_of(opens.verdict)), _how(opens)
    )


def _how(opens: Opens) -> str:
    """How likely the check is settled, in tens of a hundred, or what it lacks beside."""
    if opens.chance is None:
        return f"lacks {counted(opens.beside, 'thing')} more" if opens.beside else ""
    return (
        "almost surely"
        if opens.chance >= SURE
        else f"in about {max(round(10 * opens.chance), 1)} of 10 cases"
    )


def _href(one: WantedReading, build_id: int, asker: Asker | None) -> str:
    """Where the reading is entered."""
    if not one.variable:
        sheet = "engine sheet" in one.phrase.text
        return urls.engine(build_id) if sheet or asker is None else asker.href
    if asker is None:
        _, port_id, dimension = one.variable.split(".")
        return urls.port_measuring(build_id, int(port_id), dimension)
    if one.variable == LOOKED_ROUND and asker.design_id is not None:
        return urls.neighbours(build_id, asker.design_id)
    href = variable_href(one.variable, asker.plan, build_id, asker.subsystem_id)
    return href if href.startswith("/") else f"{asker.href}{_to_field(href, one.variable, asker.plan)}"


def _to_field(href: str, variable: str, plan: RunPlan) -> str:
    """The same address, ending at the very field of a size where the editor has one for it."""
    owner, number, size = variable.split(".")
    if owner == "joint" and size in SIZE_LABELS:
        return href.replace("#j-kind-", f"#j-{size}-")
    kinds = [piece.kind for piece in plan.pieces if owner == "piece" and str(piece.id) == number]
    return href.replace("#editor", f"#f-{size}") if any(size in SIZES_OF[kind] for kind in kinds) else href


def _where(one: WantedReading, asker: Asker | None, numbers: Mapping[int, int]) -> str:
    owner, _, rest = one.variable.partition(".")
    if owner == "port":
        return f"port {numbers.get(int(rest.partition('.')[0]), '')}".strip()
    if owner in {"engine", "meter"} or (not owner and "engine sheet" in one.phrase.text):
        return "engine sheet"
    if asker is None:
        return ""
    return f"{asker.label}, what is fitted" if owner == FIGURE and asker.design_id else asker.label
