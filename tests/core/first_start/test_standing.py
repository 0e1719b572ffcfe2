"""How stages stand: opened in turn, held, fallen by what changed. Source of each: definition."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.first_start.holds import (
    NO_STAGE,
    SPRING,
    Root,
    StageHold,
    TaskFacts,
    stage_of_check,
    stage_of_line_rule,
    stage_of_task,
    task_holds,
)
from server.core.first_start.looks import APART, Connection, Look, looked
from server.core.first_start.stage import CarFacts, Stage, Tick
from server.core.first_start.standing import Entered, Signature, Word, stand, standing_after
from server.core.first_start.whole import CODES, stages_of

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
THREE = tuple(Stage(code, code, "", (Tick("done", "Done"),)) for code in ("one", "two", "three"))
DONE = {stage.code: Entered(frozenset({"done"}), {}) for stage in THREE}


def signed(*codes: str, evidence: dict[str, tuple[str, str]] | None = None) -> dict[str, Signature]:
    """Signed in that order."""
    return {code: Signature(at, "Ada", NOON, evidence or {}) for at, code in enumerate(codes)}


def words(*args: object, **kwargs: object) -> list[Word]:
    return [one.word for one in stand(*args, **kwargs)]  # type: ignore[arg-type]


def test_only_the_first_is_open_where_nothing_is_signed() -> None:
    assert words(THREE, DONE, {}, (), {}) == [Word.TO_SIGN, Word.CLOSED, Word.CLOSED]
    assert words(THREE, {}, {}, (), {}) == [Word.TO_DO, Word.CLOSED, Word.CLOSED]


def test_a_signature_out_of_turn_does_not_stand() -> None:
    assert words(THREE, DONE, signed("two", "one"), (), {}) == [Word.SIGNED, Word.TO_SIGN, Word.CLOSED]
    assert words(THREE, DONE, signed("two"), (), {}) == [Word.TO_SIGN, Word.CLOSED, Word.CLOSED]


def test_a_hold_that_comes_later_fells_the_signature_and_all_behind_it() -> None:
    hold = StageHold("two", Root.TASK, "a task is not done")
    found = stand(THREE, DONE, signed("one", "two", "three"), (hold,), {})
    assert [one.word for one in found] == [Word.SIGNED, Word.HELD, Word.CLOSED]
    assert found[1].fell == ("a task is not done",)
    assert found[2].fell == ("‘two’, before it, is not signed",)


def test_what_it_rests_on_is_named_where_it_changed() -> None:
    then = {"a": ("The feed", "1"), "b": ("The drain", "1")}
    now = {"a": ("The feed", "2"), "c": ("A new hose", "1")}
    found = stand(THREE, DONE, signed("one", evidence=then), (), {"one": now})
    assert found[0].word is Word.TO_SIGN
    assert found[0].fell == (
        "The feed was changed since",
        "A new hose came since",
        "The drain is there no longer",
    )


def test_a_hold_on_a_stage_that_this_car_has_not_holds_the_first() -> None:
    found = stand(THREE, DONE, {}, (StageHold("bled", Root.TASK, "a task"),), {})
    assert found[0].word is Word.HELD


def test_taking_one_back_names_the_signed_ones_behind_it() -> None:
    found = stand(THREE, DONE, signed("one", "two"), (), {})
    assert [one.stage.code for one in standing_after(found, "one")] == ["two"]


@given(
    order=st.permutations(range(3)),
    kept=st.sets(st.integers(0, 2)),
    held=st.sets(st.sampled_from(["one", "two", "three"])),
    entered=st.sets(st.sampled_from(["one", "two", "three"])),
)
def test_no_stage_ever_stands_signed_behind_one_that_does_not(
    order: list[int], kept: set[int], held: set[str], entered: set[str]
) -> None:
    codes = [THREE[at].code for at in order if at in kept]
    holds = tuple(StageHold(code, Root.TASK, "x") for code in sorted(held))
    found = stand(THREE, {code: DONE[code] for code in entered}, signed(*codes), holds, {})
    stands = [one.word is Word.SIGNED for one in found]
    assert stands == sorted(stands, reverse=True)
    for one in found:
        if one.word in {Word.SIGNED, Word.TO_SIGN}:
            assert one.stage.code not in held
            assert one.stage.code in entered


def test_the_order_is_the_same_for_every_car_and_codes_are_used_once() -> None:
    everything = [stage.code for stage in stages_of(CarFacts())]
    assert everything == list(CODES)
    assert len(set(CODES)) == len(CODES)
    dry = [stage.code for stage in stages_of(CarFacts(coolant=False, has_meter=False, servo=False))]
    assert dry == [code for code in CODES if code != "bled"]
    numbers = [number.code for stage in stages_of(CarFacts()) for number in stage.numbers]
    assert len(set(numbers)) == len(numbers)


def test_every_stage_says_its_cautions_with_the_gravest_signal_word_first() -> None:
    """Signal words: ANSI Z535.4; that every stage has one is this project's rule."""
    order = ["DANGER", "WARNING", "CAUTION", "NOTICE"]
    for stage in stages_of(CarFacts()):
        told = [order.index(one.signal) for one in stage.cautions]
        assert told, stage.code
        assert told == sorted(told), stage.code


