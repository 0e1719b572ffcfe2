"""The compressor's map: typed or pasted, checked, and drawn with the engine's line on it."""

import re
from dataclasses import replace

import pytest

from tests.asking import Browser
from tests.core.air.invented_map import as_text, invented_map


@pytest.fixture
def sheet(demo: Browser) -> str:
    address, _, _ = demo.get("/builds/1/figures/turbo.map").headers["location"].partition("#")
    return str(address)


def test_the_map_of_the_demo_is_drawn_with_its_contours_and_the_engine_s_line(
    demo: Browser, sheet: str
) -> None:
    plot = demo.get_json(sheet)["picture"]["plot"]
    assert {one["text"] for one in plot["edges"]} == {"surge", "edge"}
    assert "75 %" in {one["text"] for one in plot["contours"]}
    assert len(plot["thick"].split()) == 6
    assert [one["text"] for one in plot["spots"]] == ["2000", "3000", "4000", "", "6000"]
    page = demo.get(sheet).text
    assert 'role="img" aria-labelledby="map-title" aria-describedby="map-desc"' in page
    assert '<title id="map-title">Compressor map' in page
    assert re.search(
        r'<desc id="map-desc">From [\d.]+ g/s at a pressure ratio of [^<]+ from its surge line', page
    )


def test_every_speed_stands_in_the_table_beside_the_picture(demo: Browser, sheet: str) -> None:
    rows = demo.get_json(sheet)["picture"]["rows"]
    assert [row["rpm"] for row in rows] == ["2000", "3000", "4000", "5000", "6000", "6600"]
    assert rows[0]["surge"] == "—"


def test_a_map_with_headings_and_other_units_is_read(demo: Browser, sheet: str) -> None:
    pasted = as_text(invented_map())
    assert demo.post(sheet, {"version": "1", "turbo.map": pasted}).status_code == 303
    page = demo.get_json(sheet)
    assert page["fields"][0]["value"] == pasted
    assert {one["code"] for one in [*page["open_checks"], *page["passed_checks"]]} == {
        "map-surge",
        "map-edge",
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0.1; 1.5", "Row 1"),
        ("0.1; 1.5; 70 %\n0.2; fast; 74 %\n0.3; 2.5; 70 %", "Row 2"),
        ("0.1; 0.5; 70 %\n0.2; 2.0; 74 %\n0.3; 2.5; 70 %", "Row 1"),
        ("0.1; 1.5; 170 %\n0.2; 2.0; 74 %\n0.3; 2.5; 70 %", "Row 1"),
        ("x" * 19_001, "19001 characters"),
    ],
)
def test_a_map_that_can_not_be_read_is_refused_beside_its_field(
    demo: Browser, sheet: str, text: str, said: str
) -> None:
    answer = demo.post(sheet, {"version": "1", "turbo.map": text})
    assert answer.status_code == 422
    assert said in answer.text
    assert demo.get_json(sheet)["version"] == 1


def test_an_emptied_map_asks_for_one(demo: Browser, sheet: str) -> None:
    demo.post(sheet, {"version": "1", "turbo.map": ""})
    page = demo.get_json(sheet)
    assert page["picture"] is None
    assert page["verdict"]["word"] == "not measured"


def test_boost_above_the_map_is_told_beside_the_boost_too(demo: Browser, sheet: str) -> None:
    """The demo's map reaches over its boost; one of half the height does not."""
    assert "above the compressor's map" not in demo.get("/builds/1/engine").text
    low = replace(invented_map(), points=tuple(p for p in invented_map().points if p.ratio < 1.6))
    assert demo.post(sheet, {"version": "1", "turbo.map": as_text(low)}).status_code == 303
    page = demo.get_json("/builds/1/engine")
    most = max(point.ratio for point in low.points)
    assert page["map_over"].endswith(f"rpm; the map ends at {most:.2f}")
    assert "above the compressor's map" in demo.get("/builds/1/engine").text
