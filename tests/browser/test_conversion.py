"""A conversion with real taps on a phone: starting set, two designs compared, one list, a parcel short.

The second run and most offers are tapped where the whole is asked for; else they come by plain posts, as in
`tests/http/test_from_design_to_parcel.py`. `WITNESS_MARK_SHOTS` names a folder for screenshots of each step.
"""

import re

from fastapi import FastAPI
from playwright.sync_api import Locator, Page, expect

from tests.asking import ask_aside
from tests.browser.test_journey import fill_engine_sheet, go, shot
from tests.http.conversion import (
    BEND,
    CLAMP,
    COUPLER,
    HOSES,
    METAL,
    SENSORS,
    TUBE,
    WELDED,
    Conversion,
    downpipe,
    sell_every_line,
    seller_of,
)
from tests.samples import WHOLE

CLAMPS = "T-bolt clamp, 71 to 80 mm"
STEEL_TUBE = "304 stainless tube, 63.5 × 1.5 mm"
CUT = "Cut the charge pipe's tube and bends, long first"
FIT = "Fit the charge pipe, clamps behind the beads"


def unfold(page: Page, words: str) -> None:
    """Tap the fold that says so."""
    page.locator("summary").filter(has_text=words).first.tap()


def follow(page: Page, link: Locator) -> None:
    """Tap a link or a button, and wait until the sheet it leads to is there."""
    with page.expect_navigation():
        link.tap()


def saved(page: Page) -> None:
    """Wait until what was typed in place is stored."""
    expect(page.locator(".htmx-request")).to_have_count(0)
    expect(page.locator("#status")).to_have_text("Saved.")


def start_from_the_set(page: Page, live: str) -> None:
    page.goto(live)
    page.get_by_label("Name of the build").fill("The grey saloon")
    page.get_by_label("Budget").fill("1200")
    page.get_by_role("button", name="Start this build").tap()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Starting set")
    shot(page, "21-starting-set")
    page.get_by_role("button", name="Add what is ticked").tap()
    expect(page.get_by_text("Added: 18 subsystems")).to_be_visible()
    shot(page, "22-added")


def measure(page: Page, port: str, readings: dict[str, str]) -> None:
    """A port of the list, its dimensions typed as a person types them."""
    go(page, "Ports")
    link = page.get_by_role("link", name=port, exact=True)
    while not link.count():
        page.locator(".list-more a").last.tap()
        page.wait_for_load_state()
    follow(page, link.first)
    label = page.locator("#reading-form label").first
    for dimension, text in readings.items():
        asked = re.compile(f"^{dimension}", re.I)
        if not asked.match(label.inner_text()):
            pick = page.locator(".picks a").filter(has_text=asked).first
            if not pick.is_visible():
                page.get_by_text("Measure something else").tap()
            pick.tap()
            expect(label).to_contain_text(asked)
        page.locator("#reading-form [name=reading]").fill(text)
        page.locator("#save-reading").tap()
        expect(page.locator(".readings b").get_by_text(text, exact=True).first).to_be_visible()


def start_design(
    page: Page, subsystem: str, name: str, ports: tuple[str, str] | None, like: str = ""
) -> None:
    go(page, "Subsystems")
    link = page.get_by_role("link", name=subsystem, exact=True)
    if not link.count():
        unfold(page, "without a design")
    follow(page, link)
    page.locator("#f-name").fill(name)
    if ports:
        page.locator("#f-start_port_id").select_option(label=ports[0])
        page.locator("#f-end_port_id").select_option(label=ports[1])
    if like:
        page.locator("#f-start_from").select_option(label=like)
    follow(page, page.get_by_role("button", name="Start the design"))
    expect(page).to_have_url(re.compile(r"/designs/\d+$"))


def add_piece(page: Page, fields: dict[str, str], **more: str) -> None:
    """Tap the kind; type only what the form does not offer already."""
    wanted = {**fields, **more}
    before = page.locator(".pieces li").count()
    follow(page, page.locator(".kinds").get_by_role("link", name=wanted.pop("kind"), exact=True))
    for name, text in wanted.items():
        say(page.locator(f"#editor [name={name}]"), text)
    follow(page, page.get_by_role("button", name="Add the piece"))
    expect(page.locator(".pieces li")).to_have_count(before + 1)


def say(field: Locator, text: str) -> None:
    """Choose or type it, unless it stands there."""
    if field.input_value() == text:
        return
    if field.evaluate("field => field.tagName") == "SELECT":
        field.select_option(text)
    elif field.get_attribute("type") == "checkbox":
        field.check()
    else:
        field.fill(text)


