"""Places chained over ports: worked by hand, tapes by Pythagoras."""

import math

import numpy as np
import pytest

from server.core.measure.estimate import Estimate
from server.core.tube.space.siting import Sight, Sights, Way, found_poses, leads_back, meetings


def point(forward: float, left: float, up: float, before: str = "") -> dict[str, Estimate]:
    named = zip(("forward", "left", "up"), (forward, left, up), strict=True)
    return {before + name: Estimate(value, 0.001) for name, value in named}


OFFSETS = Sight(Way.OFFSETS, point(0.3, 0.2, 0.1))
DOWN = Sight(Way.WORDS, {"doubt": Estimate(0.05)}, {"level": "forward", "tilt": "straight down"})


def test_a_port_by_offsets_and_words_has_a_pose() -> None:
    pose = found_poses({1: Sights(OFFSETS, DOWN)})[1].pose
    assert pose is not None
    assert np.allclose(pose.place.point, [0.3, 0.2, 0.1])
    assert np.allclose(pose.facing.way, [0.0, 0.0, -1.0])


def test_a_port_without_a_direction_has_a_place_and_no_pose() -> None:
    found = found_poses({1: Sights(OFFSETS)})[1]
    assert found.place is not None
    assert found.pose is None


def test_ports_beside_each_other_are_chained_with_their_doubts() -> None:
    beside = {n: Sights(Sight(Way.BESIDE, point(0.1, 0.0, 0.0), beside=n - 1)) for n in (2, 3)}
    found = found_poses({1: Sights(OFFSETS), **beside})
    assert found[3].place is not None
    assert np.allclose(found[3].place.point, [0.5, 0.2, 0.1])
    doubts = [one.place.doubt[0] for one in found.values() if one.place is not None]
    assert doubts == sorted(doubts)


def test_a_ring_of_ports_has_no_place_and_is_told_beforehand() -> None:
    ring = {
        1: Sights(Sight(Way.BESIDE, point(0.1, 0.0, 0.0), beside=2)),
        2: Sights(Sight(Way.BESIDE, point(0.1, 0.0, 0.0), beside=1)),
    }
    assert all(found.place is None for found in found_poses(ring).values())
    wanted = ring[1].place
    assert wanted is not None
    assert leads_back(1, wanted, {2: ring[2]})
    assert not leads_back(1, wanted, {2: Sights(OFFSETS)})


def tapes(side: str, **hooks: str) -> Sight:
    """3-4-5 triangles from the datum, 0.4 m forward and 0.3 m left of it, to a point 0.5 m away from each."""
    numbers = {f"tape{n}": Estimate(0.5, 0.0005) for n in (1, 2, 3)}
    numbers |= point(0.6, 0.0, 0.0, "hook2_") | point(0.0, 0.6, 0.0, "hook3_")
    said = {"hook1": "datum", "hook2": "typed", "hook3": "typed", "side": side} | hooks
    return Sight(Way.TAPES, numbers, said)


def test_three_tapes_leave_two_places_and_the_side_says_which() -> None:
    height = math.sqrt(0.25 - 0.18)
    above, below = (found_poses({1: Sights(tapes(side))})[1].place for side in ("first", "second"))
    assert above is not None
    assert below is not None
    assert np.allclose(above.point, [0.3, 0.3, height])
    assert np.allclose(below.point, [0.3, 0.3, -height])


def test_a_tape_may_be_hooked_at_another_port() -> None:
    sight = tapes("first", hook2="7")
    known = {7: Sights(Sight(Way.OFFSETS, point(0.6, 0.0, 0.0)))}
    place = found_poses({1: Sights(sight), **known})[1].place
    typed = found_poses({1: Sights(tapes("first"))})[1].place
    assert place is not None
    assert typed is not None
    assert np.allclose(place.point, typed.point)
    assert np.allclose(place.doubt, typed.doubt)
    assert sight.rests_on == {7}


def test_a_tape_hooked_at_a_port_without_a_place_tells_nothing() -> None:
    assert meetings(tapes("first", hook2="7"), {7: None}) is None
    assert found_poses({1: Sights(tapes("first", hook2="7"))})[1].place is None


def test_heading_and_dip_by_gauge() -> None:
    numbers = {"heading": Estimate(math.pi / 2.0, 0.01), "dip": Estimate(math.radians(30.0), 0.01)}
    facing = found_poses({1: Sights(None, Sight(Way.GAUGE, numbers))})[1].facing
    assert facing is not None
    assert facing.way == pytest.approx([0.0, math.sqrt(0.75), -0.5])
