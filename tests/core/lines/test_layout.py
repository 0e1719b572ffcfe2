"""The drawing of a line map: nothing overlaps, every line ends where it belongs, whatever the car.

What must hold is geometry: each claim is looked at from the places alone, not by how they were found.
"""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations, pairwise
from random import Random

import pytest

from server.core.lines.chart import Chart, charts
from server.core.lines.drawing import LETTERS, Picture, Press, Seen, draw, fitted, press_of
from server.core.lines.layout import Box, Laid, lay_out
from server.core.lines.ledger import Device, LineMap, Medium
from server.core.lines.sheets import MOST, sheets
from server.core.lines.solve import Flow, LineFlow, Solved
from server.core.lines.states import Kind, State
from tests.line_maps import Sketch, right_car

LEAST_TAP = 48.0
"""A tap target [px]; a sheet unit is a little less than a pixel on a phone 390 px wide."""


def tangle(lines: int, seed: int) -> LineMap:
    """So many hoses between spaces and devices drawn by lot, some hanging loose, some points open."""
    random, car = Random(seed), right_car()
    names = list(car.regions)
    while len(car.lines) < lines:
        number = len(car.lines)
        car.space(f"space {number}", random.choice((Kind.JUNCTION, Kind.GAUGE, Kind.CRANKCASE)))
        names.append(f"space {number}")
        one, other = random.choices(names, k=2)
        car.hose(f"hose {number}", one, other, Medium.CONTROL)
        if number % 7 == 0:
            car.loosen(f"hose {number}", random.randrange(2))
        if number % 5 == 0:
            three = random.choices(names, k=3)
            car.valve(f"valve {number}", Device.THREE_WAY, *three)
            car.valve(f"check {number}", Device.CHECK, *three[:2], forward=random.choice((True, None)))
    return car.map()


def chain(lines: int) -> LineMap:
    """One hose after the other, far deeper than any car's."""
    car = Sketch()
    car.space("start")
    for number in range(lines):
        car.space(f"space {number}", Kind.GAUGE)
        before = f"space {number - 1}" if number else "start"
        car.hose(f"hose {number}", before, f"space {number}", Medium.CONTROL)
    return car.map()


MAPS: dict[str, Callable[[], LineMap]] = {
    "a right car": right_car().map,
    "forty lines by lot": lambda: tangle(40, 1),
    "two hundred lines by lot": lambda: tangle(200, 2),
    "the most a ledger takes, in a row": lambda: chain(400),
}


@pytest.fixture(params=MAPS, scope="module")
def line_map(request: pytest.FixtureRequest) -> LineMap:
    made: LineMap = MAPS[request.param]()
    return made


@pytest.mark.parametrize("columns", [2, 5])
def test_no_two_boxes_overlap_and_no_line_runs_through_one(line_map: LineMap, columns: int) -> None:
    for chart in charts(line_map):
        laid = lay_out(chart, columns)
        boxes = sorted(laid.boxes, key=lambda box: box.y)
        for place, box in enumerate(boxes):
            for other in boxes[place + 1 :]:
                if other.y >= box.y + box.height:
                    break
                assert box.x + box.width <= other.x or other.x + other.width <= box.x, (box, other)
            for run in laid.runs:
                if box.x < run.x < box.x + box.width:
                    assert run.bottom <= box.y or run.top >= box.y + box.height, (box, run)
        assert all(box.x >= 0.0 and box.x + box.width <= laid.width for box in boxes)
        assert max(box.y + box.height for box in boxes) <= laid.height


@pytest.mark.parametrize("columns", [2, 5])
def test_every_line_is_drawn_once_and_ends_at_its_nodes(line_map: LineMap, columns: int) -> None:
    for chart in charts(line_map):
        laid = lay_out(chart, columns)
        assert sorted(run.key for run in laid.runs) == sorted(edge.key for edge in chart.edges)
        edges, boxes = {edge.key: edge for edge in chart.edges}, laid.boxes
        for run in laid.runs:
            edge = edges[run.key]
            upper, lower = (edge.one, edge.other) if run.down else (edge.other, edge.one)
            assert upper in {box.key for box in boxes if _over(box, run.x, box.y + box.height, run.top)}
            assert lower in {box.key for box in boxes if _over(box, run.x, box.y, run.bottom)}


def _over(box: Box, x: float, edge: float, y: float) -> bool:
    return box.x <= x <= box.x + box.width and edge == y


def test_every_node_is_drawn_whole_once_and_lines_are_large_enough_to_tap(line_map: LineMap) -> None:
    for chart in charts(line_map):
        laid = lay_out(chart)
        whole = [box.key for box in laid.boxes if box.part in {"bar", "box"}]
        assert sorted(whole) == sorted(node.key for node in chart.nodes if node.key in whole)
        assert {node.key for node in chart.nodes if not node.anew} <= set(whole)
        lines = [run for run in laid.runs if run.key.startswith("line.")]
        assert all(run.bottom - run.top >= LEAST_TAP and run.right - run.left >= LEAST_TAP for run in lines)
        for one, other in combinations(lines, 2):
            apart = one.right <= other.left or other.right <= one.left
            assert apart or one.bottom <= other.top or other.bottom <= one.top


