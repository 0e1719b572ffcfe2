"""Patterns as a person asks for them: from a sum's page to a file that a printer or a cutter takes."""

import io
from urllib.parse import urlencode

import pytest
from ezdxf.filemanagement import read

from tests.asking import Browser
from tests.asking_sums import ask
from tests.pdf_paths import sheets

MITRE = {
    "outside_diameter_mm": "63.5 mm",
    "bend_deg": "90",
    "cuts": "3",
    "centreline_radius_mm": "95",
    "ordinates": "16",
    "paper_mm": "0.1",
    "wall_mm": "1.6",
}


@pytest.mark.parametrize("name", ["mitre", "flange", "compound-cut"])
def test_a_sum_s_page_leads_to_its_pattern_in_every_form(bench: Browser, name: str) -> None:
    found = bench.get_json(bench.get_json(f"/sums/{name}")["example"])
    assert [file["text"] for file in found["files"]] == ["PDF, A4", "PDF, US Letter", "SVG", "DXF"]
    a4, letter, svg, dxf = (bench.get(file["href"]) for file in found["files"])
    assert round(sheets(a4.content)[0].wide) in {297, 210}
    assert round(sheets(letter.content)[0].wide) in {279, 216}
    assert svg.headers["content-type"].startswith("image/svg+xml")
    assert "mm" in svg.text
    assert read(io.StringIO(dxf.text)).units == 4
    assert all(one.headers["content-disposition"].startswith("attachment") for one in (a4, letter, svg, dxf))


def test_a_template_says_wall_paper_and_how_every_cut_is_marked_with_it(bench: Browser) -> None:
    """95 tan 15° = 25.5 mm to the first cut, twice that from each to the next."""
    page = sheets(bench.get(f"/sums/mitre/pattern/a4.pdf?{urlencode(MITRE)}").content)[0]
    text = " ".join(page.text.split())
    assert "wall 1.6 mm" in text
    assert "paper 0.1 mm thick: once round is 199.8 mm" in text
    assert "first cut 25.5 mm from the pipe's square end, each next 50.9 mm" in text


def test_what_has_no_answer_has_no_pattern_and_the_page_says_why(bench: Browser) -> None:
    typed = MITRE | {"other_outside_diameter_mm": "76.1"}
    shown = bench.get_json(f"/sums/mitre?{urlencode(typed)}")
    assert shown["files"] == []
    assert "reducer" in shown["found"]["reason"]
    for bad in (typed, MITRE | {"cuts": "none"}):
        answer = bench.get(f"/sums/mitre/pattern/a4.pdf?{urlencode(bad)}")
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/sums/mitre?")
    assert bench.get("/sums/mitre/pattern/gif").status_code == 404
    assert bench.get("/sums/offset/pattern/svg").status_code == 404


def test_the_throat_is_marked_from_twelve_o_clock_where_that_is_said(bench: Browser) -> None:
    svg = bench.get(f"/sums/mitre/pattern/svg?{urlencode(MITRE | {'mark_deg': '-90'})}").text
    assert "12 o'clock" in svg.replace("&#x27;", "'")
    assert "Throat at 270°" in svg


def test_scripts_ask_for_a_flange_and_a_compound_cut(bench: Browser) -> None:
    """110 × 0.70711 by the table of chords; cos 45° cos 45° = cos 60°."""
    circle = {"holes": 4, "circle_mm": 110, "hole_mm": 10.5, "bore_mm": 76.1, "outside_mm": 140}
    found = ask(bench, "flange", circle)
    assert found["pitch_mm"] == pytest.approx(77.782, abs=1e-3)
    assert found["holes_mm"][1] == pytest.approx([55.0, 0.0], abs=1e-9), "the second hole is at 3 o'clock"
    assert "the bore" in ask(bench, "flange", circle | {"bore_mm": 105})["reason"]
    cut = ask(bench, "compound-cut", {"left_deg": 45, "up_deg": 45, "outside_diameter_mm": 63.5})
    assert cut["saw_angle_deg"] == pytest.approx(30.0)
    assert cut["cut_back_mm"] == pytest.approx(63.5 * 0.57735, abs=1e-3)
    straight = {"left_deg": 0, "up_deg": 0, "outside_diameter_mm": 63.5}
    assert "straight on" in ask(bench, "compound-cut", straight)["reason"]
    steep = {"left_deg": 150, "up_deg": 10, "outside_diameter_mm": 63.5}
    assert "over 60° from square" in ask(bench, "compound-cut", steep)["reason"]
