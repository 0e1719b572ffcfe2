"""Reading the open flap of a wastegate at the turbine's outlet that it swings out of."""

import pytest

from server.core.measure.opening import WITH_FLAP
from tests.asking import Browser, number_in

PORT = {"name": "Turbine outlet", "role": "run end", "shape": "V-band", "frame": "engine"}


@pytest.fixture
def home(browser: Browser) -> str:
    return f"/builds/{number_in(browser.post('/builds', {'name': 'The saloon'}).headers['location'])}"


def dimensions(browser: Browser, home: str, medium: str) -> tuple[str, set[str]]:
    """A port with this medium: its address, and what its page offers to measure."""
    place = browser.post(f"{home}/ports", PORT | {"medium": medium}).headers["location"]
    told = browser.get_json(place)
    return place, {one["label"] for one in told["dimensions"]}


def test_only_a_port_with_a_flap_in_it_is_asked_how_far_that_reaches(browser: Browser, home: str) -> None:
    _, plain = dimensions(browser, home, "exhaust gas")
    _, gated = dimensions(browser, home, WITH_FLAP)
    assert gated - plain == {"open flap, past the face", "open flap, from the centre"}


def test_a_flap_is_read_like_any_other_size(browser: Browser, home: str) -> None:
    place, _ = dimensions(browser, home, WITH_FLAP)
    page = browser.get(f"{place}?measure=flap_reach").text
    assert "Open flap, past the face" in page
    read = {"dimension": "flap_reach", "reading": "31,5 mm", "instrument": "vernier_caliper"}
    assert browser.post(f"{place}/readings", read).status_code == 303
    sizes = {one["label"]: one["value"]["si"] for one in browser.get_json(place)["sizes"]}
    assert sizes["open flap, past the face"] == pytest.approx(0.0315)
    absurd = browser.post(f"{place}/readings", read | {"reading": "900 mm"})
    assert absurd.status_code == 422
    assert "900 mm" in absurd.text
