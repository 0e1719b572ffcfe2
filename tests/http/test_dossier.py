"""The dossier of a subsystem: page and PDF tell the same, and leave out nothing that was answered."""

import io
import re
from typing import Any

import pytest
from pypdf import PdfReader

from tests.asking import Browser
from tests.http.intake_build import fill_engine_sheet, make_build, stored

INTAKE, CHARGE, DOWNPIPE, HEATER, FUEL, SHIELDING = 1, 2, 4, 11, 13, 14
"""Subsystems of the demo: three with a design, two with figures, one that is work and parts alone."""
LONG = "W" * 80
HOSTILE = "<script>alert(1)</script> {{ 7 * 7 }} Дача 管 \u202e"


def address(subsystem: int, ending: str = "", build: int = 1) -> str:
    return f"/builds/{build}/subsystems/{subsystem}/dossier{ending}"


def told(browser: Browser, where: str) -> list[str]:
    """The text of each page of a PDF, without the room between letters."""
    answer = browser.get(where)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/pdf"
    return ["".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(answer.content)).pages]


def squeezed(text: str) -> str:
    return "".join(text.split())


def checks_of(page: dict[str, Any]) -> dict[str, str]:
    return {one["line"]["title"]: one["line"]["verdict"]["word"] for one in page["checks"]}


@pytest.mark.parametrize("subsystem", [INTAKE, CHARGE, DOWNPIPE])
def test_every_verdict_of_the_design_page_is_in_its_dossier(demo: Browser, subsystem: int) -> None:
    page = demo.get_json(address(subsystem))
    design = demo.get_json(f"/builds/1/designs/{page['design_id']}")
    asked = [*design["open_checks"], *design["passed_checks"]]
    assert checks_of(page) == {one["title"]: one["verdict"]["word"] for one in asked}
    assert page["verdict"] == design["verdict"]
    assert page["unprinted"] == ""
    whole = demo.get(address(subsystem)).text
    assert all(f'id="check-{one["code"]}"' in whole for one in asked)


@pytest.mark.parametrize("subsystem", [DOWNPIPE, HEATER, FUEL])
def test_the_pdf_tells_what_the_page_tells(demo: Browser, subsystem: int) -> None:
    page = demo.get_json(address(subsystem))
    paper = "".join(told(demo, address(subsystem, ".pdf")))
    for check in page["checks"]:
        line = check["line"]
        assert squeezed(line["title"]) + line["verdict"]["word"].upper().replace(" ", "") in paper
        assert squeezed(check["signs"][0]["meaning"])[:40] in paper
    for table in page["tables"]:
        assert squeezed(table["title"]) in paper
        for row in table["rows"]:
            assert squeezed(row["cells"][0])[:14] in paper
    for pair in [*page["facts"], *page["peak"]]:
        assert squeezed(pair["label"]) in paper
    assert all(squeezed(text)[:30] in paper for text in page["missing"])


def test_each_page_has_the_head_and_its_number(demo: Browser) -> None:
    pages = told(demo, address(DOWNPIPE, ".pdf"))
    assert len(pages) > 5
    for number, page in enumerate(pages, 1):
        assert f"{number}of{len(pages)}" in page
        assert "Vesper,bigturbo" in page
        assert "25Nov2026" in page
        assert "builder" in page


def test_the_same_content_is_the_same_to_the_byte(demo: Browser) -> None:
    first, second = (demo.get(address(INTAKE, ".pdf")).content for _ in range(2))
    assert first == second
    disposition = demo.get(address(INTAKE, ".pdf")).headers["content-disposition"]
    assert disposition == 'attachment; filename="dossier-a-intake-vesper-big-turbo-2026-11-25.pdf"'


def test_a_concession_is_told_with_reason_name_and_date(demo: Browser) -> None:
    page = demo.get_json(address(DOWNPIPE))
    (row,) = page["concessions"]["rows"]
    reason = "The flange comes in one bore. The edge is dressed to a taper before it is welded."
    assert row["cells"] == ["Steps at joints", "tight", reason, "builder, 21 Nov 2026"]
    conceded = next(one["line"] for one in page["checks"] if one["line"]["code"] == "steps")
    assert (conceded["conceded"], conceded["signed"]) == (reason, "builder, 21 Nov 2026")
    paper = "".join(told(demo, address(DOWNPIPE, ".pdf")))
    assert squeezed(f"CONCEDED: {reason} (builder, 21 Nov 2026)") in paper


def test_a_changed_limit_is_told_with_reason_name_and_date(demo: Browser) -> None:
    change = {"value": "0.1", "reason": "Quiet at all cost", "version": "0"}
    demo.post("/builds/1/limits/mach.most", change)
    page = demo.get_json(address(CHARGE))
    speed = next(one for one in page["checks"] if one["line"]["code"] == "speed")
    row = next(row for row in speed["limits"]["rows"] if row["cells"][0] == "Mach number at the peak")
    words = "CHANGED to 0.1: Quiet at all cost (builder, 25 Nov 2026)"
    assert row["cells"] == ["Mach number at the peak", "0.3", words]
    assert row["under"], "where the usual value comes from stays in sight"
    assert squeezed("CHANGED to 0.1: Quiet") in "".join(told(demo, address(CHARGE, ".pdf")))
    assert "CHANGED to 0.1" in demo.get(address(CHARGE)).text


