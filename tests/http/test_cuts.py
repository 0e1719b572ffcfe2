"""The cut sheet of a design: a summary, a page a piece on either paper, templates for bends of pie cuts."""

import pytest

from tests.asking import Browser
from tests.http.intake_build import make_build, stored
from tests.pdf_paths import sheets

CUTS = "/builds/1/designs/4/cuts"


def test_every_piece_is_in_the_summary_and_each_cut_one_has_its_own_part(demo: Browser) -> None:
    assert f'href="{CUTS}"' in demo.get("/builds/1/designs/4").text
    found = demo.get_json(CUTS)
    assert [row["cells"][0] for row in found["summary"]["rows"]] == ["1", "2", "3", "4", "5", "6"]
    assert [one["number"] for one in found["pieces"]] == [2, 3, 5, 6]
    assert found["as_bought"] == "Used as bought: 1, 4."
    facts = dict(map(tuple, found["pieces"][0]["facts"]))
    assert facts["Bend"] == "75° on a radius of 114 mm"
    assert facts["Inside of the bend"] == "270° (9 o'clock)"
    trims = demo.get_json(found["pieces"][0]["trims"])
    assert facts["First cut"] == f"{trims['first_cut']}: {trims['long_by']} long, trimmed to fit", (
        "one answer"
    )
    assert found["summary"]["rows"][1]["cells"][3] == trims["first_cut"]


@pytest.mark.parametrize(("paper", "size"), [("a4", (210.0, 297.0)), ("letter", (215.9, 279.4))])
def test_on_paper_there_is_a_summary_and_a_page_a_piece(
    demo: Browser, paper: str, size: tuple[float, float]
) -> None:
    answer = demo.get(f"{CUTS}.pdf?paper={paper}")
    assert answer.headers["content-type"] == "application/pdf"
    pages = sheets(answer.content)
    assert len(pages) == 5
    assert (pages[0].wide, pages[0].high) == pytest.approx(size, abs=0.1)
    assert "Summary" in pages[0].text
    drawn = demo.get_json(f"{CUTS.removesuffix('/cuts')}/isometric")["drawing"]["words"]
    assert drawn
    assert all(word["text"] in pages[0].text for word in drawn), "the isometric drawing stands under it"
    for page, name in zip(
        pages[1:], ("First bend", "Down tube", "Second bend", "Old front pipe"), strict=True
    ):
        assert name in page.text
        assert "Finished length" in page.text
    assert "Oxygen sensor" in pages[2].text


def test_a_bend_leads_to_the_template_that_makes_it_of_pie_cuts(demo: Browser) -> None:
    """75° in three cuts: the saw at 12.5°, radius and outside as the piece has them."""
    link = demo.get_json(CUTS)["pieces"][0]["templates"][0]["href"]
    found = demo.get_json(link)
    assert found["found"]["figures"][0]["value"]["text"] == "12.5°"
    assert found["form"]["typed"]["outside_diameter_mm"] == "76.10"
    assert len(found["files"]) == 4
    assert demo.get_json(CUTS)["pieces"][1]["templates"] == []


def test_a_run_without_pieces_has_nothing_to_cut(browser: Browser) -> None:
    build = make_build(browser)
    made = browser.post(f"/builds/{build}/subsystems", {"kind": "intake", "name": "Intake"})
    subsystem = stored(made)
    design = stored(browser.post(f"/builds/{build}/subsystems/{subsystem}/designs", {"name": "First"}))
    for what in ("cuts", "isometric"):
        page = browser.get(f"/builds/{build}/designs/{design}/{what}")
        assert page.status_code == 200
        assert "No pieces yet" in page.text
    assert len(sheets(browser.get(f"/builds/{build}/designs/{design}/cuts.pdf").content)) == 1
