"""Parts of one kind and size under two names. Common practice, no source."""

from server.core.buying.alike import alike_told, sizes
from server.core.buying.listing import Basket, Line
from server.core.buying.offers import Offer


def line(part: int, name: str, price: int, kind: str = "coupler", count: int = 1) -> Line:
    offer = Offer(part, 1, "Tarn", price)
    return Line(f"part:{part}", part, "", name, kind, count, 0, 0, count, 0, offer, price * count, ())


def told(*lines: Line) -> tuple[tuple[str, str, str], ...]:
    return tuple((one.keep, one.other, one.words) for one in alike_told([Basket(None, lines, ())], euros))


def euros(minor: int) -> str:
    return f"{minor / 100:.2f}"


def test_sizes_are_the_numbers_of_a_name() -> None:
    assert sizes("Coupler 63,5 mm, 76 mm long") == sizes("76 mm long joiner, 63.5 bore") == (63.5, 76.0)


def test_two_couplers_of_one_size_may_be_one_and_what_that_saves_is_told() -> None:
    assert told(line(1, "Blue coupler 80 mm", 1200), line(2, "Black coupler 80 mm", 900, count=2)) == (
        (
            "Black coupler 80 mm",
            "Blue coupler 80 mm",
            "One kind, one size. If one does for both, buy the first of the two alone. That saves 3.00, "
            "before postage.",
        ),
    )


def test_another_size_or_another_kind_is_another_part() -> None:
    assert told(line(1, "Coupler 80 mm", 900), line(2, "Coupler 76 mm", 900)) == ()
    assert told(line(1, "Coupler 80 mm", 900), line(3, "Clamp 80 mm", 300, "clamp")) == ()
    assert told(line(1, "Gasket", 100, "gasket"), line(2, "Seal", 100, "gasket")) == ()
