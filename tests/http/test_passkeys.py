"""What a passkey opens, and what is no passkey does not."""

import json
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from webauthn.helpers import bytes_to_base64url

from tests.asking import Browser
from tests.http.door import PLAIN_FORM, Watch
from tests.soft_lock import PRESENT, UNLOCKED, SoftLock

HOST, ORIGIN = "garage.test", "https://garage.test"
AS_SCRIPT = {"accept": "application/json", "origin": ORIGIN}


def ask(phone: Browser, path: str) -> dict[str, Any]:
    answer = phone.post(ORIGIN + path, {}, headers=AS_SCRIPT)
    assert answer.status_code == 200, answer.text
    options: dict[str, Any] = answer.json()
    return options


def send(phone: Browser, path: str, credential: str) -> Any:
    fields = {"credential": credential, "device": "The phone on the bench", "back": "/builds"}
    return phone.post(ORIGIN + path, fields, headers=AS_SCRIPT)


def sign_in(phone: Browser, lock: SoftLock) -> Any:
    return send(phone, "/sign-in/passkey", lock.signed(ask(phone, "/sign-in/passkey/challenge")))


@pytest.fixture
def owner(named_app: FastAPI) -> Iterator[Browser]:
    with Browser(named_app) as browser:
        browser.post(ORIGIN + "/sign-in", PLAIN_FORM, headers={"origin": ORIGIN})
        yield browser


@pytest.fixture
def stranger(named_app: FastAPI) -> Iterator[Browser]:
    with Browser(named_app) as browser:
        yield browser


@pytest.fixture
def lock(owner: Browser) -> SoftLock:
    """One that the server knows."""
    made = SoftLock(HOST, ORIGIN)
    assert send(owner, "/passkeys", made.made(ask(owner, "/passkeys/new"))).status_code == 204
    return made


def test_a_passkey_signs_in_without_a_passphrase(stranger: Browser, lock: SoftLock) -> None:
    assert stranger.get(ORIGIN + "/builds").status_code == 303
    let_in = sign_in(stranger, lock)
    assert (let_in.status_code, let_in.headers["content-location"]) == (204, "/builds")
    assert "HttpOnly" in let_in.headers["set-cookie"]
    assert stranger.get(ORIGIN + "/builds").status_code == 200
    listed = stranger.get(ORIGIN + "/passkeys").text
    assert "The phone on the bench" in listed
    assert "last used" in listed


def test_a_passkey_opens_its_builder_s_door_only(owner: Browser, stranger: Browser) -> None:
    jo = {"name": "Jo", "first": "four blue tubes weld"}
    owner.post(ORIGIN + "/signed-in/builders", jo, headers={"origin": ORIGIN})
    hers = {"name": "Jo", "passphrase": jo["first"]}
    stranger.post(ORIGIN + "/sign-in", hers, headers={"origin": ORIGIN})
    lock = SoftLock(HOST, ORIGIN)
    assert send(stranger, "/passkeys", lock.made(ask(stranger, "/passkeys/new"))).status_code == 204
    stranger.client.cookies.clear()
    sign_in(stranger, lock)
    assert "Signed in as Jo" in stranger.get(ORIGIN + "/signed-in").text
    assert owner.get(ORIGIN + "/passkeys").text.count("Withdraw") == 0


def test_what_was_signed_once_opens_nothing_again(stranger: Browser, lock: SoftLock) -> None:
    credential = lock.signed(ask(stranger, "/sign-in/passkey/challenge"))
    assert send(stranger, "/sign-in/passkey", credential).status_code == 204
    again = send(stranger, "/sign-in/passkey", credential)
    assert again.status_code == 422
    assert "answered before" in again.text
    assert "set-cookie" not in again.headers


def test_a_challenge_stands_for_five_minutes(stranger: Browser, lock: SoftLock, watch: Watch) -> None:
    credential = lock.signed(ask(stranger, "/sign-in/passkey/challenge"))
    watch.now += timedelta(minutes=5)
    assert send(stranger, "/sign-in/passkey", credential).status_code == 422


def test_a_passkey_that_was_withdrawn_opens_nothing(
    owner: Browser, stranger: Browser, lock: SoftLock
) -> None:
    (line,) = owner.get(ORIGIN + "/passkeys", headers={"accept": "application/json"}).json()["passkeys"]
    assert owner.post(ORIGIN + line["withdrawal"], {}, headers={"origin": ORIGIN}).status_code == 303
    refused = sign_in(stranger, lock)
    assert refused.status_code == 422
    assert "not known here" in refused.text


@pytest.mark.parametrize(
    "changes",
    [
        {"key": SoftLock(HOST, ORIGIN).key},  # another key under the same number
        {"host": "elsewhere.test"},  # made for another site
        {"origin": "https://elsewhere.test"},  # asked by another site
        {"flags": PRESENT},  # the owner did not unlock the phone
        {"flags": UNLOCKED},  # nobody was there
        {"uses": -1},  # a copy: its counter stands where the first use's stood
    ],
)
def test_a_forged_signature_opens_nothing(stranger: Browser, lock: SoftLock, changes: dict[str, Any]) -> None:
    lock.uses = 3
    assert sign_in(stranger, lock).status_code == 204
    stranger.client.cookies.clear()
    forged = SoftLock(**{**vars(lock), **changes})
    refused = sign_in(stranger, forged)
    assert refused.status_code == 422
    assert "could not be checked" in refused.text
    assert stranger.get(ORIGIN + "/builds").status_code == 303


@pytest.mark.parametrize(
    "credential",
    ["", "{}", "[]", "null", "7", '"x"', '{"id": 1}', "\ud800", json.dumps({"response": {}}), "[" * 2000],
)
def test_what_is_no_passkey_is_refused_calmly(stranger: Browser, credential: str) -> None:
    assert send(stranger, "/sign-in/passkey", credential.encode(errors="ignore").decode()).status_code == 422


@pytest.mark.parametrize(
    "sent", [b"", b"\xa0", b"\x9f" * 900, b"\xff", bytes(400), b"\xa1\x68authData\x41\x00"]
)
def test_bytes_that_make_no_passkey_are_refused_calmly(owner: Browser, sent: bytes) -> None:
    made = json.loads(SoftLock(HOST, ORIGIN).made(ask(owner, "/passkeys/new")))
    made["response"]["attestationObject"] = bytes_to_base64url(sent)
    refused = send(owner, "/passkeys", json.dumps(made))
    assert refused.status_code == 422
    assert "could not be checked" in refused.text


def test_a_form_sent_without_a_passkey_says_so_on_its_page(owner: Browser) -> None:
    sent = owner.post(ORIGIN + "/passkeys", {"device": "The bench"}, headers={"origin": ORIGIN})
    assert sent.status_code == 422
    assert "This passkey could not be checked." in sent.text


def test_at_an_address_of_numbers_the_page_says_why_there_are_none(phone: Browser) -> None:
    phone.post("/sign-in", PLAIN_FORM)
    assert "Not at this address" in phone.get("/passkeys").text
    assert "Make a passkey" not in phone.get("/passkeys").text
