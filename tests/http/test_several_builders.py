"""Several builders on one server: each with a passphrase, browsers and builds of their own."""

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
from fastapi import FastAPI
from starlette.routing import Route

from tests.asking import Browser, number_in
from tests.http.door import PASSPHRASE, PLAIN_FORM, Watch

HERS = "four blue tubes weld"
JO = {"name": "Jo", "first": HERS}


@pytest.fixture
def owner(phone: Browser) -> Browser:
    """Who owns the server, signed in."""
    phone.post("/sign-in", PLAIN_FORM)
    return phone


@pytest.fixture
def jo(owner: Browser, open_app: FastAPI) -> Iterator[Browser]:
    """A further builder, signed in at a phone of her own."""
    assert owner.post("/signed-in/builders", JO).status_code == 303
    with Browser(open_app) as browser:
        sent = {"name": "jo", "passphrase": HERS, "device": "The phone on the bench"}
        assert browser.post("/sign-in", sent).status_code == 303
        yield browser


def begun(browser: Browser, name: str) -> int:
    return number_in(browser.post("/builds", {"name": name}).headers["location"])


def test_each_builder_sees_and_begins_builds_of_their_own(owner: Browser, jo: Browser) -> None:
    begun(owner, "The saloon")
    begun(jo, "The van")
    assert [build["name"] for build in owner.get_json("/builds")["builds"]] == ["The saloon"]
    assert [build["name"] for build in jo.get_json("/builds")["builds"]] == ["The van"]
    rule = jo.get("/handbook/rules/bore-held")
    assert "The saloon" not in rule.text


def test_a_build_that_comes_in_from_a_file_is_of_who_brought_it(owner: Browser, jo: Browser) -> None:
    archive = jo.get(f"/builds/{begun(jo, 'The van')}/export").content
    sent = {"archive": ("build.zip", archive, "application/zip")}
    assert jo.post("/archives", {}, files=sent).status_code == 303
    assert [build["name"] for build in jo.get_json("/builds")["builds"]] == ["The van", "The van"]
    assert owner.get_json("/builds")["builds"] == []


def test_no_address_of_a_build_opens_for_another_builder(
    owner: Browser, jo: Browser, open_app: FastAPI
) -> None:
    build = begun(owner, "The saloon")
    routes = {
        (method, re.sub(r"\{[^}]*\}", "1", route.path.replace("{build_id}", str(build), 1)))
        for route in open_app.routes
        if isinstance(route, Route) and "{build_id}" in route.path
        for method in (route.methods or set()) - {"HEAD"}
    }
    assert len(routes) > 300
    for method, address in sorted(routes):
        answer = jo.get(address) if method == "GET" else jo.post(address, {})
        assert answer.status_code == 404, f"{method} {address}"
        assert "saloon" not in answer.text
    assert owner.get(f"/builds/{build}/ports").status_code == 200


def test_no_other_way_to_write_its_number_does(owner: Browser, jo: Browser) -> None:
    assert begun(owner, "The saloon") == 1
    for written in ("+1", "1.0", "%201", "1_0", "01", "١", "-1", "1%20", "%31", "9" * 30):
        assert jo.get(f"/builds/{written}/ports").status_code == 404, written


def test_a_further_builder_lets_nobody_in(owner: Browser, jo: Browser) -> None:
    assert "Builders on this server" in owner.get("/signed-in").text
    shown = jo.get("/signed-in").text
    assert "Signed in as Jo" in shown
    assert "Builders on this server" not in shown
    assert jo.post("/signed-in/builders", {"name": "Sam", "first": HERS}).status_code == 404


def test_what_a_builder_is_let_in_with_is_refused_beside_its_field(owner: Browser) -> None:
    refused = owner.post("/signed-in/builders", {"name": "", "first": "short words"})
    assert refused.status_code == 422
    assert "What is the builder called?" in refused.text
    assert "11 characters is too short" in refused.text
    assert "short words" not in refused.text


def test_the_browsers_of_one_builder_are_listed_and_can_be_signed_out(owner: Browser, jo: Browser) -> None:
    devices = jo.get_json("/signed-in")["devices"]
    assert [(one["name"], one["here"]) for one in devices] == [("The phone on the bench", True)]
    theirs = owner.get_json("/signed-in")["devices"]
    assert [one["here"] for one in theirs] == [True]
    assert owner.post(devices[0]["ending"], {}).status_code == 404
    assert jo.get("/builds").status_code == 200
    assert jo.post(devices[0]["ending"], {}).headers["location"] == "/sign-in"
    assert jo.get("/builds").status_code == 303


def test_a_lost_phone_is_signed_out_from_another(owner: Browser, open_app: FastAPI) -> None:
    with Browser(open_app) as lost:
        lost.post("/sign-in", PLAIN_FORM)
        assert lost.get("/builds").status_code == 200
        assert owner.post("/signed-in/others/end", {}).status_code == 303
        assert lost.get("/builds").status_code == 303
    assert owner.get("/builds").status_code == 200


def test_a_changed_passphrase_signs_the_others_out_and_asks_for_the_old_one(
    owner: Browser, jo: Browser, open_app: FastAPI
) -> None:
    wrong = jo.post("/signed-in/passphrase", {"old": PASSPHRASE, "new": "one more long passphrase"})
    assert wrong.status_code == 422
    assert "not the passphrase of that name" in wrong.text
    short = jo.post("/signed-in/passphrase", {"old": HERS, "new": "too short"})
    assert "9 characters is too short" in short.text
    changed = jo.post("/signed-in/passphrase", {"old": HERS, "new": "one more long passphrase"})
    assert "The passphrase is changed" in jo.follow(changed).text
    with Browser(open_app) as again:
        assert again.post("/sign-in", {"name": "Jo", "passphrase": HERS}).status_code == 422
        taken = again.post("/sign-in", {"name": "Jo", "passphrase": "one more long passphrase"})
        assert taken.status_code == 303
    assert owner.get("/builds").status_code == 200


@pytest.mark.usefixtures("jo")
def test_tries_at_one_builder_s_door_do_not_shut_another_s(open_app: FastAPI, watch: Watch) -> None:
    with Browser(open_app) as stranger:
        for _ in range(5):
            wrong = {"name": "Jo", "passphrase": "a wrong passphrase"}
            assert stranger.post("/sign-in", wrong).status_code == 422
        assert stranger.post("/sign-in", {"name": "JO ", "passphrase": HERS}).status_code == 429
        assert stranger.post("/sign-in", PLAIN_FORM).status_code == 303
        watch.now += timedelta(minutes=16)
        assert stranger.post("/sign-in", {"name": "Jo", "passphrase": HERS}).status_code == 303


@pytest.mark.usefixtures("jo")
def test_nobody_learns_at_the_door_who_is_a_builder(open_app: FastAPI) -> None:
    with Browser(open_app) as stranger:
        of_jo = stranger.post("/sign-in", {"name": "Jo", "passphrase": "a wrong passphrase"})
        of_nobody = stranger.post("/sign-in", {"name": "Al", "passphrase": "a wrong passphrase"})
    assert of_jo.status_code == of_nobody.status_code == 422
    assert of_jo.text.replace("Jo", "Al") == of_nobody.text
