"""One operation key, one effect, on SQLite and on PostgreSQL."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from fastapi import APIRouter, FastAPI, Request, Response
from sqlmodel import Session, select

from server.db import WriteSession, write_session
from server.errors import BadInput, FieldError
from server.features.builds import service as builds
from server.features.builds.forms import build_form
from server.once import KEPT, OnceRoute, OperationKey, act
from server.web.clock import Now
from tests.asking import Browser
from tests.page_forms import page_forms


@pytest.fixture
def browser(any_app: FastAPI) -> Iterator[Browser]:
    with Browser(any_app) as asking:
        yield asking


@pytest.fixture
def app(any_app: FastAPI) -> FastAPI:
    return any_app


def names(browser: Browser) -> list[str]:
    return [build["name"] for build in browser.get_json("/builds")["builds"]]


def keys(app: FastAPI) -> list[OperationKey]:
    with Session(app.state.engine) as session:
        return list(session.exec(select(OperationKey)))


def test_a_resend_gets_the_same_answer_and_changes_nothing(browser: Browser) -> None:
    form = {"name": "The saloon", "operation_key": "one-tap"}
    first = browser.post("/builds", form)
    again = browser.post("/builds", form)
    assert first.status_code == again.status_code == 303
    assert first.headers["location"] == again.headers["location"]
    assert "idempotency-replayed" not in first.headers
    assert again.headers["idempotency-replayed"] == "true"
    assert names(browser) == ["The saloon"]


def test_five_taps_at_the_same_moment_act_once(browser: Browser) -> None:
    answers = browser.post_at_once("/builds", {"name": "The saloon", "operation_key": "five"}, times=5)
    assert [answer.status_code for answer in answers] == [303] * 5
    assert len({answer.headers["location"] for answer in answers}) == 1
    assert names(browser) == ["The saloon"]


def test_the_same_key_with_other_contents_is_refused(browser: Browser) -> None:
    browser.post("/builds", {"name": "The saloon", "operation_key": "used"})
    other = browser.post("/builds", {"name": "The estate", "operation_key": "used"})
    assert other.status_code == 422
    assert "sent before with other contents" in other.text
    assert names(browser) == ["The saloon"]


def test_what_was_typed_under_a_used_key_can_be_sent_as_a_new_form(browser: Browser) -> None:
    browser.post("/builds", {"name": "The saloon", "operation_key": "used"})
    other = browser.post("/builds", {"name": 'The "long" estate', "car": "1998", "operation_key": "used"})
    (form,) = page_forms(other.text)
    assert form.address == "/builds"
    assert form.value("operation_key") != "used"
    assert browser.post(form.address, dict(form.fields)).status_code == 303
    assert names(browser) == ['The "long" estate', "The saloon"]


def test_refused_input_leaves_no_trace_and_its_key_can_be_used_again(browser: Browser, app: FastAPI) -> None:
    refused = browser.post("/builds", {"name": "", "operation_key": "mended"})
    assert refused.status_code == 422
    assert keys(app) == []
    assert names(browser) == []
    mended = browser.post("/builds", {"name": "The saloon", "operation_key": "mended"})
    assert mended.status_code == 303


def test_what_was_written_before_a_form_is_refused_is_undone(browser: Browser, app: FastAPI) -> None:
    router = APIRouter(route_class=OnceRoute)

    @router.post("/refused-half-way")
    def refused_half_way(request: Request, session: WriteSession, now: Now) -> Response:
        def do() -> str:
            builds.create_build(session, build_form({"name": "The saloon"}), now)
            raise BadInput((FieldError("name", "Think again."),), request.state.posted.fields)

        return act(request, session, do, lambda refused: builds.builds_page(session, now, refused=refused))

    app.router.routes.extend(router.routes)
    asked = browser.post("/refused-half-way", {"name": "The estate"})
    assert asked.status_code == 422
    assert "Think again." in asked.text
    assert "The estate" in asked.text, "what was typed"
    assert "The saloon" not in asked.text
    assert names(browser) == []
    assert keys(app) == []


def test_key_and_effect_are_stored_together(browser: Browser, app: FastAPI) -> None:
    browser.post("/builds", {"name": "The saloon", "operation_key": "together"})
    (row,) = keys(app)
    assert (row.key, row.status, row.actor) == ("together", 303, "builder")


def test_a_key_may_come_in_the_header_that_scripts_use(browser: Browser) -> None:
    for _ in range(2):
        form = {"name": "The saloon", "operation_key": ""}
        asked = browser.post("/builds", form, headers={"idempotency-key": '"from-a-script"'})
        assert asked.status_code == 303
    assert names(browser) == ["The saloon"]


def test_a_form_without_a_key_is_told_so(browser: Browser) -> None:
    asked = browser.post("/builds", {"name": "The saloon", "operation_key": ""})
    assert asked.status_code == 400
    assert "operation key" in asked.text
    assert names(browser) == []


def test_keys_are_forgotten_only_after_any_phone_has_sent_what_it_kept(
    browser: Browser, app: FastAPI
) -> None:
    assert timedelta(days=30) <= KEPT
    browser.post("/builds", {"name": "old", "operation_key": "old"})
    browser.post("/builds", {"name": "older", "operation_key": "older"})
    for name, age in (("old", KEPT - timedelta(hours=1)), ("older", KEPT + timedelta(hours=1))):
        grow_older(app, name, age)
    browser.post("/builds", {"name": "new", "operation_key": "new"})
    assert {row.key for row in keys(app)} == {"old", "new"}


def grow_older(app: FastAPI, key: str, age: timedelta) -> None:
    with write_session(app.state.engine) as session:
        row = session.exec(select(OperationKey).where(OperationKey.key == key)).one()
        row.at -= age
        session.add(row)
