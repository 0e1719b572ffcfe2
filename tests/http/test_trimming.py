"""A piece cut long and trimmed to fit: readings, what came off, what is left over."""

from dataclasses import dataclass
from typing import Any

import pytest

from tests.asking import Browser


@dataclass(frozen=True)
class Bench:
    """A tube of the demo's downpipe, welded at both ends, at the bench."""

    browser: Browser
    address: str

    def page(self) -> Any:
        return self.browser.get_json(self.address)

    def read(self, excess: str, read_with: str = "rule") -> Any:
        response = self.browser.post(self.address, {"excess": excess, "read_with": read_with})
        assert response.status_code == 303, response.text
        return self.page()

    def take(self, taken_off: str, version: str = "") -> Any:
        page = self.page()
        fields = {"taken_off": taken_off, "version": version or str(page["last_version"])}
        return self.browser.post(f"{self.address}/{page['last']['id']}", fields)


@pytest.fixture
def bench(demo: Browser) -> Bench:
    subsystems = demo.get_json("/builds/1/subsystems")["subsystems"]
    address = next(one["href"] for one in subsystems if one["name"] == "Downpipe")
    design = next(one["href"] for one in demo.get_json(address)["designs"] if one["chosen"])
    piece = next(one["id"] for one in demo.get_json(design)["pieces"] if one["name"] == "Down tube")
    return Bench(demo, f"{design}/pieces/{piece}/trims")


def test_before_the_first_cut_it_says_how_long_to_cut(bench: Bench) -> None:
    page = bench.page()
    assert page["state"] == "reading"
    assert page["to_do"] == "Cut it, offer it up, read it."
    wanted, cut, left = (float(page[name].split()[0]) for name in ("wanted", "first_cut", "long_by"))
    assert cut == pytest.approx(wanted + left, abs=0.11)
    assert left > 5.0
    design, _, piece = bench.address.removesuffix("/trims").partition("/pieces/")
    assert f'href="{bench.address}"' in bench.browser.get(f"{design}?piece={piece}").text


def test_a_piece_is_trimmed_twice_and_fits(bench: Bench) -> None:
    first = bench.read("14")
    assert first["state"] == "trim"
    assert first["to_do"].startswith("Saw 12.")
    assert "widths of the blade" in first["to_do"]
    assert bench.take(first["proposed"]).status_code == 303
    assert bench.page()["to_do"] == "Offer it up again and read what is left."
    second = bench.read("2 mm", "digital_caliper")
    assert second["to_do"].startswith("File or grind")
    assert bench.take("1.4 mm").status_code == 303
    done = bench.read("0.5")
    assert done["state"] == "fits"
    assert [line["text"] for line in done["lines"]] == [
        "0.50 ± 0.23 mm too long",
        "2.00 ± 0.05 mm too long, 1.4 mm taken off",
        "14.00 ± 0.23 mm too long, 12.9 mm taken off",
    ]


def test_a_gap_that_no_weld_closes_is_told(bench: Bench) -> None:
    page = bench.read("-4")
    assert page["state"] == "short"
    assert page["lines"][0]["text"].startswith("gap of 4.0")


def test_a_reading_by_eye_is_too_coarse_to_cut_on(bench: Bench) -> None:
    page = bench.read("2", "feel")
    assert page["state"] == "spent"
    assert "read it finer" in page["why"]


def test_two_who_write_down_the_same_cut_see_both_values(bench: Bench) -> None:
    bench.read("14")
    page = bench.page()
    assert bench.take("12 mm").status_code == 303
    again = {"taken_off": "11 mm", "version": str(page["last_version"])}
    refused = bench.browser.post(f"{bench.address}/{page['last']['id']}", again)
    assert refused.status_code == 412
    assert "12 mm" in refused.text
    assert "11 mm" in refused.text


def test_a_struck_line_counts_no_more_and_can_come_back(bench: Bench) -> None:
    line = bench.read("14")["last"]
    bench.browser.post(f"{bench.address}/{line['id']}/withdrawal", {})
    page = bench.page()
    assert (page["state"], page["lines"]) == ("reading", [])
    bench.browser.post(f"{bench.address}/{line['id']}/return", {})
    assert bench.page()["state"] == "trim"


@pytest.mark.parametrize("excess", ["", "abc", "3 m", "12 kg", "-2000"])
def test_a_reading_that_is_none_is_told_beside_its_field(bench: Bench, excess: str) -> None:
    response = bench.browser.post(bench.address, {"excess": excess, "read_with": "rule", "note": "kept"})
    assert response.status_code == 422
    assert "Too long by" in response.text
    assert 'value="kept"' in response.text
    assert bench.page()["lines"] == []


def test_what_is_left_over_goes_to_the_shelf(bench: Bench) -> None:
    part = "Aluminium tube 63.5 × 1.5 mm, 500 mm"
    response = bench.browser.post(f"{bench.address}/rest", {"part": part, "length": "317 mm"})
    assert response.status_code == 303, response.text
    assert "317 mm" in bench.browser.get("/builds/1/shelf").text
    refused = bench.browser.post(f"{bench.address}/rest", {"part": "no such", "length": "310 mm"})
    assert refused.status_code == 422
    assert "No part is called" in refused.text


def test_no_piece_of_another_design_is_shown(bench: Bench) -> None:
    elsewhere = bench.address.replace("/pieces/", "/pieces/9")
    assert bench.browser.get(elsewhere).status_code == 404


def test_the_log_tells_who_trimmed_what(bench: Bench) -> None:
    bench.read("14")
    bench.take("12 mm")
    told = bench.browser.get("/builds/1/log").text
    assert "Down tube: 14.00 ± 0.23 mm too long, 12 mm taken off" in told


def test_with_both_ports_placed_the_first_cut_rests_on_their_doubt(bench: Bench) -> None:
    """The demo's old places are read anew, to 2 mm and by gauge: less is left on than for a run by eye."""
    design = bench.browser.get_json(bench.address.partition("/pieces/")[0])
    ends = [design["settings"][end] for end in ("start_port_id", "end_port_id")]
    tight = {"forward": "0 ± 0.5 mm", "left": "0 ± 0.5 mm", "up": "0 ± 0.5 mm"}
    for port in ends:
        bench.browser.post(f"/builds/1/ports/{port}/place", {"way": "offsets", **tight})
        bench.browser.post(
            f"/builds/1/ports/{port}/place",
            {"way": "gauge", "heading": "180 ± 0.1 deg", "dip": "0 ± 0.1 deg"},
        )
    page = bench.page()
    assert page["doubt_from"] == "from the doubt of where its two ports are and how they face"
    assert 0.1 < float(page["doubt"].split()[0]) < 3.0
    assert float(page["long_by"].split()[0]) < 10.0