def open_piece(page: Page, number: int) -> None:
    link = page.locator(".pieces li").nth(number - 1).get_by_role("link")
    if link.get_attribute("aria-current") != "true":
        follow(page, link)
    expect(page.locator("#editor h2").first).to_contain_text(f"Piece {number}")


def side_port(page: Page, piece: int, line: str, at: str, bore: str, clock: str = "") -> None:
    open_piece(page, piece)
    page.locator("#new-bung summary").tap()
    page.locator("#b-port").select_option(label=line)
    for name, text in (("at", at), ("bore", bore), ("clock", clock)):
        page.locator(f"#b-{name}").fill(text)
    follow(page, page.get_by_role("button", name="Add the side port"))
    expect(page.locator("#editor .rows").get_by_text(line)).to_be_visible()


def joint(page: Page, piece: int, number: int) -> Locator:
    """The unfolded form of a joint of a piece."""
    open_piece(page, piece)
    fold = page.locator("#editor details").filter(has_text=re.compile(f"Joint {number}, to "))
    fold.locator("summary").tap()
    return fold


def say_joint(page: Page, piece: int, number: int, fields: dict[str, str]) -> None:
    fold = joint(page, piece, number)
    for name, text in fields.items():
        field = fold.locator(f"[name={name}]")
        say(field, text)
    fold.get_by_role("button", name="Save the joint").tap()
    saved(page)


def same_joint(page: Page, piece: int, number: int, like: int) -> None:
    button = joint(page, piece, number).get_by_role("button", name=f"Same as joint {like}")
    follow(page, button)


def draw_the_charge_pipe(page: Page) -> None:
    start_design(page, "Charge pipe", "Round the front", ("Compressor outlet", "Cooler inlet"))
    add_piece(page, COUPLER)
    add_piece(page, TUBE, kind="tube", length="150", inlet_end="bead", outlet_end="weld")
    shot(page, "23-piece-added")
    add_piece(page, BEND, length_out="60")
    add_piece(page, TUBE, kind="tube", length="320", inlet_end="weld", outlet_end="bead")
    add_piece(page, COUPLER)
    side_port(page, 2, "Boost signal for the wastegate", "70", "4")
    say_joint(page, 1, 1, CLAMP)
    same_joint(page, 1, 2, 1)
    same_joint(page, 5, 5, 2)
    same_joint(page, 5, 6, 5)
    say_joint(page, 2, 3, {"filler": "308L"})
    same_joint(page, 3, 4, 3)
    expect(page.locator(".verdict-bar")).to_contain_text("15 checks, 1 tight")
    page.evaluate("scrollTo(0, 0)")
    shot(page, "24-charge-pipe")


def copy_it_with_a_shorter_bend(page: Page) -> None:
    start_design(page, "Charge pipe", "Short bend", None, like="Round the front")
    open_piece(page, 3)
    for name, text in (("bend_radius", "64"), ("length", "91"), ("length_out", "91")):
        page.locator(f"#editor [name={name}]").fill(text)
    page.get_by_role("button", name="Save the piece").tap()
    expect(page.locator("#difference")).to_contain_text("1 piece differs from Round the front")
    saved(page)
    shot(page, "25-copy-changed")


def compare_and_choose(page: Page) -> None:
    go(page, "Subsystems")
    follow(page, page.get_by_role("link", name="Charge pipe", exact=True))
    follow(page, page.get_by_role("link", name=re.compile("^Compare them")))
    loss = page.locator("tr.ask:has-text('Loss at the peak') + tr td")
    expect(loss.nth(0)).to_contain_text("least")
    expect(loss.nth(1)).not_to_contain_text("least")
    shot(page, "26-compared")
    card = page.locator(".design-card").filter(has_text="Round the front")
    card.get_by_label("Why this one").fill("less boost lost, same work")
    follow(page, card.get_by_role("button"))
    expect(card).to_contain_text("Chosen: less boost lost, same work")
    shot(page, "27-chosen")


