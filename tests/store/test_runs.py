"""The way from a piece's row to the sizes and doubts that the checks see."""

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.rule import Verdict
from server.core.tube.run import PiecePlan, Place
from server.features.runs.forms import AS_SOLD, RECKONED
from server.features.runs.store import RunRows, run_plan
from server.features.runs.tables import Joint, Piece
from tests.core.checks.runs import MM, port


def tube_row(doubts: tuple[float, float]) -> Piece:
    return Piece(
        id=1,
        design_id=1,
        position=0,
        kind="tube",
        material="aluminium",
        outside_diameter=60.0 * MM,
        wall=1.5 * MM,
        length=300.0 * MM,
        doubt=doubts[0],
        length_doubt=doubts[1],
    )


def planned(row: Piece) -> PiecePlan:
    return run_plan(RunRows(pieces=(row,)), Place.CHARGE_PIPE, None, None, (), False).pieces[0]


def test_a_wall_as_sold_is_not_in_doubt_by_as_much_as_a_diameter() -> None:
    sizes = planned(tube_row(AS_SOLD)).sizes
    assert sizes["outside_diameter"].doubt == AS_SOLD[0]
    assert 0.03 * MM < sizes["wall"].doubt < 0.1 * MM


def test_a_reckoned_wall_is_in_doubt_by_the_next_usual_wall_and_not_by_more_than_itself() -> None:
    wall = planned(tube_row(RECKONED)).sizes["wall"]
    assert 0.2 * MM < wall.doubt < wall.value


def test_a_tube_bought_in_the_size_of_both_ports_holds_its_bore() -> None:
    rows = RunRows(
        pieces=(tube_row(AS_SOLD),),
        joints=(Joint(id=1, design_id=1, kind="weld"), Joint(id=2, design_id=1, piece_id=1, kind="weld")),
    )
    ends = port(11, "Compressor outlet", 60.0), port(12, "Cooler inlet", 60.0)
    answers = answer(Case(run_plan(rows, Place.CHARGE_PIPE, *ends, (), False)))
    found = {check.rule.code: check.verdict for check in answers.checks}
    assert found["bore-held"] is Verdict.GO


def test_a_half_stands_for_the_whole_pipe_once_its_other_half_was_taken_out() -> None:
    first, second = tube_row(AS_SOLD), tube_row(AS_SOLD)
    second.id, second.cut_from_id, second.whole_length = 2, 1, 0.5
    both = run_plan(RunRows(pieces=(first, second)), Place.CHARGE_PIPE, None, None, (), False)
    alone = run_plan(RunRows(pieces=(second,), removed=(first,)), Place.CHARGE_PIPE, None, None, (), False)
    assert [piece.cut_from_id for piece in both.pieces] == [None, 1]
    assert [(piece.cut_from_id, piece.whole_length) for piece in alone.pieces] == [(None, 0.5)]


def test_how_trying_on_a_borrowed_part_went_goes_with_the_piece_that_is_linked_to_it() -> None:
    row = tube_row(AS_SOLD)
    row.part_id = 7
    tried = {7: "does not", 8: "fits"}
    plan = run_plan(RunRows(pieces=(row,)), Place.CHARGE_PIPE, None, None, (), False, tried)
    assert plan.pieces[0].tried == "does not"
