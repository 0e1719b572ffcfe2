"""When an act was made that waited for a signal: the phone's word, within reason."""

import logging
from datetime import UTC, datetime, timedelta, timezone

import pytest

from server.web.clock import LONGEST_WAIT, moment_made

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=timezone(timedelta(hours=1)))


def said(moment: datetime) -> str:
    return moment.isoformat()


def test_an_act_counts_from_when_the_phone_says_it_was_made() -> None:
    made = NOW - timedelta(hours=3)
    assert moment_made(said(made), said(NOW), NOW) == made
    assert moment_made(said(made.astimezone(UTC)), said(NOW), NOW).utcoffset() == NOW.utcoffset()


@pytest.mark.parametrize("text", ["", "yesterday", "2026-11-25T09:00:00", "2026-13-45T00:00:00+01:00"])
def test_a_moment_that_cannot_be_read_is_the_servers(text: str) -> None:
    assert moment_made(text, "", NOW) == NOW


@pytest.mark.parametrize("away", [timedelta(minutes=6), -LONGEST_WAIT - timedelta(minutes=1)])
def test_a_moment_too_far_ahead_or_too_long_ago_is_the_servers(away: timedelta) -> None:
    assert moment_made(said(NOW + away), "", NOW) == NOW


def test_a_moment_a_little_ahead_is_now() -> None:
    assert moment_made(said(NOW + timedelta(minutes=4)), "", NOW) == NOW


@pytest.mark.parametrize("off", [timedelta(days=400), timedelta(hours=-2)])
def test_a_clock_that_is_off_is_noted_and_only_the_wait_between_act_and_sending_believed(
    off: timedelta, caplog: pytest.LogCaptureFixture
) -> None:
    wait = timedelta(minutes=40)
    with caplog.at_level(logging.WARNING, "witness_mark"):
        assert moment_made(said(NOW + off - wait), said(NOW + off), NOW) == NOW - wait
    assert "clock is off" in caplog.text