def draw_the_downpipe(page: Page) -> None:
    measure(page, "Turbine outlet", {"outside diameter": "89", "bore": "60 mm"})
    measure(page, "Downpipe's lower joint", {"bore": "60.5"})
    for sensor in SENSORS:
        measure(page, sensor, {"bore": "16.5"})
    start_design(page, "Downpipe", "Keeps the old lower half", ("Turbine outlet", "Downpipe's lower joint"))
    steel = {"material": "304 stainless"}
    add_piece(page, WELDED | steel, kind="flange", inlet_end="V-band", bore="60.5", length="20")
    add_piece(page, BEND, length_out="60")
    add_piece(page, TUBE | WELDED, kind="tube", length="260")
    flex = {"bore": "60.5", "outside_diameter": "75", "length": "150", "travel": "25"}
    add_piece(page, WELDED | steel | flex, kind="flex", liner="downstream", supported="on")
    kept = {"name": "Old front pipe, lower half", "material": "mild steel", "known_by": "measured"}
    sizes = {"outside_diameter": "63.5", "wall": "1.5", "length": "420"}
    add_piece(page, kept | sizes, kind="salvaged pipe", inlet_end="weld", outlet_end="flange")
    for sensor, at, clock in zip(SENSORS, ("180", "230"), ("-60", "60"), strict=True):
        side_port(page, 3, sensor, at, "16.5", clock)
    say_joint(page, 2, 2, {"filler": "308L"})
    same_joint(page, 3, 3, 2)
    same_joint(page, 4, 4, 3)
    say_joint(page, 5, 5, {"filler": "309L"})


def see_the_downpipe(page: Page) -> None:
    go(page, "Subsystems")
    follow(page, page.get_by_role("link", name="Downpipe", exact=True))
    follow(page, page.get_by_role("link", name="Keeps the old lower half"))
    expect(page.locator(".verdict-bar")).to_contain_text("tight")
    expect(page.locator("#keep summary")).to_contain_text("chosen")  # the only one is, until there are others
    page.evaluate("scrollTo(0, 0)")
    shot(page, "28-downpipe")


def see_the_list(page: Page) -> None:
    go(page, "Shopping")
    both = page.locator("li").filter(has_text=STEEL_TUBE)
    expect(both).to_have_count(1)
    expect(both).to_contain_text("Charge pipe: Round the front, pieces 2, 4")
    expect(both).to_contain_text("Downpipe: Keeps the old lower half, piece 3")
    expect(page.locator("#made + ul")).to_contain_text("Old front pipe, lower half, salvaged")
    shot(page, "29-shopping-list")


def note_offers(page: Page, most: int) -> None:
    """For the first line without an offer, so many times at most."""
    heading = page.locator("#unoffered span")
    first = page.locator("#unoffered ~ ul.buy > li").first
    left = int(heading.inner_text())
    for _ in range(min(most, left)):
        first.locator("summary").tap()
        first.get_by_label("Supplier").fill(seller_of(first.locator("b").first.inner_text()))
        first.get_by_label("Price of a pack").fill("7,50")
        first.get_by_label("Days to the door").fill("5")
        if left == 11:
            shot(page, "30-offer")
        follow(page, first.get_by_role("button", name="Put it on their order"))
        left -= 1
        expect(heading).to_have_count(1 if left else 0)
        if left:
            expect(heading).to_have_text(str(left))


def want_a_spare(page: Page) -> None:
    go(page, "Shopping")
    expect(page.locator("#unoffered")).to_have_count(0)
    basket = page.locator(".basket").filter(has_text=HOSES)
    if basket.get_attribute("open") is None:
        basket.locator("summary").first.tap()
    follow(page, basket.get_by_role("link", name=CLAMPS))
    reason = page.locator("[name=spare_reason]")
    if not reason.is_visible():
        page.locator("details").filter(has=reason).locator("summary").first.tap()
    page.locator("[name=spares]").fill("1")
    reason.fill("a stripped bolt would end the evening")
    follow(page, page.locator("form").filter(has=reason).get_by_role("button", name=re.compile("^Save")))
    go(page, "Shopping")
    basket = page.locator(".basket").filter(has_text=HOSES)
    if basket.get_attribute("open") is None:
        basket.locator("summary").first.tap()
    spare = basket.locator("h3:has-text('Spares') + ul li")
    expect(spare).to_contain_text("Spare: a stripped bolt would end the evening")
    shot(page, "31-by-supplier")


def order_with(page: Page, supplier: str) -> None:
    """By the page's main act, the longest wait first, or by the supplier's own button."""
    go(page, "Shopping")
    link = page.get_by_role("link", name=re.compile(f"^Order from {supplier}"))
    if not link.first.is_visible():
        page.locator(".basket > summary").filter(has_text=supplier).tap()
    follow(page, link.first)
    expect(page.locator("[name=ordered_on]")).to_have_value("2026-11-25")
    expect(page.locator("[name=due_on]")).to_have_value("2026-11-30")
    shot(page, f"32-order-{supplier.split(maxsplit=1)[0].lower()}")
    follow(page, page.get_by_role("button", name="Note this order"))
    expect(page.locator(".news")).to_contain_text(f"Order noted: {supplier}")
    note = page.get_by_role("button", name="Note what came")
    expect(note, "under the thumb that noted the order").not_to_be_visible()


