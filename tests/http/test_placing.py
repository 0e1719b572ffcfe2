"""Where a port is and which way it faces: read in every way, refused where wrong, withdrawn, as JSON."""

from dataclasses import dataclass
from typing import Any

import httpx
import pytest

from tests.asking import Browser, number_in

OFFSETS = {"way": "offsets", "forward": "310", "left": "-12 1/4 in", "up": "14 cm", "instrument": "tape"}


@dataclass(frozen=True)
class Site:
    """A build with two ports, asked about where they are."""

    browser: Browser
    build: str
    ports: tuple[str, str]

    def read(self, **fields: str) -> httpx.Response:
        return self.browser.post(f"{self.ports[0]}/place", fields)

    def read_inlet(self, **fields: str) -> httpx.Response:
        return self.browser.post(f"{self.ports[1]}/place", fields)

    def page(self, port: int = 0) -> Any:
        return self.browser.get_json(f"{self.ports[port]}/place")


@pytest.fixture
def site(browser: Browser) -> Site:
    build = browser.post("/builds", {"name": "Orrin", "car": "saloon"}).headers["location"]
    build = f"/builds/{number_in(build)}"
    ports = tuple(
        browser.post(f"{build}/ports", {"name": name}).headers["location"] for name in ("Outlet", "Inlet")
    )
    return Site(browser, build, (ports[0], ports[1]))


def test_offsets_are_kept_as_typed_with_their_units(site: Site) -> None:
    assert site.read(**OFFSETS).status_code == 303
    page = site.page()
    assert page["place"] == "310 mm forward, 311.2 mm right, 140 mm up"
    assert page["point"] == pytest.approx([0.31, -0.31115, 0.14])
    assert "tape measure" in page["readings"][0]["instrument"]
    assert "310 mm forward" in site.browser.get(site.ports[0]).text


def test_a_doubt_of_ones_own_goes_before_the_instruments(site: Site) -> None:
    site.read(way="offsets", forward="0 ± 30 mm", left="0", up="0")
    assert site.page()["place_doubt"].startswith("± 30 mm, ± 0.")


def test_words_say_which_way_it_faces(site: Site) -> None:
    site.read(way="words", level="rearward", tilt="30° below level")
    page = site.page()
    assert page["facing"] == "rearward, 30° below level"
    assert page["direction"] == pytest.approx([-(0.75**0.5), 0.0, -0.5])


def test_an_angle_gauge_counts_to_the_left_and_down(site: Site) -> None:
    site.read(way="gauge", heading="90", dip="-10 deg")
    assert site.page()["facing"] == "left, 10° above level"
    site.read(way="gauge", heading="160", dip="0")
    assert site.page()["facing"] == "rearward, 20° to the left, level"


def test_a_stick_tells_the_direction_from_its_tip(site: Site) -> None:
    site.read(way="stick", forward="0", left="0", up="-300")
    assert site.page()["facing"] == "straight down"


def test_tapes_are_shown_in_both_places_and_one_is_picked(site: Site) -> None:
    """3-4-5 triangles: 0.3 m to each side of the hooks, worked by hand."""
    tapes = {"way": "tapes", "tape1": "500", "tape2": "500", "tape3": "500"}
    tapes |= {
        "hook1": "datum",
        "hook2": "typed",
        "hook2_at": "600 0 0",
        "hook3": "typed",
        "hook3_at": "0 600 0",
    }
    asked = site.read(**tapes)
    assert asked.status_code == 422
    assert "meet in two places" in asked.text
    assert "300 mm forward, 300 mm left, 264.6 mm up" in asked.text
    assert "300 mm forward, 300 mm left, 264.6 mm down" in asked.text
    # As the page sends it back: the list is empty, and the answer is to that.
    assert site.read(**tapes, side="", **{"meant.side": "|second"}).status_code == 303
    assert site.page()["place"] == "300 mm forward, 300 mm left, 264.6 mm down"


