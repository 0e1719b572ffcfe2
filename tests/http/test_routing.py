"""From two poses to routes, and from a route to a design's run with its checks."""

from dataclasses import dataclass
from typing import Any

import httpx
import pytest

from tests.asking import Browser, number_in

ASKED = {
    "find": "1",
    "outside": "60",
    "wall": "1.5",
    "material": "aluminium",
    "shortest": "20",
    "most_bends": "2",
    "cut_down": "on",
    "radius1": "90",
    "angle1": "90",
}


@dataclass(frozen=True)
class Site:
    """A charge pipe to be routed between two ports with poses."""

    browser: Browser
    build: str
    subsystem: str
    ports: tuple[str, str]

    def find(self, **fields: str) -> Any:
        answer = self.ask(**fields)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def ask(self, **fields: str) -> httpx.Response:
        typed = {"start_port_id": self.ports[0], "end_port_id": self.ports[1]} | ASKED | fields
        return self.browser.get(
            f"{self.subsystem}/routes", params=typed, headers={"accept": "application/json"}
        )

    def take(self, mark: str, **fields: str) -> httpx.Response:
        typed = {"start_port_id": self.ports[0], "end_port_id": self.ports[1]} | ASKED | fields
        return self.browser.post(f"{self.subsystem}/routes", typed | {"route": mark, "name": "Route 1"})


def port(browser: Browser, build: str, name: str, place: str, outside: str, **facing: str) -> str:
    address = browser.post(f"{build}/ports", {"name": name, "end_form": "bead", "frame": "engine"}).headers[
        "location"
    ]
    browser.post(f"{address}/readings", {"dimension": "outside_diameter", "reading": outside})
    browser.post(f"{address}/readings", {"dimension": "wall", "reading": "2 mm"})
    forward, left, up = place.split()
    browser.post(f"{address}/place", {"way": "offsets", "forward": forward, "left": left, "up": up})
    browser.post(f"{address}/place", {"way": "words", **facing})
    return str(number_in(address))


@pytest.fixture
def site(browser: Browser) -> Site:
    build = browser.post("/builds", {"name": "Orrin", "car": "saloon"}).headers["location"]
    build = f"/builds/{number_in(build)}"
    subsystem = browser.post(f"{build}/subsystems", {"kind": "charge pipe"}).headers["location"]
    ports = (
        port(browser, build, "Compressor outlet", "100 50 300", "60", level="forward", tilt="level"),
        port(browser, build, "Cooler inlet", "650 300 100", "63.5", level="rearward", tilt="level"),
    )
    return Site(browser, build, subsystem.split("?")[0], ports)


def test_routes_are_ranked_by_bends_then_length(site: Site) -> None:
    page = site.find()
    assert page["routes"]
    assert page["routes"][0]["title"].startswith("1 · 2 bends")
    assert "R 90 mm" in page["routes"][0]["bends"]
    lengths = [one["length"]["si"] for one in page["routes"] if "2 bends" in one["title"]]
    assert lengths == sorted(lengths)
    assert lengths[0] > 0.6  # the ports stand 0.63 m apart


def test_a_route_taken_is_a_design_whose_pieces_reach_the_port(site: Site) -> None:
    route = site.find()["routes"][0]
    design = site.browser.get_json(site.take(route["mark"]).headers["location"])
    assert design["name"] == "Route 1"
    assert (design["from_port"], design["to_port"]) == ("Compressor outlet", "Cooler inlet")
    kinds = [one["name"] for one in design["pieces"]]
    assert kinds[0] == "Coupler at the start"
    assert kinds[-1] == "Reducer at the end"
    assert [one for one in kinds if one.startswith("Bend")] == ["Bend 1", "Bend 2"]
    assert "reach" in {one["code"] for one in design["passed_checks"]}


def test_a_keep_out_in_the_way_turns_the_route_aside(site: Site) -> None:
    free = site.find(most_bends="3")["routes"][0]
    wall = {"shape": "box", "what": "something else", "frame": "engine", "gap": "5"}
    wall |= {"at": "380 175 200", "long": "80", "wide": "80", "high": "200"}
    site.browser.post(f"{site.build}/keep-outs", wall)
    page = site.find(most_bends="3")
    assert page["keep_outs"] == 1
    assert page["routes"][0]["mark"] != free["mark"] or "beside" in page["routes"][0]["nearest"]
    assert all("too near" not in one["nearest"] for one in page["routes"])


