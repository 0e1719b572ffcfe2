"""Money by subsystem, counted by hand; every amount is in one row, to the last minor unit."""

from datetime import UTC, date, datetime

from hypothesis import given
from hypothesis import strategies as st

from server.core.buying.listing import Basket, Line
from server.core.buying.offers import Offer, Seller
from server.core.buying.order import DeliveryFace, LineFace, OrderFace
from server.core.buying.spending import BESIDE, CAR, Spending, by_subsystem, owners, split
from server.core.buying.stock import Condition
from server.core.buying.wants import Call, Thing, Who

DAY = date(2026, 11, 20)
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


def call(part: int, subsystem: str) -> Call:
    return Call(Thing(f"part:{part}", part, "", "Clamp", "", "buy"), Who(1, subsystem, ""), 1, design=True)


def line(part: int, quantity: int, price: int, came: int) -> LineFace:
    arrived = (DeliveryFace(1, came, Condition.RIGHT, DAY, "", False, NOW),) if came else ()
    return LineFace(part, 1, 1, "Tarn", None, part, "Clamp", quantity, price, 1, 0, arrived)


def test_each_amount_stands_in_the_row_of_who_calls_for_it() -> None:
    of = owners([call(1, "Intake"), call(2, "Intake"), call(2, "Charge pipe")])
    lines = (line(1, 4, 100, 3), line(2, 1, 301, 1), line(9, 1, 50, 1))
    order = OrderFace(1, 1, "Tarn", DAY, None, 490, "", lines, tax_minor=10)
    bought = Line(
        "part:2", 2, "", "Clamp", "", 2, 0, 0, 2, 0, Offer(1, 1, "Tarn", 300), 600, (Who(1, "Intake", ""),)
    )
    basket = Basket(Seller(1, "Tarn", 490, None, 500), (bought,), ())
    assert by_subsystem(of, [order], [basket]) == (
        Spending("Intake", 300 + 150, 100, 300),
        Spending("Charge pipe", 151, 0, 300),
        Spending(CAR, 50, 0, 0),
        Spending(BESIDE, 0, 500, 0),
    )


@given(st.integers(0, 10**7), st.integers(1, 7))
def test_a_shared_amount_is_shared_to_the_last_minor_unit(minor: int, count: int) -> None:
    shares = split(minor, tuple(str(at) for at in range(count)))
    assert sum(shares.values()) == minor
    assert max(shares.values()) - min(shares.values()) <= 1
