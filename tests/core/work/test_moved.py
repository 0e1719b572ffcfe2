"""What moved a date: two outlooks of a build side by side. Expected by hand, from the definition."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from server.core.work.moved import Change, Outlook, Parcel, Piece, Slot, What, changes, reasons

AT = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
FRI, SAT, LATER = date(2026, 11, 27), date(2026, 12, 5), date(2026, 12, 12)
WELD, PAINT = 1, 2
BEFORE = Outlook(
    AT,
    SAT,
    chain=(WELD,),
    work={WELD: Piece("Weld it", 60, AT + timedelta(days=9)), PAINT: Piece("Paint it", 30)},
    parcels={7: Parcel("76 mm bend", FRI, holds=(WELD,)), 8: Parcel("Paint", FRI, holds=(PAINT,))},
    visits={3: Slot("The welder", SAT)},
    hours={FRI: 120, SAT: 240},
)
AN_HOUR = timedelta(hours=1)


def now(**changed: object) -> Outlook:
    return replace(BEFORE, at=AT + AN_HOUR, **changed)  # type: ignore[arg-type]


def test_nothing_changed_is_nothing_told() -> None:
    assert changes(BEFORE, now()) == ()
    assert reasons(BEFORE, now()) == ()


def test_a_parcel_that_comes_later_is_the_reason_where_it_holds_what_sets_the_date() -> None:
    parcels = {7: Parcel("76 mm bend", SAT, True, (WELD,)), 8: Parcel("Paint", SAT, holds=(PAINT,))}
    after = now(finish=LATER, parcels=parcels)
    assert reasons(BEFORE, after) == (
        Change(What.COMES_LATER, 7, "76 mm bend", FRI, SAT, bears=True, late=True),
    )
    assert [one.id for one in changes(BEFORE, after)] == [7, 8]


def test_where_nothing_on_the_chain_changed_all_that_fits_the_way_is_told() -> None:
    after = now(finish=LATER, work={**(BEFORE.work or {}), PAINT: Piece("Paint it", 90)})
    assert reasons(BEFORE, after) == (Change(What.LONGER, PAINT, "Paint it", 30, 90),)


def test_what_brings_it_forward_is_not_told_as_the_reason_for_a_later_date() -> None:
    done = now(work={PAINT: Piece("Paint it", 30)})
    assert reasons(BEFORE, replace(done, finish=LATER), done={WELD}) == ()
    [told] = reasons(BEFORE, replace(done, finish=FRI), done={WELD})
    assert (told.what, told.name) == (What.DONE, "Weld it")
    [gone] = reasons(BEFORE, replace(done, finish=FRI))
    assert gone.what is What.GONE


def test_a_task_that_the_plan_had_done_by_now_and_is_not_is_a_reason() -> None:
    work = {WELD: Piece("Weld it", 60, AT + timedelta(minutes=30)), PAINT: Piece("Paint it", 30)}
    after = now(finish=LATER)
    [told] = reasons(replace(BEFORE, work=work), after)
    assert (told.what, told.was) == (What.NOT_DONE, AT.date())


@pytest.mark.parametrize(
    ("after", "what"),
    [
        (now(finish=LATER, visits={}), What.NO_VISIT),
        (now(finish=LATER, hours={FRI: 120, SAT: 60}), What.FEWER_HOURS),
        (now(finish=FRI, hours={FRI: 120, SAT: 300}), What.MORE_HOURS),
        (now(finish=FRI, visits={3: Slot("The welder", FRI)}), What.VISIT),
        (now(finish=LATER, visits={3: Slot("The welder", LATER)}), What.NO_VISIT),
        (now(finish=LATER, work={**(BEFORE.work or {}), 9: Piece("Grind it", 20)}), What.ADDED),
        (now(finish=FRI, parcels={8: Parcel("Paint", FRI, holds=(PAINT,))}), What.HERE),
        (now(finish=None, parcels={**(BEFORE.parcels or {}), 9: Parcel("Nut", SAT)}), What.AWAITED),
    ],
)
def test_visits_hours_and_new_things_move_it_too(after: Outlook, what: What) -> None:
    assert [one.what for one in reasons(BEFORE, after)] == [what]


def test_a_visit_that_is_over_and_days_that_only_one_of_them_knows_are_no_change() -> None:
    after = replace(BEFORE, at=AT + timedelta(days=11), visits={}, hours={LATER: 120}, parcels=BEFORE.parcels)
    assert [one.what for one in changes(BEFORE, after)] == [What.NOT_DONE]