def test_no_two_labels_overlap(line_map: LineMap) -> None:
    """Each word takes as much room as it is reckoned with in the widest usual typeface."""
    for picture in _pictures(line_map):
        found = []
        for item in picture.items:
            for word in item.words:
                size = {"head": 15.0, "small": 12.0, "passed": 12.0}.get(word.css, 13.0)
                wide = LETTERS[size] * size * len(word.text)
                left = word.x - {"number": wide / 2, "letter": wide / 2, "passed": wide}.get(word.css, 0.0)
                assert left >= 0.0, word
                assert left + wide <= picture.width, word
                found.append((word.y - 0.75 * size, left, left + wide, word.y + 0.15 * size, word.text))
        found.sort()
        for place, (_, left, right, foot, text) in enumerate(found):
            for top, other_left, other_right, _, other in found[place + 1 :]:
                if top >= foot:
                    break
                assert right <= other_left or other_right <= left, (text, other)


def _pictures(line_map: LineMap) -> list[Picture]:
    """With the longest words that there are beside each thing."""
    levels = {region.id: (-8, 10) for region in line_map.regions}
    flows = {line.id: LineFlow(Flow.NOT_KNOWN) for line in line_map.lines}
    seen = Seen(line_map, levels, flows, {f"line.{line.id}": "AB" for line in line_map.lines})
    return [draw(chart, lay_out(chart), seen) for chart in charts(line_map)]


def test_a_word_more_leaves_the_layout_as_it_is() -> None:
    """What hangs on what decides alone, so that one layout serves every state and every name."""
    line_map = right_car().map()
    renamed = replace(
        line_map, lines=tuple(replace(line, name=f"{line.name} new", tag=0) for line in line_map.lines)
    )
    assert charts(renamed) == charts(line_map)
    assert _laid(renamed) == _laid(line_map)


def _laid(line_map: LineMap) -> list[Laid]:
    lay_out.cache_clear()
    return [lay_out(chart) for chart in charts(line_map)]


def test_a_junction_at_a_valve_is_no_box_of_its_own() -> None:
    car = right_car()
    gas: Chart = charts(car.map())[0]
    (servo,) = (edge for edge in gas.edges if edge.key == f"line.{car.lines['servo hose'].id}")
    valve, space = car.valves["servo valve"].id, car.regions["servo"].id
    assert {servo.one, servo.other} == {f"valve.{valve}", f"region.{space}"}


@pytest.mark.parametrize(
    ("state", "line", "press"),
    [
        (State.BOOST, "gauge hose", Press.ABOVE),
        (State.IDLE, "gauge hose", Press.BELOW),
        (State.HOT_SOAK, "gauge hose", Press.LEVEL),
        (State.IDLE, "idle inlet hose", Press.UNSURE),
    ],
)
def test_pressure_as_a_gauge_on_the_line_would_show_it(state: State, line: str, press: Press) -> None:
    """A manifold: vacuum at idle, boost under boost, the open air's as it stands. Common practice, no
    source.
    """
    car = right_car()
    line_map = car.map()
    solved = Solved(line_map)
    levels = {region.id: solved.level(region.id, state) for region in line_map.regions}
    assert press_of(line_map, levels, car.lines[line]) is press


def test_words_are_broken_and_shortened_to_their_room() -> None:
    assert fitted("Purge hose to manifold", 120.0, 13.0, 2) == ("Purge hose to", "manifold")
    assert fitted("Purge hose to manifold", 120.0, 13.0) == ("Purge hose to…",)
    assert fitted("W" * 80, 60.0, 13.0, 2) == ("WWWWWW…",)


@pytest.mark.parametrize("name", MAPS)
def test_sheets_show_everything_once_and_part_no_line_from_the_bar_it_ends_on(name: str) -> None:
    laid = [lay_out(chart) for chart in charts(MAPS[name]())]
    cut = sheets(laid)
    for number, whole in enumerate(laid):
        mine = [piece.laid for sheet in cut for piece in sheet if piece.number == number]
        assert sum((one.boxes for one in mine), ()) == tuple(sorted(whole.boxes, key=mine_first(mine)))
        assert sum(len(one.runs) for one in mine) == len(whole.runs)
        assert sum(one.height for one in mine) == pytest.approx(whole.height)
        for one in mine:
            assert all(run.bottom < one.top + one.height for run in one.runs)
    heights = [sum(piece.laid.height for piece in sheet) for sheet in cut]
    assert all(before + after > MOST for before, after in pairwise(heights))


def mine_first(pieces: list[Laid]) -> Callable[[Box], int]:
    """The piece that a box stands on."""
    return lambda box: [one.top <= box.y < one.top + one.height for one in pieces].index(True)
