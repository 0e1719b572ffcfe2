"""The pressure test as a page: how it is made on this car, the form for its result, and those before."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from server.core.lines import leak
from server.core.units import Kind, System, from_si, show
from server.core.work.cautions import LAST_WORD
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import Caution, FormState, Happening, Option, Page, Quantity, Verdict, VerdictWord
from server.web.words import minutes_text, moment_text

if TYPE_CHECKING:
    from server.features.leak_tests.store import Noted

WAYS = (
    Option("blanked", "blanked at the throttle, by the gauge"),
    Option("listened", "engine left on: listened and soaped"),
)
FOUND = (Option("none", "none"), Option("found", "found"))
CAUTION = Caution(
    "WARNING",
    "Compressed air throws plugs and whips hoses: it breaks bones and takes eyes. Goggles on, regulator and "
    "relief valve, plugs strapped, nobody in line with a plug; pressure off before a clamp is touched. "
    + LAST_WORD,
)
STEPS = (
    "Blank the pipe at the throttle for a figure. Assembled, an engine always leaks down by valves and "
    "rings, and fills its crankcase: then only listen and soap.",
    "Isolate the breather, take the oil filler cap off.",
    "Strap every plug to the car, not to the pipe alone.",
    "Relief valve set just above the test pressure, tried first; regulator at nothing, then valve open.",
    "Begin at the first pressure below. Listen, soap every joint; pressure off before a clamp is turned.",
    "Go up to the test pressure, shut the valve, wait a minute for the air to settle, then read.",
    "Afterwards: pressure off at the valve, plugs and blanks out and counted, breather on again.",
)
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Planned:
    """The test worked out. notes: what to know of it."""

    start: Quantity
    pressure: Quantity
    volume: Quantity
    time: str
    allowed: Quantity
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PastTest:
    """One test that was made. told: what it came to, in words."""

    id: int
    verdict: Verdict
    told: tuple[str, ...]
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class PlanFields:
    """What stands in the fields that the test is worked out with."""

    volume: str
    step: str
    taken: str


@dataclass(frozen=True, kw_only=True)
class LeakTestPage(Page):
    """How the charge side is tested on this car, and what each test came to."""

    template: ClassVar[str] = "leak_tests/leak_test.html"

    build_id: int
    answer: str
    caution: Caution
    steps: tuple[str, ...]
    planned: Planned | None
    lacking: str
    pipes: str
    fields: PlanFields
    ways: tuple[Option, ...]
    found: tuple[Option, ...]
    safe: tuple[tuple[str, str], ...]
    by: str
    tests: tuple[PastTest, ...]
    form: FormState
    plan_form: FormState


@dataclass(frozen=True, slots=True)
class Basis:
    """What a test of this car rests on [SI]. pipes: volume of its designs, 0 where there is none; boost:
    intended, None where nobody has said.
    """

    pipes: float
    names: tuple[str, ...]
    boost: float | None
    outside: float


def passes(test: "Noted") -> bool:
    """Whether a test found the charge side tight."""
    return not test.leaks if test.last is None else _judged(test).passes


def _judged(test: "Noted") -> leak.LeakResult:
    """By the gauge's two readings. Only the ratio of two temperatures counts where both are the same."""
    same = 293.15
    before, after = test.before or same, test.after or same
    volume, held = test.volume or 0.0, test.held or 0.0
    taken = leak.rate_of(test.taken or 0.0, before)
    allowed = leak.allowed_fall(volume, test.pressure, taken, held)
    made = leak.LeakTest(leak.START, test.pressure, volume, held, allowed)
    return leak.judge(made, test.outside, test.pressure, test.last or 0.0, before, after)


def leak_test_page(
    build: Face,
    basis: Basis,
    planned: leak.LeakTest | None,
    lacking: str,
    asked: Mapping[str, str],
    step: float,
    tests: tuple["Noted", ...],
    now: datetime,
    by: str,
    refused: Refused | None,
    refused_plan: Refused | None,
) -> LeakTestPage:
    """planned: the test worked out, or what is lacking for it, in words."""
    system = build.system
    counting = [one for one in tests if not one.withdrawn]
    pipes = show(basis.pipes, Kind.volume, system).text if basis.pipes else ""
    return LeakTestPage(
        **heading(build, "Pressure test", now.date(), within="First start"),
        build_id=build.id,
        answer=_answer(counting),
        caution=CAUTION,
        steps=STEPS,
        planned=_planned(planned, step, system) if planned is not None else None,
        lacking=lacking,
        pipes=f"{pipes}, of {' and '.join(basis.names)}" if pipes else "",
        fields=PlanFields(
            asked.get("volume") or (f"{from_si(basis.pipes, 'L'):.2f} l" if basis.pipes else ""),
            asked.get("step") or "0.02 bar",
            asked.get("taken") or "0.01 g/s",
        ),
        ways=WAYS,
        found=FOUND,
        safe=(),
        by=by,
        tests=tuple(_past(one, system, now) for one in tests),
        form=FormState.of(refused),
        plan_form=FormState.of(refused_plan),
    )


def _answer(counting: list["Noted"]) -> str:
    if not counting:
        return "No pressure test is noted yet."
    return "The last test passed." if passes(counting[0]) else "The last test found a leak."


def _planned(test: leak.LeakTest, step: float, system: System) -> Planned:
    def pressure(value: float) -> Quantity:
        """In bar where gauges are, as boost is told everywhere."""
        shown = show(value, Kind.pressure, system, unit=None if system is System.inch else "bar")
        return Quantity(value, shown.text, shown.other)

    return Planned(
        pressure(test.start),
        pressure(test.pressure),
        Quantity.of(test.volume, Kind.volume, system),
        minutes_text(test.time / 60.0),
        pressure(test.allowed),
        leak.notes(test, step),
    )


def _past(test: "Noted", system: System, now: datetime) -> PastTest:
    word = VerdictWord.GO if passes(test) else VerdictWord.NO_GO
    told = (f"{test.by}, {moment_text(test.at, now)}", *_told(test, system), test.found)
    return PastTest(test.id, Verdict(word), tuple(one for one in told if one), test.withdrawn)


def _told(test: "Noted", system: System) -> list[str]:
    if test.last is None:
        return [f"listened and soaped at {test.pressure_typed}: {'a leak' if test.leaks else 'no leak'}"]
    came = _judged(test)
    leaked = show(came.by_leak, Kind.pressure, system).text
    lost = show(came.mass, Kind.mass_flow, system).text
    told = [
        f"{test.pressure_typed} to {test.last_typed} in {minutes_text((test.held or 0.0) / 60.0)},"
        f" {show(test.volume or 0.0, Kind.volume, system).text}",
        f"fall by leak {leaked}, {lost} of air",
    ]
    if came.by_cooling:
        told.append(f"{show(came.by_cooling, Kind.pressure, system).text} of the fall is the air’s cooling")
    return told


def happenings(build_id: int, tests: tuple["Noted", ...]) -> tuple[Happening, ...]:
    """Each test that was made."""
    where = urls.first_start.leak_test(build_id)
    return tuple(
        Happening(one.at, f"Pressure test: {_came_to(one)}. {one.found}".strip(), where, one.by)
        for one in tests
        if not one.withdrawn
    )


def _came_to(test: "Noted") -> str:
    return "it passed" if passes(test) else "it leaks"
