"""A phone with a lock makes a passkey and signs in by it, in place of the passphrase."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, expect

from server.app import create_app
from server.features.builders.service import set_passphrase
from server.settings import Settings
from tests.browser.conftest import phone_at
from tests.live import served

PASSPHRASE = "tin kettle on a wet bench"


@pytest.fixture
def phone(chromium: Chromium, settings: Settings, clock: Callable[[], datetime]) -> Iterator[Page]:
    """A phone in front of a server that others can reach, by the one name that needs no certificate."""
    set_passphrase(settings.data, PASSPHRASE)
    app = create_app(replace(settings, host="0.0.0.0"), clock)
    with served(app) as address, phone_at(chromium, address.replace("127.0.0.1", "localhost")) as page:
        yield page
    app.state.engine.dispose()


def give_a_lock(page: Page) -> None:
    """A lock inside the phone, which its owner opens at once (W3C Web Authentication, section 11)."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    lock = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": lock})


def test_a_passkey_is_made_signs_in_and_is_withdrawn(phone: Page) -> None:
    phone.goto("/passkeys")
    phone.get_by_label("Passphrase").fill(PASSPHRASE)
    phone.get_by_role("button", name="Sign in", exact=True).tap()
    give_a_lock(phone)
    phone.get_by_label("What to call this device").fill("The phone on the bench")
    phone.get_by_label("What to call this device").press("Enter")
    expect(phone.get_by_text("not used yet")).to_be_visible()
    phone.wait_for_load_state()
    phone.context.clear_cookies()
    phone.goto("/builds")
    phone.get_by_role("button", name="Sign in with a passkey").tap()
    expect(phone.get_by_role("heading", name="New build")).to_be_visible()
    phone.wait_for_load_state()
    phone.goto("/passkeys")
    expect(phone.get_by_text("last used")).to_be_visible()
    with phone.expect_navigation():
        phone.get_by_role("button", name="Withdraw the passkey of The phone on the bench").tap()
    expect(phone.get_by_text("last used")).not_to_be_attached()
    phone.wait_for_load_state()
    phone.context.clear_cookies()
    phone.goto("/builds")
    phone.get_by_role("button", name="Sign in with a passkey").tap()
    expect(phone.locator("#status")).to_contain_text("not known here, or was withdrawn")
