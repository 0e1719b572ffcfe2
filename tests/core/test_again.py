"""What is taken again is what would have been made, and is not made a second time."""

from hypothesis import given
from hypothesis import strategies as st

from server.core.again import Again

SOME = st.dictionaries(st.integers(0, 5), st.tuples(st.integers(0, 3), st.text(max_size=2)), max_size=5)


@given(st.lists(SOME, min_size=1, max_size=4))
def test_what_is_made_again_is_what_is_made_from_nothing(turns: list[dict[int, tuple[int, str]]]) -> None:
    again = Again()
    for turn in turns:
        again = Again(again.left)
        found = again.each("repeated", turn, lambda one: one[0] * one[1])
        assert list(found.items()) == [(key, count * text) for key, (count, text) in turn.items()]


def test_only_what_is_given_anew_is_made() -> None:
    made = []

    def twice(number: int) -> int:
        made.append(number)
        return number * 2

    first = Again()
    first.each("doubled", {1: 10, 2: 20, 3: 30}, twice)
    second = Again(first.left)
    assert second.each("doubled", {1: 10, 2: 25}, twice) == {1: 20, 2: 50}
    assert second.once("doubled, too", 10, twice) == 20
    assert made == [10, 20, 30, 25, 10]
    assert Again(second.left).each("doubled", {3: 30}, twice) == {3: 60}, "left out once, it is made anew"