def test_two_looks_are_by_two_people_or_a_night_apart() -> None:
    hose = Connection("line.1", "Hose", "1", True)

    def enough(*looks: tuple[str, float], state: str = "1", closed: bool = True) -> bool:
        seen = [Look("line.1", "1", who, NOON + timedelta(hours=hours)) for who, hours in looks]
        return looked([Connection(hose.item, hose.name, state, closed)], seen)[0].enough

    assert not enough(("Ada", 0))
    assert not enough(("Ada", 0), (" ADA ", 1))
    assert enough(("Ada", 0), ("Ben", 0))
    assert enough(("Ada", 0), ("Ada", APART / timedelta(hours=1)))
    assert not enough(("Ada", 0), ("Ben", 1), state="2")
    assert not enough(("Ada", 0), ("Ben", 1), closed=False)


@pytest.mark.parametrize(
    ("task", "stage"),
    [
        (TaskFacts(1, "Fit the intake"), "connections"),
        (TaskFacts(1, "Load it", kind="engine management"), "calibration"),
        (TaskFacts(1, "Oil", code="close.oil"), "fluids"),
        (TaskFacts(1, "Look at the rail", caution="fuel"), "fuel"),
        (TaskFacts(1, "First start, no revs", kind="engine management"), "first-run"),
        (TaskFacts(1, "Fit the intake", said="loose"), "loose"),
    ],
)
def test_a_task_holds_the_stage_it_belongs_to(task: TaskFacts, stage: str) -> None:
    """Common practice, no source."""
    assert stage_of_task(task) == stage


def test_what_the_plan_has_after_the_first_start_holds_the_first_drive() -> None:
    """Common practice, no source."""
    start, wash = TaskFacts(1, "First start", done=True), TaskFacts(2, "Wash it", after=(1,))
    assert [one.stage for one in task_holds([start, wash, TaskFacts(3, "Wax it", after=(2,))])] == [
        SPRING
    ] * 2


def test_a_task_that_is_said_not_to_matter_holds_nothing() -> None:
    assert task_holds([TaskFacts(1, "Polish the badge", said=NO_STAGE)]) == ()


def test_checks_hold_where_they_can_still_be_cured() -> None:
    """Common practice, no source: what must be opened again to be cured is held first."""
    assert stage_of_check("drain-downhill") == "connections"
    assert stage_of_check("injector-duty") == "calibration"
    assert stage_of_check("back-pressure") == SPRING
    assert stage_of_line_rule("boost-fails-safe") == SPRING
    assert stage_of_line_rule("servo-vacuum") == "connections"
