"""What a build still calls for, by definition (counting)."""

from hypothesis import given
from hypothesis import strategies as st

from server.core.buying.wants import Call, Thing, Who, wants

CLAMP = Thing("part:1", 1, "", "T-bolt clamp", "clamp", "buy")
TUBE = Thing("aluminium tube, 60 × 1.5 mm", None, "aluminium tube, 60 × 1.5 mm", "Tube", "tube", "buy")
CHARGE = Who(1, "Charge pipe", "Two bends, pieces 1 and 2")
FIT_CHARGE = Who(1, "Charge pipe", "‘Fit the charge pipe’")
INTAKE = Who(2, "Intake", "Bought elbow, piece 3")
WHOLE_CAR = Who(None, "", "‘Tidy up’")


def test_the_same_part_of_two_subsystems_is_one_line_that_says_both() -> None:
    (want,) = wants([Call(CLAMP, CHARGE, 4, design=True), Call(CLAMP, INTAKE, 3, design=True)])
    assert (want.quantity, [who.subsystem for who in want.by]) == (7, ["Charge pipe", "Intake"])


def test_a_task_of_the_subsystem_that_asks_for_what_its_design_asks_for_is_not_counted_twice() -> None:
    (want,) = wants([Call(CLAMP, CHARGE, 4, design=True), Call(CLAMP, FIT_CHARGE, 4)])
    assert want.quantity == 4


def test_a_task_that_asks_for_more_than_its_design_gets_more() -> None:
    (want,) = wants([Call(CLAMP, CHARGE, 4, design=True), Call(CLAMP, FIT_CHARGE, 6)])
    assert want.quantity == 6


def test_work_on_the_whole_car_comes_on_top() -> None:
    (want,) = wants([Call(CLAMP, CHARGE, 4, design=True), Call(CLAMP, WHOLE_CAR, 2)])
    assert want.quantity == 6


def test_what_a_done_task_used_is_no_longer_called_for() -> None:
    (want,) = wants([Call(CLAMP, CHARGE, 4, design=True), Call(CLAMP, FIT_CHARGE, 3, used=True)])
    assert want.quantity == 1


def test_a_design_whose_pieces_were_fitted_calls_for_nothing() -> None:
    assert wants([Call(CLAMP, CHARGE, 4, design=True, used=True)]) == ()
    assert wants([Call(TUBE, CHARGE, 0, (0.14, 0.38), design=True, used=True)]) == ()


def test_lengths_to_cut_are_kept_apart_from_pieces() -> None:
    other = Who(3, "Cooler pipe", "Straight across, piece 2")
    (want,) = wants(
        [Call(TUBE, CHARGE, 0, (0.14, 0.38), design=True), Call(TUBE, other, 0, (0.2,), design=True)]
    )
    assert (want.quantity, want.lengths) == (0, (0.14, 0.38, 0.2))


def test_where_a_task_says_how_many_lengths_it_takes_the_design_s_cuts_come_out_of_them() -> None:
    design = Call(TUBE, CHARGE, 0, (0.14, 0.38), design=True)
    (want,) = wants([design, Call(TUBE, FIT_CHARGE, 1)])
    assert (want.quantity, want.lengths) == (1, ())
    assert wants([design, Call(TUBE, FIT_CHARGE, 1, used=True)]) == ()
    (elsewhere,) = wants([design, Call(TUBE, WHOLE_CAR, 1)])
    assert (elsewhere.quantity, elsewhere.lengths) == (1, (0.14, 0.38))


def test_what_can_not_be_ordered_yet_says_why() -> None:
    (want,) = wants([Call(TUBE, CHARGE, 0, (), design=True, unsure="length not known yet")])
    assert want.unsure == "length not known yet"


def test_the_same_part_can_be_ordered_for_one_run_and_wait_for_another() -> None:
    sure, waiting = wants(
        [
            Call(CLAMP, CHARGE, 4, design=True),
            Call(CLAMP, INTAKE, 2, design=True, unsure="a mock-up stands in"),
        ]
    )
    assert (sure.quantity, sure.unsure) == (4, "")
    assert (waiting.quantity, waiting.unsure) == (2, "a mock-up stands in")


CALLS = st.builds(
    Call,
    thing=st.just(CLAMP),
    who=st.sampled_from([CHARGE, FIT_CHARGE, INTAKE, WHOLE_CAR]),
    quantity=st.integers(0, 9),
    design=st.booleans(),
    used=st.booleans(),
)


@given(st.lists(CALLS, max_size=8))
def test_never_less_than_what_open_tasks_ask_for_nor_more_than_everything(calls: list[Call]) -> None:
    found = sum(want.quantity for want in wants(calls))
    open_tasks = sum(call.quantity for call in calls if not call.used and not call.design)
    everything = sum(call.quantity for call in calls if not call.used)
    assert open_tasks <= found <= everything
