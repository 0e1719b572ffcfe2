"""What tasks and designs call for is counted once, and what was used up is not there any more."""

from datetime import UTC, date, datetime

from server.core.buying.part import OffCutFace, PartFace
from server.core.buying.stock import Supply, supply
from server.core.tube.bill import Item, Stage
from server.core.tube.run import Origin
from server.core.work.causes import WantedPart, part_hold
from server.features.causes.service import held_along
from server.features.designs.service import Bill
from server.features.needs.service import Asking, Listed, Needs, needs

CHARGE = 1
FIT = ((Stage.FIT, CHARGE),)
MAKE = ((Stage.MAKE, CHARGE),)
COUPLER = PartFace(7, 1, "Coupler", "coupler", "buy", "", 900, 4, "", spec="silicone coupler, 63 mm bore")
TUBE = PartFace(8, 1, "Tube", "tube", "buy", "", 900, 1, "", spec="aluminium tube, 63 mm", stock_length=1.0)
FOUR_COUPLERS = Item(COUPLER.spec, "coupler", Stage.FIT, Origin.NEW, count=4)
ONE_CUT = Item(TUBE.spec, "tube", Stage.MAKE, Origin.NEW, count=0, lengths=(0.4,))


def task(
    number: int, stages: tuple[tuple[Stage, int], ...], *, done: bool = False, couplers: int = 0
) -> Asking:
    parts = {COUPLER.id: couplers} if couplers else {}
    return Asking(number, f"Task {number}", CHARGE, done, parts, stages)


def called_for(asking: list[Asking], *items: Item, off_cuts: tuple[OffCutFace, ...] = ()) -> Needs:
    bill = Bill(CHARGE, "Charge pipe", 1, "Run A", items)
    return needs(asking, Listed.of([bill], [COUPLER, TUBE]), off_cuts, {CHARGE: "Charge pipe"})


def there_is(found: Needs, part: PartFace) -> Supply:
    return supply({part.id: part.on_shelf}, [], found.of_tasks, date(2026, 11, 25))[part.id]


def off_cut(length: float, *, used: bool = False) -> OffCutFace:
    return OffCutFace(1, TUBE.id, length, "", datetime(2026, 11, 25, tzinfo=UTC), used)


def test_two_tasks_that_wait_for_the_same_pieces_get_them_once_and_wait_together() -> None:
    found = called_for([task(1, FIT), task(2, FIT)], FOUR_COUPLERS)
    assert there_is(found, COUPLER).short == 0, "four lie there and four are called for"
    assert found.same_pieces == {2: ((1, COUPLER.id),)}


def test_pieces_go_on_to_the_task_that_is_left_when_the_first_is_done() -> None:
    found = called_for([task(1, FIT, done=True), task(2, FIT)], FOUR_COUPLERS)
    assert (there_is(found, COUPLER).in_hand, there_is(found, COUPLER).short) == (4, 0)
    used = called_for([task(1, FIT, done=True), task(2, FIT, done=True)], FOUR_COUPLERS)
    assert there_is(used, COUPLER).in_hand == 0


def test_what_tasks_of_a_subsystem_ask_by_hand_is_what_its_design_asks() -> None:
    found = called_for([task(1, (), couplers=3), task(2, FIT)], FOUR_COUPLERS)
    assert [(need.task_id, need.quantity) for need in found.of_tasks] == [(1, 3), (2, 1)]
    assert sum(want.quantity for want in found.wants) == 4, "the shopping list counts the same"
    assert found.same_pieces == {2: ((1, COUPLER.id),)}, "the one that fits them waits for all four"


def test_what_a_done_task_used_of_a_design_is_not_asked_for_again() -> None:
    found = called_for([task(1, (), couplers=2, done=True), task(2, FIT)], FOUR_COUPLERS)
    assert (there_is(found, COUPLER).in_hand, there_is(found, COUPLER).short) == (2, 0)


def test_an_off_cut_that_a_done_task_left_does_not_bring_back_the_length_it_came_from() -> None:
    found = called_for([task(1, MAKE, done=True)], ONE_CUT, off_cuts=(off_cut(0.59),))
    assert there_is(found, TUBE).in_hand == 0


def test_a_done_task_that_used_up_an_off_cut_used_no_length() -> None:
    found = called_for([task(1, MAKE, done=True)], ONE_CUT, off_cuts=(off_cut(0.5, used=True),))
    assert there_is(found, TUBE).in_hand == 1


def test_an_off_cut_that_is_used_up_is_no_help_to_a_task_that_is_open() -> None:
    found = called_for([task(1, MAKE)], ONE_CUT, off_cuts=(off_cut(0.5, used=True),))
    assert [(need.part_id, need.quantity) for need in found.of_tasks] == [(TUBE.id, 1)]


def test_a_salvaged_piece_is_not_bought_with_the_new_ones_of_its_size() -> None:
    salvaged = Item(COUPLER.spec, "coupler", Stage.FIT, Origin.SALVAGED)
    found = called_for([], salvaged, FOUR_COUPLERS)
    assert {want.origin: want.quantity for want in found.wants} == {"salvage": 1, "buy": 4}
    unlisted = needs(
        [], Listed.of([Bill(CHARGE, "", 1, "", (salvaged, FOUR_COUPLERS))], []), [], {CHARGE: ""}
    )
    assert {want.origin: want.quantity for want in unlisted.wants} == {"salvage": 1, "buy": 4}


def test_whoever_waits_for_the_same_pieces_is_held_by_the_same_part() -> None:
    found = called_for([task(1, FIT), task(2, FIT)], FOUR_COUPLERS)
    short = part_hold(WantedPart(COUPLER.id, COUPLER.name, 4, 4, None, 0, "buy", ""))
    assert short is not None
    assert held_along(found.same_pieces, {(1, COUPLER.id): short}) == [(2, short)]
    assert held_along(found.same_pieces, {}) == [], "all of them are here"