def test_a_port_beside_another_follows_it(site: Site) -> None:
    site.read(**OFFSETS)
    inlet = {
        "way": "beside",
        "beside": str(number_in(site.ports[0])),
        "forward": "100",
        "left": "0",
        "up": "0",
    }
    assert site.read_inlet(**inlet).status_code == 303
    assert site.page(1)["place"].startswith("410 mm forward")
    site.read(**OFFSETS | {"forward": "500"})
    assert site.page(1)["place"].startswith("600 mm forward")
    back = site.read(**inlet | {"beside": str(number_in(site.ports[1]))})
    assert back.status_code == 422
    assert "read from this one" in back.text


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"forward": ""}, "Forward is missing."),
        ({"forward": "wide"}, "Forward: "),
        ({"left": "3 bar"}, "Left: "),
        ({"up": "7 m"}, "Up: 7 m is out of range."),
        ({"forward": "0.31"}, "0.31 m"),
        ({"instrument": "crystal ball"}, "Measured with: choose one of the list."),
        ({"way": "magic"}, "How it was read: choose one of the list."),
        ({"way": "beside", "beside": "99"}, "From which port: choose one of the list."),
        (
            {"way": "gauge", "heading": "200", "dip": "0"},
            "Turned to the left of forward: 200 is out of range.",
        ),
        ({"way": "gauge", "heading": "0", "dip": "3 mm"}, "Below level: "),
        ({"way": "words", "level": "sunwise"}, "Seen from above, it faces: choose one of the list."),
        ({"way": "stick", "forward": "0", "left": "0", "up": "0"}, "tells no direction"),
        ({"way": "tapes", "tape1": "-4"}, "Tape 1: -4 is out of range."),
    ],
)
def test_what_can_t_be_used_is_told_beside_its_field(
    site: Site, fields: dict[str, str], message: str
) -> None:
    refused = site.read(**OFFSETS | fields)
    assert refused.status_code == 422
    assert message in refused.text
    assert site.page()["readings"] == []


@pytest.mark.parametrize(
    ("tapes", "message"),
    [
        ({"tape1": "100", "tape2": "100", "tape3": "100"}, "miss each other by"),
        ({"hook3_at": "1200 0 0"}, "stand in one line"),
        ({"hook2_at": "600 0"}, "Tape 2, its hook: 2 of three numbers."),
        ({"hook2_at": "600 0 north"}, "Tape 2, its hook: "),
        ({"hook2": "typed", "hook2_at": ""}, "Tape 2, its hook is missing."),
        ({"hook2": "999"}, "Tape 2 is hooked at: choose one of the list."),
    ],
)
def test_tapes_that_can_t_be_say_why(site: Site, tapes: dict[str, str], message: str) -> None:
    fields = {"way": "tapes", "tape1": "500", "tape2": "500", "tape3": "500"}
    fields |= {"hook2": "typed", "hook2_at": "600 0 0", "hook3": "typed", "hook3_at": "0 600 0"}
    refused = site.read(**fields | tapes)
    assert refused.status_code == 422
    assert message in refused.text


def test_the_newest_reading_counts_until_it_is_withdrawn(site: Site) -> None:
    site.read(**OFFSETS)
    site.read(**OFFSETS | {"forward": "320"})
    newest = site.page()["readings"][0]
    assert site.page()["place"].startswith("320 mm")
    assert [one["counts"] for one in site.page()["readings"]] == [True, False]
    where = f"{site.ports[0]}/place/{newest['id']}/withdrawal"
    site.browser.post(where, {"to": "withdrawn"})
    assert site.page()["place"].startswith("310 mm")
    site.browser.post(where, {"to": "standing"})
    assert site.page()["place"].startswith("320 mm")


def test_the_ports_of_a_build_and_their_datum(site: Site) -> None:
    site.read(**OFFSETS)
    page = site.browser.get_json(f"{site.build}/places")
    assert [one["name"] for one in page["half"]] == ["Outlet"]
    assert [one["name"] for one in page["without"]] == ["Inlet"]
    assert not page["said"]
    say = {"words": "Crossmember, between the towers"}
    assert site.browser.post(f"{site.build}/places", say).status_code == 303
    assert site.page()["datum"] == "Crossmember, between the towers"
    assert site.browser.post(f"{site.build}/places", say).status_code == 428
    assert site.browser.post(f"{site.build}/places", {"version": "1", "words": ""}).status_code == 422
    assert site.browser.post(f"{site.build}/places", {"version": "1", "words": "Sill"}).status_code == 303
    stale = site.browser.post(f"{site.build}/places", {"version": "1", "words": "Bumper"})
    assert stale.status_code == 412
    assert "Sill" in stale.text


def test_addresses_of_what_is_not_there_say_so(site: Site) -> None:
    assert site.browser.get(f"{site.build}/ports/99/place").status_code == 404
    assert site.browser.post(f"{site.build}/ports/99/place", OFFSETS).status_code == 404
    assert site.browser.post(f"{site.ports[0]}/place/99/withdrawal", {}).status_code == 404
