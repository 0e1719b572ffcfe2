"""The whole way with real taps on a phone: an empty garage, a checked intake, a delivery, the next job.

Screenshots of each step are kept where `WITNESS_MARK_SHOTS` names a folder.
"""

import os
import re
from pathlib import Path

from playwright.sync_api import Page, expect

SHOTS = os.environ.get("WITNESS_MARK_SHOTS")


def shot(page: Page, name: str) -> None:
    if SHOTS:
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(SHOTS) / f"{name}.png", caret="initial")


def go(page: Page, sheet: str) -> None:
    """To another sheet of the build, by the list of sheets."""
    page.get_by_text("Sheets", exact=True).first.tap()
    page.get_by_role("navigation", name="Sheets").get_by_role("link", name=sheet, exact=True).tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text(sheet)


def start_build(page: Page, live: str) -> None:
    page.goto(live)
    shot(page, "01-no-build-yet")
    page.get_by_label("Name of the build").fill("The grey saloon")
    page.locator("#f-car").fill("1999 saloon, 2.1 litre four")
    page.get_by_role("button", name="Start this build").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Starting set")
    page.get_by_role("link", name=re.compile("^Start empty")).tap()


def fill_engine_sheet(page: Page) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text("Engine")
    page.locator("[name=displacement]").fill("2100 cc")
    page.locator("[name=redline]").fill("6600")
    page.locator("[name=boost]").fill("14.5 psi")
    shot(page, "02-engine-sheet")
    page.get_by_role("button", name=re.compile("^Save")).first.tap()
    expect(page.locator("svg").filter(has_text=re.compile("rpm")).first).to_be_visible()
    shot(page, "03-air-demand")


def add_subsystem(page: Page) -> None:
    go(page, "Subsystems")
    page.get_by_label("What it is").select_option("intake")
    page.get_by_role("button", name="Add it").tap()


def add_port(page: Page, name: str, readings: dict[str, str], **choices: str) -> None:
    """A port with readings, each typed as a person types it."""
    go(page, "Ports")
    form = page.locator("#new-name")
    if not form.is_visible():
        page.locator("summary").filter(has_text=re.compile("port", re.I)).first.tap()
    form.fill(name)
    fold = page.locator("details").filter(has=page.locator("#new-end_form"))
    if fold.count() and not page.locator("#new-end_form").is_visible():
        fold.last.locator("summary").last.tap()
    for field, text in choices.items():
        page.locator(f"#new-{field}").select_option(label=text)
    page.get_by_role("button", name=re.compile("^Add")).last.tap()
    label = page.locator("#reading-form label").first
    for dimension, text in readings.items():
        asked = re.compile(f"^{dimension}", re.I)
        if not asked.match(label.inner_text()):  # else it is asked for already
            pick = page.locator(".picks a").filter(has_text=asked).first
            if not pick.is_visible():
                page.get_by_text("Measure something else").tap()
            pick.tap()
            expect(label).to_contain_text(asked)
        page.locator("#reading-form [name=reading]").fill(text)
        page.locator("#save-reading").tap()
        expect(page.locator(".readings b").get_by_text(text, exact=True).first).to_be_visible()
    shot(page, f"04-port-{name.replace(' ', '-').lower()}")


def start_design(page: Page) -> None:
    go(page, "Subsystems")
    page.get_by_role("link", name="Intake").tap()
    page.locator("#f-name").fill("Bought elbow")
    page.locator("#f-start_port_id").select_option(label="Air meter outlet")
    page.locator("#f-end_port_id").select_option(label="Compressor inlet")
    page.get_by_role("button", name="Start the design").tap()


def add_piece(page: Page, kind: str, sizes: dict[str, str], ends: str = "", wire: bool = False) -> None:
    page.locator(".kinds").get_by_role("link", name=kind, exact=True).tap()
    for field, text in sizes.items():
        page.locator(f"#editor [name={field}]").fill(text)
    if ends:
        page.locator("#editor [name=inlet_end]").select_option(ends)
        page.locator("#editor [name=outlet_end]").select_option(ends)
    if wire:
        page.get_by_text("Wire or helix inside").tap()
    page.get_by_role("button", name="Add the piece").tap()
    expect(page.locator("#piece-form")).to_be_visible()


def add_side_port(page: Page, number: int, line: str, at: str, bore: str) -> None:
    page.locator(".pieces li").nth(number - 1).get_by_role("link").tap()
    page.locator("#new-bung summary").tap()
    page.locator("#b-port").select_option(label=line)
    page.locator("#b-at").fill(at)
    page.locator("#b-bore").fill(bore)
    page.get_by_role("button", name="Add the side port").tap()
    expect(page.locator("#editor .rows").get_by_text(line)).to_be_visible()


RATED = {"wall": "5", "rated_pressure": "4 bar", "rated_temperature": "150 °C"}


