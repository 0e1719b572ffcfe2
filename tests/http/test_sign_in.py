"""The door of a server that other machines can reach, and its absence on loopback."""

from dataclasses import replace
from datetime import timedelta

import pytest

from server.features.sharing.forms import page_to_go_back_to
from server.settings import Settings
from tests.asking import Browser
from tests.http.door import PLAIN_FORM, Watch


def test_on_loopback_there_is_no_door(browser: Browser) -> None:
    assert browser.get("/builds").status_code == 200
    assert browser.get("/sign-in").status_code == 404


def test_a_page_comes_after_the_sign_in_and_then_it_is_the_page_asked_for(phone: Browser) -> None:
    asked = phone.get("/builds?x=1")
    assert asked.status_code == 303
    assert asked.headers["location"] == "/sign-in?back=%2Fbuilds%3Fx%3D1"
    door = phone.follow(asked)
    assert 'value="/builds?x=1"' in door.text
    assert "NOT ENCRYPTED" in door.text
    let_in = phone.post("/sign-in", PLAIN_FORM)
    assert (let_in.status_code, let_in.headers["location"]) == (303, "/builds?x=1")
    assert phone.follow(let_in).status_code == 200


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(phone: Browser) -> None:
    cookie = phone.post("/sign-in", PLAIN_FORM).headers["set-cookie"]
    assert cookie.startswith("sid=")
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    assert "Secure" not in cookie  # a browser would not send it back over plain HTTP


def test_over_https_the_cookie_is_bound_to_this_host(phone: Browser) -> None:
    asked = phone.post(
        "https://127.0.0.1:8000/sign-in", PLAIN_FORM, headers={"origin": "https://127.0.0.1:8000"}
    )
    cookie = asked.headers["set-cookie"]
    assert cookie.startswith("__Host-sid=")
    assert "Secure" in cookie
    assert "Path=/" in cookie
    assert "Domain" not in cookie
    assert "NOT ENCRYPTED" not in phone.get("https://127.0.0.1:8000/sign-in").text


def test_a_script_is_told_401_and_a_fragment_sends_its_page_to_the_door(phone: Browser) -> None:
    script = phone.get("/builds", headers={"accept": "application/json"})
    assert script.status_code == 401
    assert script.json()["errors"][0]["message"]
    fragment = phone.get("/builds", headers={"hx-request": "true", "hx-target": "list"})
    assert (fragment.status_code, fragment.headers["hx-redirect"]) == (401, "/sign-in")


def test_a_form_sent_from_outside_changes_nothing_and_may_be_sent_again(phone: Browser) -> None:
    refused = phone.post("/builds", {"name": "The saloon", "operation_key": "once"})
    assert refused.status_code == 401
    assert "not signed in" in refused.text
    phone.post("/sign-in", PLAIN_FORM)
    assert phone.get_json("/builds")["builds"] == []
    again = phone.post("/builds", {"name": "The saloon", "operation_key": "once"})
    assert again.status_code == 303


def test_styles_are_open_to_all_and_every_answer_carries_the_protective_headers(phone: Browser) -> None:
    door = phone.get("/sign-in")
    style = next(part for part in door.text.split('"') if part.startswith("/static/app."))
    assert phone.get(style).status_code == 200
    assert "default-src 'none'" in phone.get("/builds").headers["content-security-policy"]


def test_a_wrong_passphrase_is_refused_and_never_shown_again(phone: Browser) -> None:
    refused = phone.post("/sign-in", {"passphrase": "tin kettle on a dry bench", "back": "/builds"})
    assert refused.status_code == 422
    assert "not the passphrase" in refused.text
    assert "dry bench" not in refused.text
    assert "set-cookie" not in refused.headers


def test_the_sixth_wrong_try_has_to_wait_a_quarter_of_an_hour(phone: Browser, watch: Watch) -> None:
    for _ in range(5):
        assert phone.post("/sign-in", {"passphrase": "a wrong passphrase"}).status_code == 422
    waiting = phone.post("/sign-in", PLAIN_FORM)
    assert waiting.status_code == 429
    assert 0 < int(waiting.headers["retry-after"]) <= 16 * 60
    watch.now += timedelta(minutes=15, seconds=1)
    assert phone.post("/sign-in", PLAIN_FORM).status_code == 303


def test_many_tries_at_one_moment_count_like_many_in_turn(phone: Browser) -> None:
    answers = phone.post_at_once("/sign-in", {"passphrase": "a wrong passphrase"}, times=9)
    assert sorted(answer.status_code for answer in answers) == [422] * 5 + [429] * 4


def test_signing_out_ends_the_sign_in_itself_not_only_the_cookie(phone: Browser) -> None:
    let_in = phone.post("/sign-in", PLAIN_FORM)
    token = {"cookie": let_in.headers["set-cookie"].split(";")[0]}
    assert "Sign out" in phone.get("/sign-in").text
    assert phone.post("/sign-out", {}).status_code == 303
    phone.client.cookies.clear()
    assert phone.get("/builds", headers=token).status_code == 303


def test_signing_in_again_ends_the_sign_in_before(phone: Browser) -> None:
    first = phone.post("/sign-in", PLAIN_FORM).headers["set-cookie"].split(";")[0]
    phone.post("/sign-in", PLAIN_FORM)
    phone.client.cookies.clear()
    assert phone.get("/builds", headers={"cookie": first}).status_code == 303


def test_a_browser_not_seen_for_thirty_days_gives_the_passphrase_again(phone: Browser, watch: Watch) -> None:
    phone.post("/sign-in", PLAIN_FORM)
    for _ in range(3):
        watch.now += timedelta(days=20)
        assert phone.get("/builds").status_code == 200
    watch.now += timedelta(days=30)
    assert phone.get("/builds").status_code == 303


def test_a_forged_sign_in_from_another_site_is_refused(phone: Browser) -> None:
    forged = phone.post("/sign-in", PLAIN_FORM, headers={"origin": "http://elsewhere.example"})
    assert forged.status_code == 403


@pytest.mark.parametrize(
    "asked",
    ["//elsewhere.example/", "https://elsewhere.example", "/\\elsewhere.example", "", "/a\nb", "builds"],
)
def test_the_way_back_never_leads_to_another_site(asked: str) -> None:
    assert page_to_go_back_to(asked) == "/"


def test_what_stands_in_front_of_a_loopback_server_makes_it_ask_for_the_passphrase(
    settings: Settings,
) -> None:
    assert settings.loopback
    assert not replace(settings, extra_hosts=("garage.example",)).loopback
