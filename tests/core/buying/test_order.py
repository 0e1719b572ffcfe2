"""An order as it stands: parcels, what it waits for, what it cost. Definitions (counting), no source."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from server.core.buying.cost import Lateness
from server.core.buying.order import (
    DeliveryFace,
    LineFace,
    OrderFace,
    SentBackFace,
    kept_days,
    parcel_of,
)
from server.core.buying.stock import Condition, Wanted

TODAY = date(2026, 11, 25)
EVENING = datetime(2026, 11, 24, 17, 40, tzinfo=UTC)
NEXT_DAY = EVENING + timedelta(days=1)


def came(
    number: int, quantity: int, at: datetime = EVENING, how: Condition = Condition.RIGHT
) -> DeliveryFace:
    return DeliveryFace(number, quantity, how, at.date(), "", withdrawn=False, noted_at=at)


def gone(quantity: int, how: Condition, wants: Wanted, refund: int | None = None) -> SentBackFace:
    settled = TODAY if refund is not None else None
    return SentBackFace(1, quantity, how, wants, TODAY, refund, settled, "", withdrawn=False)


def line(number: int, quantity: int, *arrived: DeliveryFace, back: tuple[SentBackFace, ...] = ()) -> LineFace:
    return LineFace(
        number, 1, 7, "Millrace Tube", TODAY, number, f"Part {number}", quantity, 500, 1, 0, arrived, back
    )


def order(*lines: LineFace, due: date | None = date(2026, 11, 22)) -> OrderFace:
    return OrderFace(7, 1, "Millrace Tube", date(2026, 11, 10), due, 490, "", lines)


def test_all_that_came_at_one_moment_is_one_parcel() -> None:
    bought = order(line(1, 2, came(1, 1), came(3, 1, NEXT_DAY)), line(2, 4, came(2, 4)))
    parcel = parcel_of((bought,), 2)
    assert parcel is not None
    assert parcel.ids == (1, 2)
    assert parcel_of((bought,), 9) is None


@pytest.mark.parametrize(
    ("bought", "told"),
    [
        (line(1, 4), "4 owed"),
        (line(1, 4, came(1, 3)), "1 of 4 still owed"),
        (line(1, 4, came(1, 4)), "all here"),
        (line(1, 4, came(1, 6)), "2 more than ordered"),
        (line(1, 1, came(1, 1, how=Condition.WRONG)), "1 of 1 still owed, 1 lies here wrong or damaged"),
        (replace(line(1, 4, came(1, 3)), cancelled=1), "1 will not come"),
        (
            line(
                1,
                1,
                came(1, 1, how=Condition.WRONG),
                back=(gone(1, Condition.WRONG, Wanted.REFUND),),
            ),
            "money to come back",
        ),
    ],
)
def test_a_line_says_how_it_stands(bought: LineFace, told: str) -> None:
    assert bought.stands == told


def test_a_delivery_taken_back_counts_for_nothing() -> None:
    bought = order(line(1, 4, replace(came(1, 4), withdrawn=True)))
    assert (bought.lines[0].rest, bought.untouched, bought.noted) == (4, True, 0)


def test_a_delivery_whose_pieces_went_back_is_needed() -> None:
    back = (gone(2, Condition.RIGHT, Wanted.REPLACEMENT),)
    bought = line(1, 4, came(1, 2), came(2, 2, NEXT_DAY), back=back)
    assert not bought.needs([1])
    assert not bought.needs([2])
    assert bought.needs([1, 2])


def test_an_order_waits_while_something_lies_here_wrong_or_money_is_to_come_back() -> None:
    wrong = came(1, 1, how=Condition.WRONG)
    assert order(line(1, 1, wrong)).is_waiting
    assert order(line(1, 1, wrong, back=(gone(1, Condition.WRONG, Wanted.REFUND),))).is_waiting
    paid = gone(1, Condition.WRONG, Wanted.REFUND, refund=500)
    settled = order(line(1, 1, wrong, back=(paid,)))
    assert not settled.is_waiting
    assert not settled.is_open
    assert settled.total_minor == 490, "the piece was paid back, the postage was not"


def test_pieces_that_were_called_off_and_paid_back_are_not_taken_off_twice() -> None:
    damaged = came(2, 2, how=Condition.DAMAGED)
    called_off = replace(line(1, 4, came(1, 2), damaged), cancelled=2)
    assert called_off.total_minor == 2 * 500, "nothing was paid for the two"
    paid_back = replace(called_off, sent_back=(gone(2, Condition.DAMAGED, Wanted.REFUND, refund=1000),))
    assert order(paid_back).total_minor == 490 + 4 * 500 - 1000


def test_a_supplier_kept_its_day_when_the_last_right_piece_came() -> None:
    whole = order(line(1, 1, came(1, 1)), line(2, 1, came(2, 1, NEXT_DAY)))
    assert kept_days((whole,), TODAY) == {"Millrace Tube": Lateness(orders=1, late=1, days=3)}
    assert kept_days((order(line(1, 1), due=None),), TODAY) == {}
