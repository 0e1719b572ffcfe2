"""A route drawn small: which way is up, and which is left, by hand."""

from server.web.route_sketch import HIGH, WIDE, Shadow, route_sketch

LINE = ((0.5, 0.1, 0.0), (0.3, 0.1, 0.0), (0.1, -0.1, 0.2))
"""From the front, low and left, to the rear, high and right."""


def test_the_front_is_to_the_left_up_is_up_and_left_is_at_the_bottom() -> None:
    side, above = route_sketch(LINE, 0.06, ()).views
    assert side.start[0] < side.end[0]
    assert side.start[1] > side.end[1]  # it climbs; a sheet counts downwards
    assert above.start[1] > above.end[1]  # it goes to the right, which is away from the bottom


def test_both_views_stay_on_their_half_of_the_sheet() -> None:
    for at, view in enumerate(route_sketch(LINE, 0.06, ()).views):
        for x, y in (view.start, view.end):
            assert at * WIDE < x < (at + 1) * WIDE
            assert 0.0 < y < HIGH


def test_a_box_is_seen_by_its_outline_and_a_bar_by_its_line() -> None:
    box = tuple((x, y, z) for x in (0.2, 0.4) for y in (0.0, 0.2) for z in (0.0, 0.1))
    bar = ((0.2, 0.0, 0.0), (0.4, 0.0, 0.0))
    side, _ = route_sketch(LINE, 0.06, (Shadow(box, 0.0, solid=True), Shadow(bar, 0.02, solid=False))).views
    assert side.shadows[0].path.count("L") == 3  # eight corners, four of them on the outline
    assert side.shadows[1].path.count("L") == 1
    assert side.shadows[1].width > 0.0
