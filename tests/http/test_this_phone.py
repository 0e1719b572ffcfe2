"""How pages look on one phone: for the sun, the night, thick gloves; and what makes it installable."""

import pytest

from tests.asking import Browser


@pytest.mark.parametrize(
    ("typed", "classes"),
    [
        ({"light": "sun"}, "sun"),
        ({"light": "night", "gloves": "on"}, "night gloves"),
        ({"light": "as the phone", "gloves": "on"}, "gloves"),
        ({"light": "as the phone"}, ""),
        ({"light": "<b>"}, ""),
    ],
)
def test_a_phone_keeps_its_light_and_gloves_for_every_page(
    browser: Browser, typed: dict[str, str], classes: str
) -> None:
    assert browser.follow(browser.post("/this-phone", typed)).status_code == 200
    root = f'<html lang="en" class="{classes}">' if classes else '<html lang="en">'
    assert root in browser.get("/builds").text
    assert root in browser.get("/handbook").text


def test_what_a_cookie_can_t_say_counts_as_nothing_said(browser: Browser) -> None:
    page = browser.get("/builds", headers={"cookie": 'look="><script> sun'}).text
    assert '<html lang="en" class="sun">' in page


def test_the_manifest_has_what_a_home_screen_needs(browser: Browser) -> None:
    """Name, start, display and an icon (W3C, Web Application Manifest)."""
    manifest = browser.get_json("/manifest.webmanifest")
    assert {"name", "start_url", "display", "icons"} <= manifest.keys()
    assert browser.get(manifest["icons"][0]["src"]).headers["content-type"] == "image/svg+xml"
    assert 'rel="manifest"' in browser.get("/builds").text