def tell_done_what_comes_before_the_cutting(page: Page) -> None:
    """It was offered up and looked at before the sheet was kept."""
    go(page, "Work")
    follow(page, page.get_by_role("link", name=CUT).first)
    before = page.locator("h2:has-text('What comes first') + ul li")
    expect(before).not_to_have_count(0)
    for place in range(before.count()):
        follow(page, before.nth(place).locator("a").first)
        unfold(page, "Start it all the same")
        page.get_by_role("button", name=re.compile("^Done")).first.tap()
        expect(page.locator(".card .due").first).to_have_text("done")
        follow(page, page.get_by_role("link", name=CUT).first)
        expect(before.nth(place).locator(".why")).to_have_text("done")


def see_the_cutting_held(page: Page) -> None:
    go(page, "Garage")
    follow(page, page.get_by_role("link", name=re.compile("^All .* held")))
    held = page.locator("li").filter(has_text=CUT).first
    expect(held).to_contain_text(re.compile("in the post until Mon 30 Nov"))
    page.evaluate("scrollTo(0, 0)")
    shot(page, "33-held-by-the-post")


def all_of_it_came(page: Page) -> None:
    go(page, "Orders")
    page.get_by_role("button", name=f"All of it came, {METAL}").first.tap()
    expect(page.locator(".news")).to_contain_text(f"Now ready: {CUT}")
    shot(page, "34-freed")


def two_clamps_came(page: Page) -> None:
    """Five were ordered, the spare one with them."""
    go(page, "Orders")
    follow(page, page.get_by_role("link", name=re.compile(HOSES)).first)
    clamps = page.locator("fieldset").filter(has_text=CLAMPS)
    expect(clamps.get_by_label("Right")).to_have_value("5")
    clamps.get_by_label("Right").fill("2")
    shot(page, "35-what-came")
    page.get_by_role("button", name="Note what came").tap()
    news = page.locator(".news")
    expect(news).to_contain_text(f"Still to come: 3 × {CLAMPS}.")
    expect(news).to_contain_text(f"Still held: ‘{FIT}’ by 2 × {CLAMPS}, in the post until Mon 30 Nov.")
    page.evaluate("scrollTo(0, 0)")
    shot(page, "36-short")


def one_is_freed_and_the_other_says_why_not(page: Page) -> None:
    go(page, "Work")
    ready = page.locator("h2:has-text('Do now') + ul")
    expect(ready).to_contain_text(CUT)
    follow(page, page.get_by_role("link", name=CUT).first)
    expect(page.locator(".card .due").first).to_have_text("ready")
    shot(page, "37-ready")
    page.go_back()
    follow(page, page.get_by_role("link", name=FIT).first)
    expect(page.locator(".card .due").first).to_have_text("held")
    expect(page.locator(".card li").first).to_contain_text(f"2 × {CLAMPS}, in the post until Mon 30 Nov")
    shot(page, "38-held")


def test_from_the_starting_set_to_a_parcel_that_came_short(phone: Page, live: str, app: FastAPI) -> None:
    start_from_the_set(phone, live)
    go(phone, "Engine")
    fill_engine_sheet(phone)
    measure(phone, "Compressor outlet", {"outside diameter": "63,4 mm", "wall": "3"})
    measure(phone, "Cooler inlet", {"outside diameter": '2 1/2"', "wall": "2 mm"})
    measure(phone, "Boost signal for the wastegate", {"bore": "4"})
    draw_the_charge_pipe(phone)
    copy_it_with_a_shorter_bend(phone)
    compare_and_choose(phone)
    if WHOLE:
        draw_the_downpipe(phone)
    else:
        ask_aside(app, lambda asking: downpipe(Conversion(asking, 1)))
    see_the_downpipe(phone)
    see_the_list(phone)
    note_offers(phone, 11 if WHOLE else 2)
    if not WHOLE:
        ask_aside(app, lambda asking: sell_every_line(Conversion(asking, 1)))
    want_a_spare(phone)
    tell_done_what_comes_before_the_cutting(phone)
    order_with(phone, METAL)
    order_with(phone, HOSES)
    see_the_cutting_held(phone)
    all_of_it_came(phone)
    two_clamps_came(phone)
    one_is_freed_and_the_other_says_why_not(phone)
