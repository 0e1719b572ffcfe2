"""Whatever is sent to the gate, in any order and from two servers at once, no stage is passed unsigned."""

from collections.abc import Callable
from datetime import datetime
from itertools import pairwise
from threading import Barrier, Thread

from fastapi import FastAPI
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from server.app import create_app
from server.settings import Settings
from tests.asking import Browser
from tests.at_the_gate import AtTheGate, at_the_gate
from tests.gate_play import STAGES, Act, Play, acts


@settings(max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ready=st.integers(0, STAGES), drawn=acts)
@example(ready=3, drawn=[("open", 0), ("cap", 0), ("look", 0), ("look", 1), ("sign", 0), ("sign", 2)])
@example(ready=2, drawn=[("back", 0), ("twice", 0), ("sign", 2), ("twice", 1), ("unseen", 2)])
def test_no_order_of_requests_passes_a_stage_that_is_not_signed(
    browser: Browser, ready: int, drawn: list[Act]
) -> None:
    """Beside an account kept from the answers alone. Many more are drawn by `make prove`."""
    play = Play(at_the_gate(browser))
    play.begin(ready)
    for act in drawn:
        play.do(act)


def test_two_servers_on_one_database_sign_each_stage_once_and_in_turn(
    any_app: FastAPI, any_settings: Settings, clock: Callable[[], datetime]
) -> None:
    """Each of them enters and signs the first stages as fast as it can, also out of turn."""
    other_app = create_app(any_settings, clock)
    with Browser(any_app) as browser:
        car = at_the_gate(browser)
        car.look("Ada")
        car.look("Ben")
        codes = car.codes()[:STAGES]
        ready = Barrier(2)

        def race(mine: AtTheGate, order: list[str]) -> None:
            ready.wait()
            for code in order * STAGES:
                mine.enter(code)
                mine.sign(code)

        def elsewhere() -> None:
            with Browser(other_app) as another:
                race(AtTheGate(another, car.build, car.point, car.space), codes)

        thread = Thread(target=elsewhere)
        thread.start()
        race(car, codes[::-1])
        thread.join()
        assert list(car.words().values())[:STAGES] == ["signed"] * STAGES
    with any_app.state.engine.connect() as connection:
        rows = connection.execute(text("SELECT stage FROM start_signature ORDER BY id")).scalars().all()
    other_app.state.engine.dispose()
    assert list(rows) == codes
    assert all(codes.index(one) < codes.index(other) for one, other in pairwise(rows))
