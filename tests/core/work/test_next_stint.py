"""What to do in the next stint: against every choice there is on small cases, and what the list says."""

import random
from dataclasses import replace
from itertools import combinations

import pytest

from server.core.work.next_stint import (
    BEGUN_SHARE,
    LEAST_GO,
    MOST_ASKED,
    Chosen,
    Circumstances,
    Piece,
    suggest,
)
from server.core.work.pace import pace
from server.core.work.tasks import ON_STANDS, ON_WHEELS

HOUR = 60


def ids(pieces: list[Piece], given: Circumstances) -> list[int]:
    return [one.id for one in suggest(pieces, given).chosen]


def turns(order: list[Piece], given: Circumstances) -> int:
    """How often the car is made to stand otherwise when the work is done in this order."""
    stands, count = given.stands == ON_STANDS, 0
    for one in order:
        if one.car_state in (ON_STANDS, ON_WHEELS) and stands != (one.car_state == ON_STANDS):
            stands, count = not stands, count + 1
    return count


def one_turn_will_do(some: tuple[Piece, ...], given: Circumstances) -> int | None:
    """0 or 1 turns of the car that do for all of these, whatever the order; None where two are needed."""
    late: set[int] = set()
    for _ in some:
        late |= {one.id for one in some if given.other_way(one) or late.intersection(one.after)}
    asks_now = [one for one in some if one.car_state in (ON_STANDS, ON_WHEELS) and not given.other_way(one)]
    return None if any(one.id in late for one in asks_now) else int(bool(late))


def most_worth(pieces: list[Piece], given: Circumstances) -> float:
    """The most that any choice is worth, by looking at all of them."""
    fitting = [one for one in pieces if not given.why_not(one)]
    best = 0.0
    for count in range(len(fitting) + 1):
        for done in combinations(fitting, count):
            finished = {one.id for one in done}
            if not all(finished.issuperset(one.after) for one in done):
                continue
            for begun in (None, *(one for one in fitting if one.splits and one.id not in finished)):
                if begun is not None and not finished.issuperset(begun.after):
                    continue
                every = (*done, *([begun] if begun else []))
                turned = one_turn_will_do(every, given)
                if turned is None:
                    continue
                left = given.minutes - turned * given.setting_up - sum(one.minutes for one in done)
                worth = sum(one.worth for one in done)
                if left < 0:
                    continue
                if begun is not None:
                    if not LEAST_GO <= left < begun.minutes:
                        continue
                    worth += BEGUN_SHARE * begun.worth * left / begun.minutes
                best = max(best, worth)
    return best


def worth_of(pieces: list[Piece], chosen: tuple[Chosen, ...]) -> float:
    by_id = {one.id: one for one in pieces}
    shares = (
        by_id[one.id].worth * (BEGUN_SHARE * one.minutes / by_id[one.id].minutes if one.rest else 1.0)
        for one in chosen
    )
    return sum(shares)


def drawn(luck: random.Random) -> tuple[list[Piece], Circumstances]:
    pieces: list[Piece] = []
    for at in range(1, luck.randint(1, 7) + 1):
        earlier = [one.id for one in pieces if luck.random() < 0.25]
        pieces.append(
            Piece(
                at,
                luck.randint(1, 24) * 5,
                tuple(earlier),
                luck.randint(0, 5),
                luck.choice((0, 0, 60)),
                luck.random() < 0.1,
                luck.random() < 0.6,
                luck.choice(("any", "any", ON_STANDS, ON_WHEELS)),
                luck.choice((1, 1, 1, 2)),
                luck.choice(("", "", "", "welds")),
                luck.random() < 0.2,
                luck.random() < 0.1,
            )
        )
    given = Circumstances(
        luck.randint(3, 40) * 5,
        luck.choice((ON_STANDS, ON_WHEELS)),
        luck.choice((0, 20, 35)),
        luck.choice((0, 25)),
        luck.choice(((), (("welds",),), (("holds",),))),
        luck.random() < 0.3,
        luck.random() < 0.3,
    )
    return pieces, given


