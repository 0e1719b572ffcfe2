"""Checks answered before anybody asks, as a server does once it has begun."""

from collections.abc import Callable
from datetime import datetime
from threading import Event

import pytest
from sqlalchemy import Engine

from server import ahead
from server.ahead import Ahead, work_ahead
from server.features.designs import service as designs
from tests.bench.measure import drop_derived
from tests.http.intake_build import IntakeBuild

Clock = Callable[[], datetime]


def _nothing_to_answer(*_: object) -> None:
    raise AssertionError("a check is answered while somebody waits")


def test_the_first_pages_find_every_check_answered(
    intake: IntakeBuild, engine: Engine, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    drop_derived(engine)
    work_ahead(engine, clock, Event())
    monkeypatch.setattr(designs, "answer_again", _nothing_to_answer)
    for page in ("measure", "garage"):
        assert intake.browser.get(f"/builds/{intake.build_id}/{page}").status_code == 200


def test_without_it_somebody_waits(
    intake: IntakeBuild, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    drop_derived(engine)
    monkeypatch.setattr(designs, "answer_again", _nothing_to_answer)
    assert intake.browser.get(f"/builds/{intake.build_id}/measure").status_code == 500


def test_it_works_in_a_thread_of_its_own_and_begins_no_build_once_stopped(
    intake: IntakeBuild, engine: Engine, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    worked: list[int] = []
    done = Event()

    def note(_session: object, build_id: int, _now: datetime) -> None:
        worked.append(build_id)
        done.set()

    monkeypatch.setattr(ahead, "measuring_page", note)
    Ahead(engine, clock).start()
    assert done.wait(10)
    assert worked == [intake.build_id]

    stopped = Event()
    stopped.set()
    work_ahead(engine, clock, stopped)
    assert worked == [intake.build_id]
