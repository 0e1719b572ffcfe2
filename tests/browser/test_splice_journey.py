"""On a phone: two salvaged pipes, a splice found and taken, its cut sheet, and its pipe trimmed twice.

Screenshots of each step are kept where `WITNESS_MARK_SHOTS` names a folder.
"""

import math
import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_journey import shot
from tests.pdf_paths import Sheet, sheets


def type_pipe(page: Page, pipe: str, at: str, corners: str) -> None:
    page.locator(f"#f-{pipe}_at").fill(at)
    page.locator(f"#f-{pipe}_as").select_option("corners")
    page.locator(f"#f-{pipe}_rows").fill(corners)


def trim(page: Page, long_by: str, trims: int) -> None:
    page.locator("#f-excess").fill(long_by)
    page.get_by_role("button", name="Write the reading down").tap()
    page.get_by_role("button", name="It is off").tap()
    expect(page.locator("main li").filter(has_text="taken off")).to_have_count(trims)


def handed_out(page: Page, name: str) -> list[Sheet]:
    """The file behind a link of the page, as the phone would keep it, read back."""
    with page.expect_download() as kept:
        page.get_by_role("link", name=name).first.tap()
    assert kept.value.suggested_filename.endswith(".pdf")
    return sheets(kept.value.path().read_bytes())


def test_two_salvaged_pipes_become_a_design_that_is_cut_and_trimmed(demo_phone: Page) -> None:
    page = demo_phone
    page.goto("/builds/1/subsystems/3")
    page.get_by_role("link", name="Join two salvaged pipes").tap()
    shot(page, "splice-01-form")
    for name in ("start_port_id", "end_port_id"):
        page.locator(f"#f-{name}").select_option("")
    type_pipe(page, "fixed", "0 0 0", "150 0 0 95\n420 60 90")
    type_pipe(page, "turning", "640 260 60", "640 100 60 95\n460 -40 190")
    page.locator("#f-holes").fill("6")
    page.locator("#f-outside").fill("63.5")
    page.locator("#f-wall").fill("1.6")
    page.locator("#f-turning_outside").fill("60")
    page.locator("#find-splices").tap()
    expect(page.locator(".problem").first).to_contain_text("A mitre joins pipes of one outside diameter")
    shot(page, "splice-02-refused")
    page.locator("#f-turning_outside").fill("")
    page.locator("#find-splices").tap()

    first = page.locator(".route-card").first
    expect(first).to_contain_text("from its flange, along the middle")
    expect(first).to_contain_text(re.compile("o'clock|half past"))
    shot(page, "splice-03-found")
    first.locator("summary").tap()
    expect(first).to_contain_text("one standard uncertainty")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator("#take-1").tap()
    pieces = page.locator(".pieces li")
    expect(pieces.first).to_contain_text("Fixed pipe, sawn")
    expect(pieces.last).to_contain_text("Turning pipe, sawn")
    shot(page, "splice-04-taken")

    page.get_by_role("link", name="Cut sheet").tap()
    expect(page.get_by_role("heading", level=2).filter(has_text="Fixed pipe, sawn")).to_be_visible()
    shot(page, "splice-05-cuts")
    cuts = page.url
    on_paper = handed_out(page, "PDF, A4")
    assert len(on_paper) == 1 + page.locator("main section.own-page").count()
    assert "Saw at the outlet" in on_paper[1].text
    page.locator("#piece-1").get_by_role("link", name="Template of the cut at the outlet").tap()
    expect(page.get_by_text("Print the template")).to_be_visible()
    shot(page, "splice-06-template")
    template = handed_out(page, "PDF, A4")
    assert any("12 o'clock" in sheet.text for sheet in template)
    # Once round 63.5 mm of pipe and 0.1 mm of paper, printed at full size.
    assert any(stroke.length == pytest.approx(math.pi * 63.6, abs=0.2) for stroke in template[0].strokes)
    page.goto(cuts)
    page.locator("#piece-1").get_by_role("link", name="Offer it up").tap()
    trim(page, "4", 1)
    trim(page, "1.5", 2)
    shot(page, "splice-07-trimmed")
    page.goto("/builds/1/log")
    lines = page.locator("main").get_by_text(re.compile(r"Fixed pipe, sawn .* taken off"))
    expect(lines).to_have_count(2)
    shot(page, "splice-08-log")
