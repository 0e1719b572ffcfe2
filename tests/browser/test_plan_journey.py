"""An evening in the garage: two tasks, a short parcel, the date that moves, a visit, what to order."""

from uuid import uuid4

import httpx
import pytest
from icalendar import Calendar
from playwright.sync_api import Page, expect

BEND, GASKET, CLAMP = "1", "2", "3"
BUILD = 1


def fill(address: str) -> None:
    """Bends in the post, a visit for the weld, a gasket and a clamp to buy from two suppliers."""
    with httpx.Client(base_url=address, headers={"origin": address}) as client:
        type_in(client)


def type_in(client: httpx.Client) -> None:
    def post(where: str, fields: dict[str, str]) -> str:
        answer = client.post(where, data=fields | {"operation_key": uuid4().hex})
        assert answer.status_code == 303, answer.text
        return answer.headers["location"].split("?")[0].split("#")[0]

    def a_task(title: str, likely: str) -> str:
        return post(f"/builds/{BUILD}/tasks", {"title": title, "likely": likely})

    def comes_after(task: str, earlier: str) -> None:
        post(f"{task}/afters", {"after_task_id": earlier.rsplit("/", 1)[1]})

    post("/builds", {"name": "The saloon"})
    base = f"/builds/{BUILD}"
    post(f"{base}/stints", {"kind": "weekly", "weekday": "Thursday", "begins": "18:00", "ends": "21:00"})
    post(f"{base}/stints/helpers", {"name": "Jo", "skills": "welds"})
    visit = {
        "helper_id": "1",
        "day": "2026-12-05",
        "begins": "09:00",
        "ends": "15:00",
        "cancel_by": "2026-12-02",
    }
    post(f"{base}/stints/visits", visit)
    order = {"supplier": "Millrace Tube", "ordered_on": "2026-11-18", "due_on": "2026-11-26"}
    post(f"{base}/orders", order | {"part_1": "76 mm bend", "quantity_1": "3", "price_1": "20"})
    for name in ("Flange gasket", "T-bolt clamp"):
        post(f"{base}/parts", {"name": name, "origin": "buy"})
    for part, supplier, days in ((GASKET, "Underhill Castings", "3"), (CLAMP, "Tarn Hose & Clamp", "2")):
        offer = {"supplier": supplier, "price": "6", "lead_days": days}
        post(f"{base}/parts/{part}/offers", offer)
    for title in ("Clean the port face", "Dress the old bracket"):
        a_task(title, "30 min")
    weld = a_task("Weld the downpipe", "1 h")
    fields = {"version": "1", "title": "Weld the downpipe", "likely": "1 h", "helper_skill": "welds"}
    post(weld, fields)
    start = a_task("First start", "1 h")
    post(f"{start}/needs", {"part_id": BEND, "quantity": "3"})
    post(f"{start}/needs", {"part_id": GASKET, "quantity": "1"})
    post(f"{start}/needs", {"part_id": CLAMP, "quantity": "2"})
    comes_after(start, weld)
    comes_after(weld, f"{base}/tasks/1")


@pytest.fixture
def phone(phone: Page, live: str) -> Page:
    """A phone in front of that build."""
    fill(live)
    return phone


def do_two_tasks(page: Page, build: int) -> None:
    """Two hours, on its wheels, alone."""
    page.goto(f"/builds/{build}/stint")
    page.get_by_label("Time there is").fill("2 h")
    page.get_by_label("Who is there").select_option("alone")
    page.get_by_label("The car is").select_option(label="down, on its wheels")
    page.get_by_role("button", name="What to do").tap()
    for title in ("Clean the port face", "Dress the old bracket"):
        line = page.locator("#stint li").filter(has_text=title)
        line.get_by_role("button", name="Start").tap()
        page.locator("#stint li").filter(has_text=title).get_by_role("button", name="Done").tap()
        expect(page.get_by_text(f"Done: ‘{title}’.")).to_be_visible()


def take_in_a_short_parcel(page: Page, build: int) -> None:
    page.goto(f"/builds/{build}/orders/1")
    page.locator("[name=right_1]").fill("2")
    page.get_by_role("button", name="Note what came").tap()
    expect(page.get_by_text("say another under ‘Change the order’")).to_be_visible()
    page.get_by_text("Change the order", exact=True).tap()
    page.locator("[name=due_on]").fill("2026-12-11")
    page.locator("form:has([name=due_on])").get_by_role("button").last.tap()
    expect(page.get_by_text("due Fri 11 Dec").first).to_be_visible()


def see_the_date_move(page: Page, build: int) -> None:
    moved = "The date by the plan moved from Sat 5 Dec to Thu 17 Dec, 12 days later"
    why = "76 mm bend: now expected Fri 11 Dec"
    for sheet in ("garage", "plan"):
        page.goto(f"/builds/{build}/{sheet}")
        notice = page.locator("#first-start")
        expect(notice).to_contain_text(moved)
        expect(notice).to_contain_text(why)


def order_from_both(page: Page, build: int) -> None:
    for supplier in ("Underhill Castings", "Tarn Hose & Clamp"):
        page.goto(f"/builds/{build}/shopping")
        basket = page.locator(".basket").filter(has_text=supplier)
        expect(basket.locator("summary")).to_contain_text("Order")
        main = page.locator(".bar a")
        if supplier not in main.inner_text():
            basket.locator("summary").tap()
            main = basket.get_by_role("link", name=f"Order from {supplier}")
        main.tap()
        page.get_by_role("button", name="Note this order").tap()
        expect(page.get_by_text(f"Order noted: {supplier}").first).to_be_visible()


def test_an_evening_from_the_list_to_the_calendar(phone: Page, live: str) -> None:
    page, build = phone, BUILD
    page.goto(f"/builds/{build}/visits/1")
    expect(page.locator("#ready")).to_contain_text("Not ready yet: 1 thing to do before.")
    page.goto(f"/builds/{build}/plan")
    do_two_tasks(page, build)
    take_in_a_short_parcel(page, build)
    see_the_date_move(page, build)
    page.goto(f"/builds/{build}/visits/1")
    expect(page.locator("#ready")).to_contain_text("Ready: nothing stands against it.")
    order_from_both(page, build)
    feed = Calendar.from_ical(httpx.get(f"{live}/builds/{build}/calendar.ics").content)
    told = [str(event["summary"]) for event in feed.walk("VEVENT")]
    for words in ("Jo", "Millrace Tube", "Underhill Castings", "Tarn Hose & Clamp", "irst start"):
        assert any(words in one for one in told), (words, told)
