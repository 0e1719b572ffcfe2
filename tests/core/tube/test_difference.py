"""A run beside the one it was begun from: the fewest changes that lead from one to the other."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from server.core.tube.difference import PieceChange, difference
from server.core.tube.run import EndForm, PiecePlan
from tests.core.tube.example_runs import bend, bung, coupler, reducer, sizes, tube

MAKERS = (
    lambda n: tube(n, outside_diameter=60.0, wall=2.0, length=100.0 + 10 * (n % 3)),
    lambda n: coupler(n, bore=60.0, length=76.0),
    lambda n: bend(n, outside_diameter=60.0, bend_angle=90.0, bend_radius=90.0),
    lambda n: reducer(n, bore=60.0, bore_out=70.0),
)
runs = st.lists(st.integers(0, len(MAKERS) - 1), max_size=8).map(
    lambda picks: tuple(MAKERS[pick](number) for number, pick in enumerate(picks, 1))
)


def numbered(*pieces: PiecePlan) -> tuple[PiecePlan, ...]:
    return tuple(replace(piece, number=number) for number, piece in enumerate(pieces, 1))


OLD = numbered(
    coupler(1, bore=60.0, length=76.0),
    tube(2, outside_diameter=60.0, wall=2.0, length=300.0),
    bend(3, outside_diameter=60.0, wall=2.0, bend_angle=90.0, bend_radius=90.0, length=50.0),
    coupler(4, bore=60.0, length=76.0),
)


@given(run=runs)
def test_a_run_does_not_differ_from_itself(run: tuple[PiecePlan, ...]) -> None:
    assert all(step.same for step in difference(run, run))


@given(before=runs, after=runs)
def test_every_piece_of_both_runs_is_told_once_and_in_order(
    before: tuple[PiecePlan, ...], after: tuple[PiecePlan, ...]
) -> None:
    steps = difference(before, after)
    assert [step.before for step in steps if step.before is not None] == [piece.number for piece in before]
    assert [step.after for step in steps if step.after is not None] == [piece.number for piece in after]
    for step in steps:
        if step.before and step.after:
            assert before[step.before - 1].kind is after[step.after - 1].kind


@given(before=runs, after=runs)
def test_what_is_in_one_only_there_is_in_the_other_only_back(
    before: tuple[PiecePlan, ...], after: tuple[PiecePlan, ...]
) -> None:
    def alone(steps: tuple[PieceChange, ...]) -> int:
        return sum(1 for step in steps if step.before is None or step.after is None)

    assert alone(difference(before, after)) == alone(difference(after, before))


def test_a_shorter_tube_is_told_with_both_lengths_and_nothing_else() -> None:
    new = numbered(
        OLD[0], replace(OLD[1], sizes=sizes(outside_diameter=60.0, wall=2.0, length=250.0)), *OLD[2:]
    )
    changed = [step for step in difference(OLD, new) if not step.same]
    assert [(step.before, step.after) for step in changed] == [(2, 2)]
    assert [(size.name, size.before, size.after) for size in changed[0].sizes] == [("length", 0.3, 0.25)]


def test_a_piece_put_between_is_told_as_new_and_the_others_stay_the_same() -> None:
    new = numbered(*OLD[:2], reducer(9, bore=60.0, bore_out=57.0), *OLD[2:])
    changed = [step for step in difference(OLD, new) if not step.same]
    assert [(step.before, step.after, step.kind.value) for step in changed] == [(None, 3, "reducer")]


def test_a_piece_left_out_is_told_by_its_old_number() -> None:
    changed = [step for step in difference(OLD, numbered(OLD[0], *OLD[2:])) if not step.same]
    assert [(step.before, step.after) for step in changed] == [(2, None)]


def test_another_end_material_or_side_port_is_told_in_words() -> None:
    other = replace(
        OLD[1], material="mild steel", outlet_end=EndForm.WELD, bungs=(bung(1, "Gauge", 120.0, 10.0, 0.0),)
    )
    (changed,) = [s for s in difference(OLD, numbered(OLD[0], other, *OLD[2:])) if not s.same]
    told = {word.name: (word.before, word.after) for word in changed.words}
    assert told == {
        "material": ("aluminium", "mild steel"),
        "outlet end": ("bead", "weld"),
        "side ports": ("", "Gauge at 120 mm"),
    }


def test_runs_of_no_pieces_differ_by_all_of_the_other() -> None:
    assert difference((), ()) == ()
    assert [step.after for step in difference((), OLD)] == [1, 2, 3, 4]