def test_no_choice_is_worth_more_on_120_drawn_cases() -> None:
    luck = random.Random(40)
    for _ in range(120):
        pieces, given = drawn(luck)
        found = suggest(pieces, given)
        assert found.exact
        assert worth_of(pieces, found.chosen) == pytest.approx(most_worth(pieces, given)), (pieces, given)
        by_id = {one.id: one for one in pieces}
        order = [by_id[one.id] for one in found.chosen]
        assert turns(order, given) == sum(one.setting_up > 0 for one in found.chosen) or not given.setting_up
        assert turns(order, given) <= 1
        assert found.spare >= 0
        seen: set[int] = set()
        for one in order:
            assert seen.issuperset(one.after)
            seen.add(one.id)
        shuffled = luck.sample(pieces, len(pieces))
        assert suggest(shuffled, given) == found


def test_forty_minutes_go_to_what_frees_most() -> None:
    assert ids([Piece(1, 30, slack=60), Piece(2, 40, frees=4, slack=60)], Circumstances(40)) == [2]


def test_what_sets_the_date_comes_before_what_does_not() -> None:
    assert ids([Piece(1, 30, slack=60), Piece(2, 30, slack=0)], Circumstances(60)) == [2, 1]


def test_the_car_is_raised_once_and_what_it_is_raised_for_stands_together() -> None:
    pieces = [
        Piece(1, 30, car_state=ON_STANDS),
        Piece(2, 30, car_state=ON_WHEELS),
        Piece(3, 30, car_state=ON_STANDS),
    ]
    found = suggest(pieces, Circumstances(150, ON_WHEELS, raising=40, lowering=30)).chosen
    assert [(one.id, one.setting_up) for one in found] == [(2, 0), (1, 40), (3, 0)]


def test_the_car_stays_as_it_is_where_raising_it_would_eat_the_time() -> None:
    pieces = [Piece(1, 30, car_state=ON_STANDS, splits=False), Piece(2, 30, slack=90)]
    assert ids(pieces, Circumstances(60, ON_WHEELS, raising=40)) == [2]


def test_what_needs_who_is_not_there_or_makes_noise_is_left_out_with_its_reason() -> None:
    pieces = [
        Piece(1, 30, skill="welds stainless"),
        Piece(2, 30, hands=2),
        Piece(3, 30, loud=True),
        Piece(4, 30, outside=True),
    ]
    found = suggest(pieces, Circumstances(120, quiet=True, wet=True))
    assert found.chosen == ()
    assert [why for _, why in found.left_out] == [
        "needs a helper who welds stainless",
        "needs 2 people",
        "makes noise",
        "is outside",
    ]
    assert len(suggest(pieces, Circumstances(120, helpers=(("welds",),))).chosen) == 4


def test_long_work_is_begun_only_where_it_may_be_split() -> None:
    long = Piece(1, 3 * HOUR)
    [begun] = suggest([long], Circumstances(HOUR)).chosen
    assert (begun.minutes, begun.rest) == (60, 120)
    assert "can be begun: 120 min are left then" in begun.why
    assert ids([replace(long, splits=False)], Circumstances(HOUR)) == []
    assert ids([long], Circumstances(LEAST_GO - 1)) == []


def test_what_becomes_ready_on_the_way_is_offered_behind_what_makes_it_ready() -> None:
    assert ids([Piece(2, 20, after=(1,), frees=5), Piece(1, 20)], Circumstances(40)) == [1, 2]


def test_many_pieces_are_weighed_within_bounds_and_the_list_fits() -> None:
    pieces = [Piece(at, 7 + at % 11, frees=at % 5, slack=at % 3) for at in range(1, 120)]
    found = suggest(pieces, Circumstances(4 * HOUR))
    assert 0 <= found.spare < 20


@pytest.mark.parametrize(
    ("timed", "factor"),
    [
        ([], 1.0),
        ([(30, 60)] * 5, 2**0.5),
        ([(30, 60), (60, 30)], 1.0),
        ([(60, 90)] * 95, 1.5**0.95),
        ([(30, 4)], 1.0),
    ],
)
def test_the_pace_is_the_typical_ratio_drawn_towards_one(
    timed: list[tuple[float, float]], factor: float
) -> None:
    """Worked by hand: the logarithm of the ratio times n / (n + 5)."""
    assert pace(timed).factor == pytest.approx(factor)


def test_what_was_not_weighed_leaves_it_open_whether_a_better_list_exists() -> None:
    many = [Piece(number, 25 + number, frees=number % 7) for number in range(1, MOST_ASKED + 2)]
    assert not suggest(many, Circumstances(60)).exact
    assert suggest(many[:6], Circumstances(60)).exact
