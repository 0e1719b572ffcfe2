"""What to measure next in a build, on runs made so that the answer can be told by hand."""

from dataclasses import replace
from math import sqrt

import pytest
from scipy.special import ndtr, ndtri

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.next_reading import NextReading, OpenRun, next_readings, open_run
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.measure.instruments import instrument
from server.core.tube.run import Place
from tests.core.checks.runs import MM, charge_case, check, engine, port, with_joint, with_piece


def exact_charge() -> Case:
    """The charge pipe with every size and the boost known exactly."""
    case = replace(charge_case(), engine=engine(Place.CHARGE_PIPE, boost_doubt=0.0, efficiency_doubt=0.0))
    for piece in case.plan.pieces:
        case = with_piece(case, piece.number, sizes={n: Estimate(s.value) for n, s in piece.sizes.items()})
    for at, joint in enumerate(case.plan.joints):
        sizes = {name: Estimate(size.value) for name, size in joint.sizes.items()}
        case = with_joint(case, at, sizes=sizes | {"clamp_most": Estimate(90.0 * MM)})
    return case


def by_feel(case: Case, outside: float = 62.3, doubt: float = 0.5) -> Case:
    """The same with an outside diameter read so badly that the hose may not go on [mm]."""
    shaky = port(13, "Compressor outlet", 60.0)
    sizes = {name: Estimate(size.value) for name, size in shaky.sizes.items()}
    sizes["outside_diameter"] = Estimate(outside * MM, doubt * MM)
    return replace(case, plan=replace(case.plan, start=replace(shaky, sizes=sizes)))


def short_overlap(case: Case, doubt: float) -> Case:
    """The same with one overlap that may be too short."""
    joint = case.plan.joints[3]
    return with_joint(case, 3, sizes={**joint.sizes, "overlap": Estimate(25.5 * MM, doubt * MM)})


def asked(case: Case, key: str = "charge", weight: float = 1.0) -> OpenRun:
    return open_run(key, case, answer(case), weight)


def only(found: tuple[NextReading, ...]) -> NextReading:
    assert len(found) == 1
    return found[0]


def test_a_build_without_open_checks_asks_for_no_reading() -> None:
    assert asked(charge_case()).checks == ()
    assert next_readings([asked(charge_case())]) == ()


def test_the_reading_behind_the_one_open_check_comes_with_how_often_it_settles_it() -> None:
    """A stretch of 4 % of 60 mm bears 62.4 mm; the port reads 62.3 ± 0.5 mm by feel.

    Over it by less than half as much again the coupler stays tight, whatever is read.
    """
    case = by_feel(exact_charge())
    assert check(case, "coupler-fit").verdict is Verdict.TIGHT
    found = only(next_readings([asked(case)]))
    assert (found.variable, found.instrument) == ("port.13.outside_diameter", "digital_caliper")
    assert found.name == "outside diameter of Compressor outlet"
    assert [one.rule.code for one in found.settles] == ["coupler-fit"]
    good = instrument("digital_caliper").doubt(0.0623) / MM
    spread, margin = sqrt(0.5**2 - good**2), 0.1
    by_hand = ndtr((margin - float(ndtri(0.95)) * good) / spread)
    assert found.settles[0].probability == pytest.approx(by_hand, abs=1.0 / 7.0)
    assert found.share == pytest.approx(found.worth)


def test_one_reading_that_settles_checks_of_two_runs_counts_for_both() -> None:
    case = by_feel(exact_charge())
    found = only(next_readings([asked(case, "one"), asked(case, "other", 2.0)]))
    assert {one.key for one in found.settles} == {"one", "other"}
    chance = found.settles[0].probability
    assert found.worth == pytest.approx(3.0 * chance)
    assert found.share == pytest.approx(chance)


def test_what_is_held_up_decides_between_two_readings() -> None:
    port_first = asked(by_feel(exact_charge()), "outlet", 5.0)
    overlap_too = asked(short_overlap(exact_charge(), 2.0), "overlap", 1.0)
    variables = [one.variable for one in next_readings([port_first, overlap_too])]
    assert variables == ["port.13.outside_diameter", "joint.63.overlap"]
    swapped = [replace(port_first, weight=1.0), replace(overlap_too, weight=5.0)]
    assert [one.variable for one in next_readings(swapped)] == variables[::-1]


def test_a_reading_that_is_as_good_as_it_gets_is_not_asked_for_again() -> None:
    good = instrument("digital_caliper").doubt(0.0624) / MM
    case = by_feel(exact_charge(), outside=62.38, doubt=good)
    assert check(case, "coupler-fit").verdict is not Verdict.GO
    assert next_readings([asked(case)]) == ()


def test_what_fails_for_certain_is_settled_by_no_reading() -> None:
    assert next_readings([asked(by_feel(exact_charge(), outside=70.0, doubt=0.3))]) == ()


def test_a_conceded_check_is_not_open() -> None:
    case = replace(by_feel(exact_charge()), concessions={"coupler-fit": "it was tried on"})
    assert asked(case).checks == ()
