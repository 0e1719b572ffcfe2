"""The usual set hangs together: no ring, every code known, every word one that the forms know."""

import pytest

from server.core.work.cautions import CAUTIONS
from server.core.work.tasks import After, TaskPlan, find_cycle
from server.core.work.usual.questions import QUESTIONS, facts_of
from server.core.work.usual.values import DAY, NIGHT, UsualPort, UsualTask
from server.core.work.usual.whole import (
    GROUPS,
    KIND_OF,
    PORTS,
    SUBSYSTEMS,
    TASKS,
    fits,
    order_among,
    stretch_of,
)

EVERY_TASK = list(TASKS.values())
EVERY_PORT = list(PORTS.values())
FACTS = {
    fact for place in ("before compressor", "after compressor", "none") for fact in facts_of({}, place)
} | {fact for question in QUESTIONS for answer in question.answers for fact in answer.facts}


def plans(there: frozenset[str]) -> list[TaskPlan]:
    numbers = {code: number for number, code in enumerate(there)}
    return [
        TaskPlan(
            numbers[code],
            TASKS[code].title,
            after=tuple(After(numbers[earlier], wait) for earlier, wait in before.items()),
        )
        for code, before in order_among(there).items()
    ]


def test_no_code_is_used_twice() -> None:
    codes = [port.code for group in GROUPS for port in group.ports]
    codes += [task.code for group in GROUPS for task in group.tasks]
    assert sorted(codes) == sorted(set(codes)) == sorted(KIND_OF)


def test_the_set_is_as_large_as_a_whole_conversion() -> None:
    assert len(SUBSYSTEMS) == 18
    assert 90 <= len(TASKS) <= 150
    assert len(PORTS) > 35


def test_the_whole_set_goes_round_in_no_ring() -> None:
    assert find_cycle(plans(frozenset(TASKS))) is None


@pytest.mark.parametrize("task", EVERY_TASK, ids=lambda task: task.code)
def test_a_task_names_only_what_is_in_the_set(task: UsualTask) -> None:
    assert {*task.after, *(code for code, _ in task.later)} <= TASKS.keys()
    assert not {*task.after} & {code for code, _ in task.later}
    assert {code for code, _ in task.readings} <= PORTS.keys()
    assert set(task.when) <= FACTS
    assert task.caution in {"", *(caution.code for caution in CAUTIONS)}
    assert all(one.caution in {"", *(caution.code for caution in CAUTIONS)} for one in task.setbacks)
    assert not task.design or KIND_OF[task.code]


@pytest.mark.parametrize("task", EVERY_TASK, ids=lambda task: task.code)
def test_times_run_from_quick_to_slow_and_texts_fit_their_fields(task: UsualTask) -> None:
    low, likely, high = task.times
    assert 1 <= low <= likely <= high <= 24 * 60
    assert len(task.title) <= 120
    assert len(task.carry) <= 300
    assert len(task.note) <= 500
    assert len(task.code) <= 40
    for one in task.setbacks:
        assert 0.0 < one.chance < 1.0
        assert one.times == tuple(sorted(one.times))
        assert len(one.title) <= 120
        assert len(one.note) <= 300


@pytest.mark.parametrize("task", EVERY_TASK, ids=lambda task: task.code)
def test_who_works_under_the_car_is_told_what_to_carry(task: UsualTask) -> None:
    if task.place == "under the car":
        assert task.carry, f"{task.code} has no list"


@pytest.mark.parametrize("task", EVERY_TASK, ids=lambda task: task.code)
def test_who_helps_with_hot_work_can_weld(task: UsualTask) -> None:
    if task.hot_work and task.hands > 1:
        assert "welds" in task.helper_skill


@pytest.mark.parametrize("port", EVERY_PORT, ids=lambda port: port.code)
def test_a_port_rests_only_on_facts_that_a_question_tells(port: UsualPort) -> None:
    assert set(port.when) <= FACTS


def test_the_studs_soak_overnight_before_anything_seized_is_undone() -> None:
    order = order_among(frozenset(TASKS))
    for code in ("downpipe.off", "exhaust.off", "car.turbo-off"):
        assert order[code]["car.penetrant"] == NIGHT


def test_sealant_cures_a_day_before_oil_goes_in() -> None:
    assert order_among(frozenset(TASKS))["close.oil"]["drain.pan-on"] == DAY


def test_snapped_studs_are_counted_with() -> None:
    """A chance, and the work it would bring; common practice, no source."""
    likely = {code for code, task in TASKS.items() if any(one.chance >= 0.3 for one in task.setbacks)}
    assert {"downpipe.off", "exhaust.off", "car.turbo-off"} <= likely


