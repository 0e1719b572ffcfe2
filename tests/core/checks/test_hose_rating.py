"""Working pressure of a hose by temperature: a maker's table, one figure, or what is usual."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.checks.hose_rating import (
    ROOM,
    USUAL_BORE,
    Rating,
    falling,
    table_fault,
    usual_rating,
)
from server.core.sources import source

TABLE = Rating(((293.15, 6e5), (373.15, 4e5), (423.15, 2e5)), source("typed"))


def test_between_two_points_of_a_table_it_goes_straight() -> None:
    assert TABLE.at(373.15).pressure == pytest.approx(4e5)
    assert TABLE.at(398.15).pressure == pytest.approx(3e5)
    assert TABLE.at(423.15).pressure == pytest.approx(2e5)


def test_hotter_than_the_table_is_an_answer_without_a_figure() -> None:
    beyond = TABLE.at(423.16)
    assert beyond.pressure is None
    assert "Hotter than the table" in beyond.reason


def test_colder_than_the_table_its_first_figure_holds_and_that_is_told() -> None:
    cold = TABLE.at(260.0)
    assert cold.pressure == 6e5
    assert "Colder" in cold.reason


def test_a_table_may_be_one_point() -> None:
    one = Rating(((373.15, 3e5),), source("typed"))
    assert one.at(373.15).pressure == 3e5
    assert one.at(380.0).pressure is None


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ((), "empty"),
        (((300.0, 0.0),), "above zero"),
        (((300.0, 2e5), (300.0, 1e5)), "rise"),
        (((300.0, 1e5), (350.0, 2e5)), "hotter"),
        (TABLE.points, None),
    ],
)
def test_a_table_as_typed_is_looked_at(points: tuple[tuple[float, float], ...], said: str | None) -> None:
    fault = table_fault(points)
    assert fault is None if said is None else said in str(fault)


@given(st.floats(200.0, 600.0), st.floats(0.0, 100.0))
def test_no_hose_stands_more_when_it_is_hotter(at: float, more: float) -> None:
    for rating in (TABLE, falling(3e5, 353.15, 453.15, source("practice"))):
        cold, hot = rating.at(at).pressure, rating.at(at + more).pressure
        assert hot is None or (cold is not None and hot <= cold)


def test_a_wider_hose_is_taken_to_stand_less_and_so_is_one_without_fabric() -> None:
    usual = usual_rating(True, USUAL_BORE, 453.15).at(ROOM).pressure
    wide = usual_rating(True, 2.0 * USUAL_BORE, 453.15).at(ROOM).pressure
    plain = usual_rating(False, USUAL_BORE, 453.15).at(ROOM).pressure
    assert usual is not None
    assert wide == pytest.approx(0.5 * usual)
    assert plain is not None
    assert plain < usual
