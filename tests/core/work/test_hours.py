"""Stints of the week, exceptions and visits as dated blocks; the days on which the clocks change."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from server.core.work.hours import (
    Hours,
    Span,
    Visit,
    blocks,
    minutes_between,
    noise_allowed,
    noise_blocks,
    skilled,
    windows,
)
from server.core.work.plan.problem import Window

PARIS = ZoneInfo("Europe/Paris")
MONDAY = date(2026, 11, 23)
EVENING = Span(18 * 60, 21 * 60)
WELDER = Visit(1, 1, "Jo", ("welds stainless",), date(2026, 11, 28), Span(9 * 60, 15 * 60))


def told(hours: Hours, days: int = 7) -> list[str]:
    return [f"{one.start:%a %H:%M}-{one.end:%H:%M}" for one in blocks(hours, PARIS, MONDAY, days)]


def test_weekly_stints_come_each_on_their_weekday() -> None:
    hours = Hours(weekly=((1, EVENING), (3, EVENING)))
    assert told(hours, 14) == [f"{day} 18:00-21:00" for day in ("Tue", "Thu", "Tue", "Thu")]


def test_a_day_off_leaves_the_weekly_one_out_and_an_extra_one_stands() -> None:
    off = frozenset({date(2026, 11, 24)})
    hours = Hours(weekly=((1, EVENING),), extra=((date(2026, 11, 28), Span(480, 720)),), off=off)
    assert told(hours) == ["Sat 08:00-12:00"]


def test_a_visit_is_a_stint_and_is_merged_with_one_that_it_overlaps() -> None:
    hours = Hours(weekly=((5, Span(14 * 60, 18 * 60)),), visits=(WELDER,))
    [saturday] = blocks(hours, PARIS, MONDAY, 7)
    assert (saturday.minutes, saturday.visits) == (9 * 60, (WELDER,))


@pytest.mark.parametrize(
    ("own", "asked", "able"),
    [
        ("welds", "welds the intake's metal", True),
        ("Welds stainless", "welds stainless", True),
        ("welds stainless", "welds aluminium", False),
        ("weld", "welds stainless", False),
        ("welds", "", True),
    ],
)
def test_a_skill_covers_what_begins_with_its_words(own: str, asked: str, able: bool) -> None:
    assert skilled((own,), asked) is able


@pytest.mark.parametrize(
    ("day", "hours"),
    [
        (date(2026, 3, 28), 5),
        (date(2026, 3, 29), 4),  # clocks go forward at 02:00
        (date(2026, 10, 25), 6),  # clocks go back at 03:00
    ],
)
def test_a_stint_over_the_change_of_the_clocks_is_as_long_as_what_passes(day: date, hours: int) -> None:
    """Dates of the changes: Directive 2000/84/EC, last Sundays of March and October at 01:00 UTC."""
    [night] = blocks(Hours(extra=((day, Span(0, 5 * 60)),)), PARIS, day, 1)
    assert night.minutes == hours * 60


def test_windows_behind_the_change_of_the_clocks_stand_where_they_really_are() -> None:
    """From noon on Saturday to Sunday's 09:00 on the wall 21 h; 20 h pass in spring, 22 h in autumn."""
    for saturday, hours in ((date(2026, 3, 28), 20), (date(2026, 10, 24), 22)):
        origin = datetime(saturday.year, saturday.month, saturday.day, 12, tzinfo=PARIS)
        sunday = blocks(Hours(weekly=((6, Span(540, 600)),)), PARIS, saturday, 2)
        assert windows(sunday, origin) == (Window(hours * 60, hours * 60 + 60),)


def test_the_minutes_between_two_moments_are_those_in_utc() -> None:
    start, end = datetime(2026, 3, 29, 1, 30, tzinfo=PARIS), datetime(2026, 3, 29, 3, 30, tzinfo=PARIS)
    assert minutes_between(start, end) == 60
    assert minutes_between(start.astimezone(UTC), end) == 60


def test_what_has_begun_counts_from_the_origin_and_what_is_over_not_at_all() -> None:
    evening = blocks(Hours(weekly=((1, EVENING),)), PARIS, MONDAY, 7)
    assert windows(evening, datetime(2026, 11, 24, 20, tzinfo=PARIS)) == (Window(0, 60),)
    assert windows(evening, datetime(2026, 11, 24, 21, tzinfo=PARIS)) == ()


def test_noise_is_allowed_within_its_hours_and_not_on_a_quiet_sunday() -> None:
    hours = Hours(noise=Span(9 * 60, 20 * 60), quiet_sundays=True)
    sunday = datetime(2026, 11, 29, 12, tzinfo=PARIS)
    assert [noise_allowed(hours, sunday.replace(day=day)) for day in (28, 29)] == [True, False]
    assert not noise_allowed(hours, datetime(2026, 11, 28, 20, 0, tzinfo=PARIS))
    assert noise_allowed(Hours(), sunday)
    assert [one.start.day for one in noise_blocks(hours, PARIS, date(2026, 11, 28), 3)] == [28, 30]