def everything_before(code: str) -> set[str]:
    order = order_among(frozenset(TASKS))
    found: set[str] = set()
    waiting = [code]
    while waiting:
        new = set(order[waiting.pop()]) - found
        found |= new
        waiting += new
    return found


@pytest.mark.parametrize(
    ("later", "earlier"),
    [
        ("start.crank", {"start.prime", "close.oil", "close.water", "fuel.leak", "close.pressure"}),
        ("start.first", {"start.crank", "close.torch", "car.cover", "signal.servo"}),
        ("road.gentle", {"law.insurer", "start.torque", "start.level", "start.bleed"}),
        ("road.spring", {"tune.cut", "tune.free-air", "tune.load", "tune.meter", "tune.stop", "gate.lose"}),
        ("road.steps", {"road.spring", "road.leak", "road.look", "shield.look"}),
        ("downpipe.tack", {"car.visit-plan", "downpipe.clean", "car.battery-off"}),
        ("downpipe.fit", {"clutch.change", "drain.fit", "downpipe.flap", "shield.wrap"}),
        ("law.inspection", {"road.steps", "law.brakes"}),
        ("downpipe.weld", {"downpipe.flap"}),
        ("shield.wrap", {"downpipe.try"}),
        ("charge.cut", {"gate.clear"}),
        ("start.prime", {"close.throttle", "fuel.leak", "exhaust.leak"}),
        ("start.gate", {"start.prime", "close.throttle"}),
        ("close.throttle", {"close.pressure"}),
        ("tune.cut", {"road.leak"}),
        ("clutch.bed", {"tune.cut", "road.leak"}),
        ("car.drain-oil", {"car.undertray", "drain.level"}),
        ("downpipe.cut", {"law.ask", "car.gaps", "clutch.change"}),
    ],
)
def test_what_must_come_first_does(later: str, earlier: set[str]) -> None:
    assert earlier <= everything_before(later)


def test_who_works_on_stands_has_put_the_car_on_them() -> None:
    for code, task in TASKS.items():
        if task.car_state == "on stands":
            assert "car.stands" in everything_before(code), code


def test_who_goes_under_after_the_car_came_down_is_told_to_bring_jack_and_stands() -> None:
    again = [
        task
        for code, task in TASKS.items()
        if task.car_state == "on stands" and "start.down" in everything_before(code)
    ]
    assert again
    for task in again:
        assert "jack, four stands" in task.carry, task.code


def test_fuel_is_opened_only_after_its_pressure_is_off_and_the_welding_on_the_car_is_done() -> None:
    for code in ("fuel.injectors", "fuel.pump", "fuel.hose", "fuel.sensor"):
        assert {"fuel.let-off", "car.battery-off", "downpipe.tack"} <= everything_before(code), code


def test_the_battery_comes_on_only_after_all_welding_on_the_car() -> None:
    """Common practice, no source."""
    before = everything_before("car.battery-on")
    assert {code for code, task in TASKS.items() if task.hot_work and task.place != "bench"} <= before


def test_no_first_boost_before_everything_is_proved() -> None:
    """No task under boost stands before the calibration, the wideband and the cut."""
    for code in ("road.spring", "road.steps"):
        assert {"tune.load", "tune.free-air", "tune.cut", "gate.crack"} <= everything_before(code)


def test_a_left_out_task_hands_on_what_it_came_after_without_its_own_wait() -> None:
    there = frozenset(TASKS) - {"car.penetrant"}
    assert order_among(there)["downpipe.off"]["car.stands"] == 0
    assert "car.penetrant" not in order_among(there)


def test_any_choice_of_tasks_stays_free_of_rings() -> None:
    for left_out in SUBSYSTEMS:
        there = frozenset(code for code, kind in KIND_OF.items() if code in TASKS and kind != left_out.kind)
        assert find_cycle(plans(there)) is None


def test_side_ports_stand_behind_the_meter_only_where_one_stands_ahead_of_the_compressor() -> None:
    breather = PORTS["intake.breather"]
    assert stretch_of(breather, facts_of({}, "before compressor")) == "between air meter and compressor"
    assert stretch_of(breather, facts_of({}, "none")) == "anywhere"
    assert stretch_of(breather, facts_of({}, "after compressor")) == "anywhere"


def test_answers_decide_what_fits() -> None:
    water = facts_of({"cooled": "water"}, "none")
    assert fits(("water",), water)
    assert not fits(("water",), facts_of({"cooled": "oil"}, "none"))
    assert fits((), water)
    assert "gate inside" in facts_of({"gate": "no such answer"}, "none")
