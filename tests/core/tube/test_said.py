"""What is said of a piece beside its sizes: on the parts list, on the drawing, in the drawing's words."""

from dataclasses import replace

import pytest

from server.core.tube.drawing import draw
from server.core.tube.run import Offered, Origin, PieceKind, PiecePlan
from server.core.tube.said import parts_list_words, usual_end, usual_material, usual_origin
from server.core.units import System
from tests.core.tube.example_runs import coupler, run, tube

TUBE = tube(1, outside_diameter=60.0, wall=2.0, length=120.0)
HOSE = coupler(2, bore=60.0, length=76.0)


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        (TUBE, "60 mm outside × 2 mm wall, 120 mm long"),
        (replace(TUBE, origin=Origin.IN_GARAGE), "in the garage, 60 mm outside"),
        (replace(TUBE, origin=Origin.BORROWED, tried="fits"), "borrowed (fits), 60 mm outside"),
        (replace(TUBE, whole_length=0.5), "cut from a longer pipe, 60 mm outside"),
        (
            replace(HOSE, origin=Origin.MOCK_UP, offered=Offered.SHORT),
            "mock-up, offered up: it is short, bore",
        ),
    ],
)
def test_the_parts_list_says_first_that_a_piece_is_not_simply_bought(piece: PiecePlan, words: str) -> None:
    assert parts_list_words(piece, System.metric).startswith(words)


def test_a_pipe_named_as_salvaged_is_not_said_to_be_salvaged_twice() -> None:
    pipe = replace(TUBE, kind=PieceKind.SALVAGED, name="salvaged pipe", origin=Origin.SALVAGED)
    assert "salvaged" not in parts_list_words(pipe, System.metric)


def test_a_mock_up_is_drawn_in_its_own_dashes_and_said_in_notes_and_description() -> None:
    pieces = (TUBE, replace(HOSE, origin=Origin.MOCK_UP))
    drawing = draw(run(pieces))
    walls = [path.css for path in drawing.paths if path.css.startswith("wall")]
    assert sorted(css for css in walls if "mock-up" in css) == ["wall hose mock-up"]
    assert drawing.notes[0] == "Piece 2 is a mock-up: drawn in wide dashes until a real piece stands there."
    assert "2 coupler, straight, 76 mm long, mock-up" in drawing.description


def test_a_run_without_mock_ups_is_drawn_as_before() -> None:
    drawing = draw(run((TUBE, HOSE)))
    assert not any("mock-up" in path.css for path in drawing.paths)
    assert not any("mock-up" in note for note in drawing.notes)


def test_what_is_taken_until_somebody_says_otherwise() -> None:
    assert (usual_material(PieceKind.FLEX), usual_material(PieceKind.TUBE)) == ("304 stainless", "aluminium")
    assert (usual_end(PieceKind.HOSE).value, usual_end(PieceKind.BEND).value) == ("cuff", "plain")
    assert {usual_origin(kind) for kind in PieceKind} == {Origin.NEW, Origin.SALVAGED}
    assert usual_origin(PieceKind.SALVAGED) is Origin.SALVAGED
