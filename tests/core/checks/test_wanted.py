"""The readings that a build asks for: missing ones and doubtful ones in one order, by what they settle."""

from dataclasses import replace

import pytest

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.next_reading import next_readings, open_run
from server.core.checks.rule import Verdict
from server.core.checks.wanted import AnsweredRun, ForWork, present_value, wanted_readings
from server.core.measure.estimate import Estimate
from server.core.phrase import Phrase, say
from server.core.tube.run import Place
from server.core.units import System
from tests.core.checks.runs import MM, charge_case, engine, with_joint, with_piece


def asked(case: Case, key: str = "charge", held: int = 0) -> AnsweredRun:
    answers = answer(case)
    return AnsweredRun(key, case, answers, next_readings([open_run("", case, answers)]), held)


def without_wall(case: Case, number: int) -> Case:
    """The same with the wall of one piece not typed."""
    sizes = case.plan.pieces[number - 1].sizes
    return with_piece(case, number, sizes={name: size for name, size in sizes.items() if name != "wall"})


def test_a_run_that_passes_wants_no_reading() -> None:
    wants = wanted_readings([asked(charge_case())])
    assert (wants.readings, wants.open_checks, wants.answerable) == ((), 0, 0)


def test_what_is_missing_names_every_check_that_it_answers_once() -> None:
    run = asked(without_wall(charge_case(), 2))
    waiting = {one.rule.code for one in run.answers.checks if one.verdict is Verdict.NOT_MEASURED}
    assert len(waiting) > 1
    wants = wanted_readings([run])
    first = wants.readings[0]
    piece = run.case.plan.pieces[1].id
    assert first.variable == f"piece.{piece}.wall"
    assert {one.rule.code for one in first.settles} == waiting
    assert first.now is None
    assert first.worth == pytest.approx(sum(1.0 / (1 + one.beside) for one in first.settles))
    assert wants.answerable == wants.open_checks == len(waiting)


def test_a_check_that_lacks_two_things_counts_a_half_for_each() -> None:
    case = without_wall(without_wall(charge_case(), 2), 4)
    one, other = wanted_readings([asked(case)]).readings[:2]
    shared = {(opens.rule.code, opens.beside) for opens in one.settles} & {
        (opens.rule.code, opens.beside) for opens in other.settles
    }
    assert shared
    assert all(opens.part == 0.5 for opens in one.settles if opens.beside == 1)


def test_tasks_that_wait_for_a_check_lift_what_answers_it() -> None:
    lacking, held_up = without_wall(charge_case(), 2), without_wall(charge_case(), 4)
    free, busy = asked(lacking, "free"), asked(held_up, "busy", held=7)
    assert [one.key for one in wanted_readings([free, busy]).readings] == ["busy", "free"]
    assert [one.key for one in wanted_readings([replace(free, held=9), busy]).readings] == ["free", "busy"]


def test_a_doubtful_reading_stands_with_its_present_value_and_how_it_was_taken() -> None:
    joint = charge_case().plan.joints[3]
    case = with_joint(charge_case(), 3, sizes={**joint.sizes, "overlap": Estimate(25.5 * MM, 2.0 * MM)})
    variable = f"joint.{joint.id}.overlap"
    run = asked(replace(case, taken_with={variable: "by feel"}), held=5)
    found = next(one for one in wanted_readings([run]).readings if one.variable == variable)
    assert found.now == Estimate(25.5 * MM, 2.0 * MM)
    assert (found.instrument, found.taken) == ("tape", "by feel")
    assert say(found.phrase, System.metric).startswith("Measure the overlap of joint")
    tight = [one for one in found.settles if one.verdict is Verdict.TIGHT]
    assert tight
    rest = sum(one.part for one in found.settles if one.verdict is not Verdict.TIGHT)
    assert found.worth == pytest.approx(sum(one.part for one in tight) + 6.0 * rest)


def test_one_port_read_for_two_runs_is_one_entry() -> None:
    port = charge_case().plan.start
    assert port is not None
    sizes = {name: size for name, size in port.sizes.items() if name == "outside_diameter"}
    case = replace(charge_case(), plan=replace(charge_case().plan, start=replace(port, sizes=sizes)))
    readings = wanted_readings([asked(case, "one"), asked(case, "other")]).readings
    of_port = [one for one in readings if one.variable.startswith(f"port.{port.id}.")]
    assert len(of_port) == 1
    assert {opens.key for opens in of_port[0].settles} == {"one", "other"}


def test_a_run_without_an_engine_sheet_asks_for_it_once_for_the_whole_build() -> None:
    case = replace(charge_case(), engine=None)
    readings = wanted_readings([asked(case, "one"), asked(case, "other")]).readings
    sheet = [one for one in readings if "engine sheet" in one.phrase.text]
    assert len(sheet) == 1
    assert {opens.key for opens in sheet[0].settles} == {"one", "other"}


def test_a_reading_that_only_work_waits_for_is_in_the_same_order() -> None:
    asked_by_work = ForWork("port.40.bore", Phrase("Measure the bore of Oil pan return."), held=3)
    run = asked(without_wall(charge_case(), 2), held=0)
    readings = wanted_readings([run], [asked_by_work]).readings
    alone = next(one for one in readings if one.variable == "port.40.bore")
    assert (alone.settles, alone.worth, alone.key, alone.instrument) == ((), 3.0, None, "digital_caliper")


def test_boost_is_told_as_a_gauge_shows_it() -> None:
    case = replace(charge_case(), engine=engine(Place.CHARGE_PIPE))
    assert case.engine is not None
    shown = present_value(case, "engine.boost")
    assert shown.value == case.engine.at_peak.boost
    assert shown.doubt == case.engine.boost.doubt
