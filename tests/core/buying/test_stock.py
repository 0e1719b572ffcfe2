"""Stock: what is in hand, on order and late, short, and which task gets it."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from server.core.buying.stock import (
    Allotment,
    Arrival,
    Condition,
    OnOrder,
    OrderedPart,
    PartNeed,
    Returned,
    Supply,
    Wanted,
    supply,
)

TODAY = date(2026, 11, 25)
CLAMP = 3


def ordered(
    line: int,
    quantity: int,
    due: date | None = None,
    *arrivals: Arrival,
    cancelled: int = 0,
    back: tuple[Returned, ...] = (),
) -> OrderedPart:
    return OrderedPart(line, 10 + line, CLAMP, "Tarn Hose & Clamp", quantity, due, arrivals, cancelled, back)


def clamps(shelf: int, lines: tuple[OrderedPart, ...] = (), needs: tuple[PartNeed, ...] = ()) -> Supply:
    return supply({CLAMP: shelf}, lines, needs, TODAY)[CLAMP]


def test_without_parts_there_is_nothing() -> None:
    assert supply({}, (), (), TODAY) == {}


def test_a_part_on_the_shelf_that_nobody_needs_is_spare() -> None:
    assert clamps(4) == Supply(CLAMP, 4, (), 0, (), spare=4, short=0, unrecorded=0)


def test_a_part_that_is_needed_and_nowhere_is_short() -> None:
    found = supply({}, (), (PartNeed(1, 8, 2),), TODAY)[8]
    assert (found.in_hand, found.short) == (0, 2)
    assert found.allotted == (Allotment(1, 8, 2, 0, (), short=2),)


def test_an_order_in_time_is_awaited_and_not_late() -> None:
    found = clamps(0, (ordered(1, 4, TODAY),), (PartNeed(1, CLAMP, 4),))
    assert found.on_order == (OnOrder(1, 11, "Tarn Hose & Clamp", 4, TODAY, late_days=0),)
    assert found.allotted[0].awaited == found.on_order
    assert not found.allotted[0].met


def test_an_order_past_its_day_says_by_how_many_days() -> None:
    assert clamps(0, (ordered(1, 4, date(2026, 11, 20)),)).on_order[0].late_days == 5


def test_an_order_without_a_day_is_never_late() -> None:
    assert clamps(0, (ordered(1, 4),)).on_order[0].late_days == 0


def test_what_arrived_right_is_in_hand_and_the_rest_still_owed() -> None:
    found = clamps(1, (ordered(1, 4, TODAY, Arrival(3)),))
    assert (found.in_hand, found.on_order[0].quantity) == (4, 1)


def test_what_arrived_wrong_or_damaged_is_not_in_hand_and_stays_owed() -> None:
    arrivals = (Arrival(1), Arrival(2, Condition.WRONG), Arrival(1, Condition.DAMAGED))
    found = clamps(0, (ordered(1, 4, date(2026, 11, 23), *arrivals),))
    assert (found.in_hand, found.unusable) == (1, 3)
    assert (found.on_order[0].quantity, found.on_order[0].late_days) == (3, 2)


def test_a_line_that_arrived_whole_is_no_longer_on_order() -> None:
    found = clamps(0, (ordered(1, 4, TODAY, Arrival(4)),), (PartNeed(1, CLAMP, 4),))
    assert found.on_order == ()
    assert found.allotted[0].met


def test_more_than_was_ordered_may_arrive() -> None:
    found = clamps(0, (ordered(1, 4, TODAY, Arrival(5)),))
    assert (found.in_hand, found.on_order) == (5, ())


def test_tasks_get_parts_in_their_order_and_the_last_one_waits() -> None:
    needs = (PartNeed(2, CLAMP, 2), PartNeed(1, CLAMP, 2), PartNeed(3, CLAMP, 2))
    found = clamps(3, (ordered(1, 2, TODAY),), needs)
    shares = [
        (one.task_id, one.in_hand, sum(o.quantity for o in one.awaited), one.short) for one in found.allotted
    ]
    assert shares == [(2, 2, 0, 0), (1, 1, 1, 0), (3, 0, 1, 1)]
    assert found.short == 1


def test_the_first_due_order_is_given_first_and_the_undated_one_last() -> None:
    lines = (ordered(1, 1), ordered(2, 1, TODAY + timedelta(days=9)), ordered(3, 1, TODAY))
    needs = (PartNeed(1, CLAMP, 2), PartNeed(2, CLAMP, 1))
    first, second = clamps(0, lines, needs).allotted
    assert [order.line_id for order in first.awaited] == [3, 2]
    assert first.last is not None
    assert first.last.line_id == 2
    assert second.last is not None
    assert second.last.due_on is None


def test_a_need_that_awaits_nothing_has_no_last_order() -> None:
    assert clamps(2, (), (PartNeed(1, CLAMP, 2),)).allotted[0].last is None


def test_done_tasks_have_used_theirs() -> None:
    needs = (PartNeed(1, CLAMP, 3, used=True), PartNeed(2, CLAMP, 2))
    found = clamps(4, (), needs)
    assert (found.in_hand, found.short, found.unrecorded) == (1, 1, 0)
    assert [one.task_id for one in found.allotted] == [2]


def test_pieces_used_before_their_arrival_was_put_down_are_not_promised_to_another_task() -> None:
    needs = (PartNeed(1, CLAMP, 3, used=True), PartNeed(2, CLAMP, 2))
    before = clamps(1, (ordered(1, 3, TODAY),), needs)
    assert (before.in_hand, before.unrecorded) == (0, 2)
    assert (before.allotted[0].awaited[0].quantity, before.short) == (1, 1)
    put_down = clamps(1, (ordered(1, 3, TODAY, Arrival(3)),), needs)
    assert (put_down.in_hand, put_down.unrecorded, put_down.short) == (1, 0, 1)


def test_parts_are_counted_apart() -> None:
    found = supply({1: 2, 2: 0}, (), (PartNeed(9, 1, 1), PartNeed(9, 2, 1)), TODAY)
    assert (found[1].spare, found[2].short) == (1, 1)


# What goes back and what will not come. Definitions (counting), no source.


def test_right_pieces_sent_back_leave_the_hand_and_are_not_owed_where_their_money_is_asked_for() -> None:
    line = ordered(1, 4, TODAY, Arrival(4), back=(Returned(1, Condition.RIGHT, Wanted.REFUND),))
    found = clamps(0, (line,))
    assert (found.in_hand, found.on_order) == (3, ())


def test_right_pieces_sent_back_for_a_replacement_are_owed_again_until_it_comes() -> None:
    gone = (Returned(1, Condition.RIGHT, Wanted.REPLACEMENT),)
    waiting = clamps(0, (ordered(1, 4, TODAY, Arrival(4), back=gone),))
    assert (waiting.in_hand, waiting.on_order[0].quantity) == (3, 1)
    replaced = clamps(0, (ordered(1, 4, TODAY, Arrival(4), Arrival(1), back=gone),))
    assert (replaced.in_hand, replaced.on_order) == (4, ())


def test_wrong_pieces_sent_back_no_longer_lie_here() -> None:
    came = (Arrival(1), Arrival(2, Condition.WRONG), Arrival(1, Condition.DAMAGED))
    for wants, owed in ((Wanted.REPLACEMENT, 3), (Wanted.REFUND, 1)):
        line = ordered(1, 4, TODAY, *came, back=(Returned(2, Condition.WRONG, wants),))
        found = clamps(0, (line,))
        assert (found.in_hand, found.unusable) == (1, 1), "the damaged one is still here"
        assert found.on_order[0].quantity == owed


def test_the_rest_that_will_not_come_is_short_for_the_task_that_needs_it() -> None:
    need = (PartNeed(1, CLAMP, 4),)
    found = clamps(0, (ordered(1, 4, TODAY, Arrival(3), cancelled=1),), need)
    assert (found.on_order, found.short) == ((), 1)


def test_more_than_was_to_come_is_told_as_over() -> None:
    assert ordered(1, 4, TODAY, Arrival(6)).over == 2
    assert ordered(1, 4, TODAY, Arrival(4), cancelled=1).over == 1


arrivals = st.builds(Arrival, st.integers(1, 5), st.sampled_from(Condition))


@st.composite
def returns(draw: st.DrawFn, came: list[Arrival]) -> tuple[Returned, ...]:
    """What may go back: never more of a condition than came so."""
    found = []
    for condition in Condition:
        here = sum(one.quantity for one in came if one.condition is condition)
        for wants in Wanted:
            count = draw(st.integers(0, here))
            here -= count
            if count:
                found.append(Returned(count, condition, wants))
    return tuple(found)


@st.composite
def order_lines(draw: st.DrawFn) -> OrderedPart:
    quantity = draw(st.integers(1, 6))
    due = draw(st.none() | st.dates(date(2026, 11, 1), date(2026, 12, 31)))
    came = draw(st.lists(arrivals, max_size=3))
    cancelled = draw(st.integers(0, quantity))
    number = draw(st.integers(1, 99))
    return ordered(number, quantity, due, *came, cancelled=cancelled, back=draw(returns(came)))


lines = st.lists(order_lines(), max_size=4)
needs = st.lists(
    st.builds(PartNeed, st.integers(1, 9), st.just(CLAMP), st.integers(1, 6), st.booleans()), max_size=5
)


@given(order_lines())
def test_every_piece_that_came_is_kept_lies_here_unusable_or_went_back(line: OrderedPart) -> None:
    came = sum(one.quantity for one in line.arrivals)
    gone = sum(one.quantity for one in line.sent_back)
    assert came == line.right + line.unusable + gone
    assert min(line.right, line.unusable, line.owed, line.over) >= 0


@given(order_lines())
def test_every_piece_that_was_ordered_is_here_owed_paid_back_or_called_off(line: OrderedPart) -> None:
    paid_back = sum(one.quantity for one in line.sent_back if one.wants is Wanted.REFUND)
    settled = line.right + paid_back + line.cancelled
    assert line.owed + settled >= line.quantity
    assert line.owed == 0 or line.owed + settled == line.quantity


@given(st.integers(0, 8), lines, needs)
def test_no_piece_is_lost_or_given_twice(
    shelf: int, orders: list[OrderedPart], wanted: list[PartNeed]
) -> None:
    found = clamps(shelf, tuple(orders), tuple(wanted))
    assert sum(one.in_hand for one in found.allotted) + found.spare == found.in_hand
    awaited = sum(order.quantity for one in found.allotted for order in one.awaited)
    assert awaited <= sum(order.quantity for order in found.on_order)
    for one in found.allotted:
        assert one.in_hand + sum(order.quantity for order in one.awaited) + one.short == one.quantity
    used = sum(need.quantity for need in wanted if need.used)
    came = sum(one.quantity for line in orders for one in line.arrivals if one.condition is Condition.RIGHT)
    gone = sum(one.quantity for line in orders for one in line.sent_back if one.condition is Condition.RIGHT)
    assert found.in_hand - found.unrecorded == shelf + came - gone - used
    assert min(found.in_hand, found.spare, found.short, found.unusable, found.unrecorded) >= 0
    if found.short:
        owed = sum(order.quantity for order in found.on_order)
        assert found.spare == 0
        assert awaited == max(owed - found.unrecorded, 0)