def test_readings_say_how_and_by_whom_they_were_taken(demo: Browser) -> None:
    page = demo.get_json(address(DOWNPIPE))
    readings = next(table for table in page["tables"] if table["id"] == "readings")
    first = readings["rows"][0]
    assert first["cells"] == [
        "Turbine outlet", "bore", "72.50 ± 0.05 mm", "digital caliper", "5 Nov 2026 20:15, builder",
    ]  # fmt: skip
    assert first["under"] == "typed 72.5 mm"


def test_a_formula_has_the_numbers_that_the_check_reports(demo: Browser) -> None:
    page = demo.get_json(address(DOWNPIPE))
    held = next(one for one in page["checks"] if one["line"]["code"] == "bore-held")
    here = {one["meaning"]: one["value"] for one in held["signs"]}
    assert here["bore asked: that of the smaller end port"] == "72.5 mm"
    assert here["bore of the piece"] == "73.1 mm"
    assert "<math" in demo.get(address(DOWNPIPE)).text


def test_what_is_fitted_has_a_dossier_without_a_design(demo: Browser) -> None:
    page = demo.get_json(address(FUEL))
    sheet = demo.get_json(f"/builds/1/subsystems/{FUEL}/figures")
    asked = [*sheet["open_checks"], *sheet["passed_checks"]]
    assert checks_of(page) == {one["title"]: one["verdict"]["word"] for one in asked}
    figures = next(table for table in page["tables"] if table["id"] == "figures")
    assert [row["cells"][:2] for row in figures["rows"]][:2] == [
        ["Number of injectors", "4"],
        ["Flow of one injector, held open", "550 cc/min"],
    ]
    assert page["missing"], "the pump was not measured yet"
    assert page["drawing"] is None


def test_a_subsystem_of_work_and_parts_alone_says_that_there_is_nothing_to_check(demo: Browser) -> None:
    page = demo.get(address(SHIELDING))
    assert "There is nothing to check yet" in page.text
    assert len(told(demo, address(SHIELDING, ".pdf"))) == 1


def test_one_of_several_designs_can_be_asked_for(demo: Browser) -> None:
    chosen = demo.get_json(address(CHARGE))
    other = demo.get_json(address(CHARGE, "?design=3"))
    assert (chosen["design_id"], other["design_id"]) == (2, 3)
    assert "not chosen" in str(other["facts"])
    links = demo.get("/builds/1/designs/3").text + demo.get(f"/builds/1/subsystems/{FUEL}/figures").text
    assert f'href="{address(CHARGE)}?design=3"' in links
    assert f'href="{address(FUEL)}"' in links


@pytest.mark.parametrize(
    "where",
    [
        address(999),
        address(INTAKE, build=99),
        address(INTAKE, ".pdf", build=99),
        address(999, ".pdf"),
        address(INTAKE, "?design=2"),
        address(INTAKE, "?design=999"),
        address(INTAKE, ".pdf?design=intake"),
    ],
)
def test_what_is_not_there_has_no_dossier(demo: Browser, where: str) -> None:
    assert demo.get(where).status_code == 404


def test_hostile_names_break_neither_page_nor_paper(browser: Browser) -> None:
    build = make_build(browser, f"{HOSTILE} {LONG}"[:80])
    fill_engine_sheet(browser, build)
    subsystem = stored(browser.post(f"/builds/{build}/subsystems", {"kind": "intake", "name": LONG[:40]}))
    port = {"name": HOSTILE[:60], "role": "run end", "shape": "spigot", "note": LONG}
    ports = [
        stored(browser.post(f"/builds/{build}/ports", port | {"name": name})) for name in (LONG, HOSTILE)
    ]
    reading = {"dimension": "bore", "reading": "80 mm", "instrument": "digital_caliper", "note": LONG * 3}
    browser.post(f"/builds/{build}/ports/{ports[0]}/readings", reading)
    ends = {"name": HOSTILE, "start_port_id": str(ports[0]), "end_port_id": str(ports[1])}
    design = stored(browser.post(f"/builds/{build}/subsystems/{subsystem}/designs", ends))
    piece = {"kind": "tube", "name": LONG, "outside_diameter": "80", "wall": "2", "length": "150"}
    assert browser.post(f"/builds/{build}/designs/{design}/pieces", piece).status_code == 303
    reason = {"rule": "bore-held", "reason": f"{HOSTILE} {LONG * 2}"}
    assert browser.post(f"/builds/{build}/designs/{design}/concessions", reason).status_code == 303
    page = browser.get(address(subsystem, build=build))
    assert page.status_code == 200
    assert "<script>alert" not in page.text
    assert "&lt;script&gt;alert(1)" in page.text
    assert "The PDF has no letters for Дач管: each stands there as a question mark" in page.text
    paper = told(browser, address(subsystem, ".pdf", build=build))
    assert "<script>alert(1)</script>{{7*7}}????" in "".join(paper)
    assert all(f"{number}of{len(paper)}" in one for number, one in enumerate(paper, 1))


def test_a_build_in_inches_is_told_in_inches_on_letter_paper(browser: Browser) -> None:
    answer = browser.post("/builds", {"name": "The coupe", "system": "inch"})
    build = int(re.findall(r"\d+", answer.headers["location"])[0])
    subsystem = stored(browser.post(f"/builds/{build}/subsystems", {"kind": "oil feed"}))
    content = browser.get(address(subsystem, ".pdf", build=build)).content
    box = PdfReader(io.BytesIO(content)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (612, 792)
    assert checks_of(browser.get_json(address(subsystem, build=build))), "what oil asks is told, not measured"