def build_intake(page: Page) -> None:
    add_piece(page, "coupler", {"bore": "80 mm", "length": "3 in", **RATED}, wire=True)
    add_piece(page, "tube", {"outside_diameter": "80", "wall": "2", "length": "150"}, "bead")
    elbow = {"bore": "80", "bend_angle": "90", "bend_radius": "110", "length": "60", "length_out": "60"}
    add_piece(page, "hose elbow", elbow | RATED, wire=True)
    add_piece(page, "tube", {"outside_diameter": "60", "wall": "2", "length": "120"}, "bead")
    add_piece(page, "reducer", {"bore": "80", "bore_out": "4 in", "length": "90", **RATED}, wire=True)
    add_piece(page, "tube", {"outside_diameter": "4 in", "wall": "2", "length": "100"}, "bead")
    add_piece(page, "coupler", {"bore": "101.6", "length": "80", **RATED}, wire=True)
    add_side_port(page, 2, "Crankcase breather", "60 mm", "19")
    add_side_port(page, 4, "Bypass return", "60 mm", "1 in")
    expect(page.locator(".pieces li")).to_have_count(7)


def see_and_cure_the_no_go(page: Page) -> None:
    cure = page.locator("#first-cure")
    expect(cure).to_contain_text("narrows the run")
    cure.scroll_into_view_if_needed()
    shot(page, "05-no-go-seen")
    bore = re.findall(r"\(([\d.]+) mm outside\)", cure.inner_text())
    cure.get_by_role("link", name="Go to it").tap()
    field = page.locator("#f-outside_diameter")
    field.scroll_into_view_if_needed()
    before = field.bounding_box()
    field.fill(f"{float(bore[0]):.1f} mm")
    field.press("Tab")
    expect(page.locator("#check-bore-held")).to_have_count(0)
    after = field.bounding_box()
    assert before is not None
    assert after is not None
    assert abs(before["y"] - after["y"]) < 4, "the field moved under the thumb"
    assert page.evaluate("document.activeElement.id") == "f-wall"
    shot(page, "06-cured-under-the-thumb")


def order_the_reducer(page: Page) -> None:
    go(page, "Orders")
    page.get_by_label("Supplier").fill("Tarn Hose & Clamp")
    page.locator("[name=ordered_on]").fill("2026-11-16")
    page.locator("[name=due_on]").fill("2026-11-23")
    page.locator("[name=part_1]").fill("101.6 to 80 mm reducer")
    page.locator("[name=quantity_1]").fill("1")
    page.locator("[name=price_1]").fill("24,50")
    page.get_by_role("button", name="Note this order").tap()
    expect(page.get_by_text("2 days late").first).to_be_visible()


def plan_the_fitting(page: Page) -> None:
    go(page, "Work")
    if not page.get_by_label("What is to be done").is_visible():
        page.locator("summary").filter(has_text="New task").tap()
    page.get_by_label("What is to be done").fill("Fit the intake")
    page.locator("[name=likely]").fill("90 min")
    page.get_by_role("button", name="Add this task").tap()
    page.get_by_text("It needs a part").tap()
    page.locator("[name=part_id]").select_option(label="101.6 to 80 mm reducer")
    page.locator("form").filter(has=page.locator("[name=part_id]")).get_by_role("button").tap()
    expect(page.get_by_text("in the post").first).to_be_visible()


def see_it_held_then_freed(page: Page) -> None:
    go(page, "Garage")
    held = page.locator("li").filter(has_text="Fit the intake")
    expect(held.first).to_contain_text("101.6 to 80 mm reducer")
    shot(page, "07-held-by-the-reducer")
    page.get_by_role("button", name=re.compile("^Arrived: .*reducer")).tap()
    expect(page.get_by_text("Now ready:")).to_be_visible()
    expect(page.locator("h2").filter(has_text="Do now")).to_be_visible()
    first = page.locator("h2:has-text('Do now') + ol li").first
    expect(first).to_contain_text("Fit the intake")
    page.evaluate("scrollTo(0, 0)")
    shot(page, "08-freed-and-first-to-do")


def test_from_an_empty_garage_to_a_freed_task(phone: Page, live: str) -> None:
    start_build(phone, live)
    fill_engine_sheet(phone)
    add_subsystem(phone)
    add_port(phone, "Air meter outlet", {"outside diameter": "80 mm", "wall": "2,5 mm"}, end_form="bead")
    add_port(phone, "Compressor inlet", {"outside diameter": "4 in", "wall": "1/8 in"}, end_form="bead")
    side = {
        "role": "a side port, to find a place on a run",
        "subsystem_id": "A Intake",
        "stretch": "between air meter and compressor",
    }
    add_port(phone, "Crankcase breather", {"bore": '3/4"'}, **side)
    add_port(phone, "Bypass return", {"bore": "25.4 mm"}, **side)
    start_design(phone)
    build_intake(phone)
    see_and_cure_the_no_go(phone)
    order_the_reducer(phone)
    plan_the_fitting(phone)
    see_it_held_then_freed(phone)