def test_a_route_that_changed_meanwhile_is_not_taken(site: Site) -> None:
    mark = site.find()["routes"][0]["mark"]
    address = f"{site.build}/ports/{site.ports[1]}/place"
    site.browser.post(address, {"way": "offsets", "forward": "680", "left": "300", "up": "100"})
    refused = site.take(mark)
    assert refused.status_code == 422
    assert "no longer among those found" in refused.text


def test_a_run_taken_is_checked_against_keep_outs_as_long_as_it_ends_at_its_port(site: Site) -> None:
    route = site.find()["routes"][0]
    design = site.take(route["mark"]).headers["location"]
    assert site.browser.get_json(f"{design}/neighbours")["in_car"].startswith(
        "In the car it ends at Cooler inlet"
    )
    line = {"what": "brake line", "shape": "ball", "at": "640 300 165", "across": "5", "gap": "20"}
    site.browser.post(f"{site.build}/keep-outs", line)
    page = site.browser.get_json(f"{design}/neighbours")
    assert [one["name"] for one in page["near"]] == ["brake line"]
    assert page["near"][0]["href"].startswith(f"{site.build}/keep-outs?edit=")
    gap = next(one for one in page["checks"] if one["code"] == "line-gap")
    assert gap["verdict"]["word"] == "no-go"
    assert site.browser.get(gap["cure_href"], follow_redirects=True).status_code == 200
    address = f"{site.build}/ports/{site.ports[1]}/place"
    site.browser.post(address, {"way": "offsets", "forward": "700", "left": "300", "up": "100"})
    page = site.browser.get_json(f"{design}/neighbours")
    assert page["in_car"].startswith("In the car its end is 50 mm off Cooler inlet")
    assert page["near"] == []
    told = next(one for one in site.browser.get_json(design)["open_checks"] if one["code"] == "reach")
    assert told["verdict"]["word"] == "no-go"
    assert "ends 50 mm off Cooler inlet" in told["why"]


def test_no_bend_that_reaches_says_what_would_help(site: Site) -> None:
    page = site.find(most_bends="0")
    assert page["routes"] == []
    assert "bend" in page["reason"]


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"outside": "-60"}, "Outside diameter: -60 is out of range."),
        ({"outside": "2"}, "Did you mean 2 in"),
        ({"wall": "40 mm"}, "Wall: 40 mm is out of range."),
        ({"wall": ""}, "Wall is missing."),
        ({"most_bends": "9"}, "Bends at the most: 9 is out of range."),
        ({"radius1": "20"}, "That radius is inside the tube."),
        ({"angle1": ""}, "Bend 1, angle is missing."),
        ({"angle1": "400"}, "Bend 1, angle: 400 is out of range."),
        ({"leg2": "-3", "radius2": "90", "angle2": "45"}, "Bend 2, legs: -3 is out of range."),
        ({"end_port_id": "99"}, "To: choose one of the list."),
        ({"shortest": "long"}, "Shortest straight between bends: "),
        ({"material": "cheese"}, "Material: choose one of the list."),
    ],
)
def test_what_can_t_be_used_is_told_beside_its_field(
    site: Site, fields: dict[str, str], message: str
) -> None:
    refused = site.ask(**fields)
    assert refused.status_code == 422
    assert message in " ".join(one["message"] for one in refused.json()["form"]["errors"])


def test_ports_without_a_pose_lead_to_where_it_is_read(browser: Browser) -> None:
    build = browser.post("/builds", {"name": "Orrin", "car": "saloon"}).headers["location"]
    build = f"/builds/{number_in(build)}"
    subsystem = browser.post(f"{build}/subsystems", {"kind": "charge pipe"}).headers["location"].split("?")[0]
    number = str(number_in(subsystem))
    for name in ("Outlet", "Inlet"):
        browser.post(f"{build}/ports", {"name": name, "subsystem_id": number})
    page = browser.get_json(f"{subsystem}/routes")
    assert [one["name"] for one in page["without"]] == ["Outlet", "Inlet"]
    assert "Where the ports are" in browser.get(f"{subsystem}/routes").text
