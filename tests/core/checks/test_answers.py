"""All checks of a run answered together: joint chance, shared readings, concessions, cures, cost."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.core.air.demand import EnginePoint, EngineSheet
from server.core.checks.answer import answer
from server.core.checks.case import Case, engine_case
from server.core.checks.cure import CureKind
from server.core.checks.handbook import handbook
from server.core.checks.register import RULES, rule, rules_for
from server.core.checks.rule import RuleClass, Verdict, may_concede
from server.core.measure.estimate import Estimate
from server.core.phrase import Amount, Phrase, say
from server.core.tube.run import Place
from server.core.units import Kind, System
from tests.core.checks.runs import (
    MM,
    charge_case,
    check,
    check_of,
    engine,
    intake_case,
    port,
    sheet,
    sizes,
    with_joint,
    with_piece,
    with_piece_sizes,
)


def test_a_sound_intake_and_a_sound_charge_pipe_are_go_throughout() -> None:
    for case in (intake_case(), charge_case()):
        found = answer(case)
        assert {one.verdict for one in found.checks} == {Verdict.GO}
        assert found.verdict() is Verdict.GO
        assert found.all_pass is not None


def test_an_empty_run_is_not_measured_and_nothing_breaks() -> None:
    empty = charge_case(pieces=(), joints=charge_case().plan.joints[:1])
    found = answer(empty)
    assert found.flow is None
    assert found.narrowest is None
    assert found.verdict() is not Verdict.GO


def test_a_run_without_any_sizes_asks_for_them_and_claims_no_chance() -> None:
    case = charge_case()
    for piece in case.plan.pieces:
        case = with_piece(case, piece.number, sizes={})
    found = answer(case)
    assert check_of(found, "bore-held").verdict is Verdict.NOT_MEASURED
    assert check_of(found, "bore-held").probability is None
    assert found.all_pass is None
    assert found.flow is None


def doubtful_charge(doubt: float) -> Case:
    """The charge pipe with every diameter of its pieces in more doubt."""
    case = charge_case()
    for piece in case.plan.pieces:
        widened = {
            name: Estimate(size.value, doubt) if name in {"bore", "outside_diameter"} else size
            for name, size in piece.sizes.items()
        }
        case = with_piece(case, piece.number, sizes=widened)
    return case


@settings(max_examples=10, deadline=None)
@given(st.floats(0.05 * MM, 0.6 * MM))
def test_the_chance_that_all_pass_is_never_over_that_of_any_one(doubt: float) -> None:
    found = answer(doubtful_charge(doubt))
    assert found.all_pass is not None
    singles = [one.probability for one in found.checks if one.probability is not None]
    assert found.all_pass <= min(singles)


def test_many_doubtful_checks_together_are_less_likely_than_the_least_likely_of_them() -> None:
    found = answer(doubtful_charge(0.5 * MM))
    assert found.all_pass is not None
    singles = [one.probability for one in found.checks if one.probability is not None]
    assert found.all_pass < min(singles) - 0.02


def test_where_one_check_is_no_go_no_chance_that_all_pass_is_told() -> None:
    narrow = with_piece_sizes(
        charge_case(), 2, {"bore": Estimate(30.0 * MM), "outside_diameter": Estimate(34.0 * MM)}
    )
    found = answer(narrow)
    assert found.verdict() is Verdict.NO_GO
    assert found.all_pass is None


def test_one_reading_used_by_two_checks_is_one_variable() -> None:
    """Only the port's outside diameter is in doubt: the coupler's fit and the end force both rest on it."""
    exact = charge_case()
    for piece in exact.plan.pieces:
        exact = with_piece(exact, piece.number, sizes={n: Estimate(s.value) for n, s in piece.sizes.items()})
    exact = with_joint(exact, 0, sizes={**exact.plan.joints[0].sizes, "holds": Estimate(600.0)})
    shaky = port(13, "Compressor outlet", 60.0)
    shaky = replace(shaky, sizes={**shaky.sizes, "outside_diameter": Estimate(62.3 * MM, 0.5 * MM)})
    sure_engine = engine(Place.CHARGE_PIPE, boost_doubt=0.0)
    found = answer(replace(exact, plan=replace(exact.plan, start=shaky), engine=sure_engine))
    fit, force = check_of(found, "coupler-fit"), check_of(found, "end-force")
    for one in (fit, force):
        assert one.verdict is Verdict.TIGHT
        assert one.settles is not None
        assert one.settles.variable == "port.13.outside_diameter"
        assert one.settles.share == pytest.approx(1.0)
    assert found.all_pass is not None
    assert fit.probability is not None
    assert force.probability is not None
    # A larger spigot fails both, so that both pass about as often as the less likely of them.
    assert found.all_pass == pytest.approx(min(fit.probability, force.probability), abs=0.03)
    assert found.all_pass > fit.probability * force.probability + 0.1


def test_a_shared_reading_makes_two_like_checks_pass_or_fail_together() -> None:
    """Two joints of equal hose on one port each would fail apart; both ends of one hose fail together."""
    case = with_piece_sizes(charge_case(), 3, {"bore": Estimate(57.7 * MM, 0.3 * MM)})
    found = check(case, "coupler-fit")
    failing = [item for item in found.items if item.probability is not None and item.probability < 0.95]
    assert {item.number for item in failing} == {3, 4}
    apart = failing[0].probability * failing[1].probability  # type: ignore[operator]
    assert found.probability is not None
    assert found.probability > apart + 0.05


def test_a_reading_by_feel_is_named_as_what_settles_a_tight_check() -> None:
    case = with_piece_sizes(charge_case(), 2, {"outside_diameter": Estimate(60.2 * MM, 0.7 * MM)})
    case = replace(case, taken_with={"piece.2.outside_diameter": "by feel"})
    found = check(case, "bore-held")
    assert found.verdict is Verdict.TIGHT
    assert found.settles is not None
    assert found.settles.enough
    assert "with a caliper instead of by feel" in say(found.settles.phrase, System.metric)
    assert found.cure is not None
    assert found.cure.kind is CureKind.READING


def test_a_concession_changes_no_verdict_but_holds_no_work() -> None:
    case = with_piece_sizes(charge_case(), 2, sizes(outside_diameter=48.0))
    open_one = check(case, "bore-held")
    conceded = check(replace(case, concessions={"bore-held": "it is what the yard had"}), "bore-held")
    assert open_one.holds_work
    assert (conceded.verdict, conceded.conceded) == (open_one.verdict, "it is what the yard had")
    assert not conceded.holds_work


def test_changed_limits_change_the_verdict() -> None:
    case = with_joint(charge_case(), 2, sizes={**charge_case().plan.joints[2].sizes, **sizes(overlap=22.0)})
    assert check(case, "overlap").verdict is Verdict.NO_GO
    assert check(replace(case, limits={"overlap.least": 0.020}), "overlap").verdict is Verdict.GO


@settings(max_examples=12, deadline=None)
@given(
    outside=st.floats(42.0, 60.0),
    hose=st.floats(55.0, 66.0),
    overlap=st.floats(8.0, 30.0),
    holds=st.floats(200.0, 900.0),
    length=st.floats(30.0, 90.0),
)
def test_a_number_given_as_cure_turns_its_check_to_go(
    outside: float, hose: float, overlap: float, holds: float, length: float
) -> None:
    case = with_piece_sizes(charge_case(), 2, sizes(outside_diameter=outside))
    case = with_piece_sizes(case, 5, sizes(bore=hose))
    case = with_piece_sizes(case, 4, sizes(length=length))
    joint = case.plan.joints[2]
    case = with_joint(
        case, 2, sizes={**joint.sizes, **sizes(overlap=overlap), "holds": Estimate(holds, 20.0)}
    )
    for one in answer(case).checks:
        if one.cure is not None and one.cure.kind is CureKind.NUMBER:
            assert one.cure.variable is not None
            assert one.cure.value is not None
            cured = case.with_size(one.cure.variable, one.cure.value)
            assert check(cured, one.rule.code).verdict is Verdict.GO, one.rule.code


def test_every_check_that_is_not_go_says_what_to_do() -> None:
    case = with_piece_sizes(charge_case(), 2, sizes(outside_diameter=48.0))
    for one in answer(case).checks:
        if one.verdict in {Verdict.TIGHT, Verdict.NO_GO}:
            assert one.cure is not None, one.rule.code


def test_the_answers_carry_flow_cost_and_the_narrowest_piece() -> None:
    found = answer(with_piece_sizes(charge_case(), 2, sizes(outside_diameter=54.0)))
    assert found.flow is not None
    assert [piece.number for piece in found.flow.pieces] == [1, 2, 3, 4, 5]
    assert found.loss_doubt is not None
    assert found.loss_doubt > 0.0
    assert found.cost is not None
    assert found.cost.boost == pytest.approx(found.flow.loss)
    assert found.narrowest is not None
    assert (found.narrowest.number, round(found.narrowest.bore, 4)) == (2, 0.051)


def test_an_intake_starts_at_the_air_outside_less_what_stands_before_it() -> None:
    at_peak = engine(Place.INTAKE).state(
        {name: size.value for name, size in engine(Place.INTAKE).variables().items()}
    )
    assert at_peak.pressure == pytest.approx(at_peak.ambient_pressure - 1500.0)
    assert at_peak.temperature == pytest.approx(298.15)


def test_a_charge_pipe_starts_hot_and_a_cooler_pipe_cooled() -> None:
    states = {}
    for place in (Place.CHARGE_PIPE, Place.COOLER_PIPE):
        case = engine(place)
        states[place] = case.state({name: size.value for name, size in case.variables().items()})
    hot, cooled = states[Place.CHARGE_PIPE], states[Place.COOLER_PIPE]
    assert hot.temperature > cooled.temperature + 40.0
    assert hot.pressure == pytest.approx(cooled.pressure + 6000.0)


def test_sizes_put_together_once_are_those_of_the_case_as_it_is_now() -> None:
    case = charge_case()
    name = next(name for name in case.variables() if name.startswith("piece."))
    value = case.variables()[name].value
    changed = case.with_size(name, 1.1 * value)
    assert changed.variables()[name].value == 1.1 * value
    assert case.variables()[name].value == value


def test_the_peak_is_the_engine_speed_of_the_greatest_flow() -> None:
    assert engine(Place.INTAKE).at_peak.rpm == 6600.0


def test_a_sheet_without_points_gives_no_engine_to_check_against() -> None:
    bare = EngineSheet(2.1e-3, 6600.0, (), 240.0, 298.15, 0.72, 0.7, 0.0, 0.0, "petrol-95", 1e5)
    no_case = engine_case(
        bare, Place.INTAKE, efficiency_doubt=0.03, boost_doubt=0.0, bonnet_temperature=360.0
    )
    assert no_case is None


def test_an_engine_without_boost_has_no_loss_against_boost_to_judge() -> None:
    flat = replace(sheet(), points=(EnginePoint(6600.0, 0.9, 0.0),))
    unboosted = engine_case(
        flat, Place.CHARGE_PIPE, efficiency_doubt=0.03, boost_doubt=1000.0, bonnet_temperature=360.0
    )
    found = answer(Case(charge_case().plan, unboosted))
    assert "charge-loss" not in {one.rule.code for one in found.checks}


def test_every_rule_has_all_that_the_handbook_prints() -> None:
    entries = handbook()
    assert [entry.code for entry in entries] == [one.code for one in RULES]
    assert len({entry.code for entry in entries}) == len(entries)
    for entry in entries:
        assert entry.title
        assert entry.formula
        assert entry.limit
        assert entry.sources
        assert entry.places


def test_no_injury_rule_can_be_conceded_and_each_carries_a_caution_and_asks_99_percent() -> None:
    injury = [one for one in RULES if one.rule_class is RuleClass.INJURY]
    assert injury
    for one in injury:
        assert not may_concede(one)
        assert one.caution is not None
        assert one.asked_probability == 0.99


def test_rules_are_found_by_place_and_code() -> None:
    assert "suction-collapse" in {one.code for one in rules_for(Place.INTAKE)}
    assert "end-force" not in {one.code for one in rules_for(Place.INTAKE)}
    assert rule("bore-held").title == "Bore held"
    with pytest.raises(KeyError, match="known: bore-held"):
        rule("nothing")


def test_every_phrase_reads_in_both_systems() -> None:
    cases = [intake_case(), charge_case(), with_piece_sizes(charge_case(), 2, sizes(outside_diameter=48.0))]
    for case in cases:
        for one in answer(case).checks:
            for system in System:
                for phrase in [
                    one.phrase,
                    *(item.phrase for item in one.items),
                    *(gap.phrase for gap in one.missing),
                ]:
                    assert "{" not in say(phrase, system)
                if one.cure is not None:
                    assert "{" not in say(one.cure.phrase, system)


def test_a_phrase_shows_its_amounts_in_the_units_of_the_build_and_keeps_typed_braces() -> None:
    phrase = Phrase(
        "{piece} is {short} short.", {"piece": "Elbow {odd}"}, {"short": Amount(0.0254, Kind.length)}
    )
    assert say(phrase, System.metric) == "Elbow {odd} is 25.4 mm short."
    assert say(phrase, System.inch) == "Elbow {odd} is 1 in short."


def test_a_size_that_is_not_of_the_run_is_not_changed() -> None:
    with pytest.raises(KeyError):
        charge_case().with_size("piece.99.bore", 0.06)


@settings(max_examples=15, deadline=None)
@given(st.data())
def test_whatever_is_missing_or_absurd_every_check_gets_a_verdict(data: st.DataObject) -> None:
    case = data.draw(st.sampled_from([intake_case(), charge_case()]))
    for piece in case.plan.pieces:
        kept = data.draw(st.sets(st.sampled_from(sorted(piece.sizes)), min_size=len(piece.sizes) - 1))
        odd = {name: piece.sizes[name] for name in kept}
        if data.draw(st.integers(0, 3)) == 0:
            name = data.draw(st.sampled_from(sorted(piece.sizes)))
            odd[name] = Estimate(data.draw(st.sampled_from([0.0, 1e-6, 0.002, 5.0])))
        case = with_piece(case, piece.number, sizes={n: Estimate(size.value) for n, size in odd.items()})
    found = answer(case)
    assert found.checks
    for one in found.checks:
        assert one.verdict in Verdict
        assert say(one.phrase, System.metric)
