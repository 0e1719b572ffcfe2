"""Whoever reads with a thumb, a keyboard, a screen reader or in the dark: WCAG 2.2, level AA, on every page.

axe-core (`vendor/`, for these tests only) looks for what a machine can find; the rest is measured here.
"""

import re
import shutil
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from html import unescape
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal
from urllib.parse import urljoin

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, expect

from server.app import create_app
from server.settings import PROJECT, settings_for
from tests.asking import Browser
from tests.conftest import TEN_IN_THE_MORNING
from tests.far_garage import PHONE
from tests.live import served
from tests.walk import Stop, shape_of, walk

AXE = Path(__file__).parent / "vendor" / "axe-4.14.1.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
OPTIONS: dict[str, Any] = {"runOnly": {"type": "tag", "values": RULES}, "resultTypes": ["violations"]}
IN_THE_DARK = {**OPTIONS, "runOnly": {"type": "rule", "values": ["color-contrast"]}}
"""The dark page has the same elements in other colours."""
KINDS = """(among) => {
  const kind = (element) => [
    element.parentElement.localName, element.localName, element.type || "", ...element.classList].join(" ");
  const shown = [...document.querySelectorAll(among)].filter((element) => element.checkVisibility());
  return [...new Set(shown.map(kind))];
}"""
"""What the elements of a page are to a style sheet: those of one kind look alike wherever they stand."""
TOUCH, AT_THE_CAR = 48, 64
"""Least height of a control [CSS px]; common practice, no source (WCAG 2.5.8 asks for 24)."""
NARROW = 320
"""Width at which nothing may scroll sideways [CSS px]: WCAG 2.2, criterion 1.4.10."""

SMALLER_CONTROLS = {
    ".skip": "seen only while it has the focus",
    "input[type=checkbox], input[type=radio]": "its label is the control",
}
"""Controls that may be smaller, each with its reason; links in running text may be too (WCAG 2.5.8)."""

Scheme = Literal["light", "dark"]

MEASURE = """([least, exceptions]) => {
  const seen = (element) => element.checkVisibility({ visibilityProperty: true });
  const inText = (element) => element instanceof HTMLElement && getComputedStyle(element).display === "inline"
    && element.parentElement.innerText.trim() !== element.innerText.trim();
  const kinds = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  const controls = document.querySelectorAll(kinds);
  const judged = (element) => seen(element) && !element.matches(exceptions) && !inText(element);
  return [...controls].filter(judged).map((element) => {
    const label = element.closest("label") || element;
    const { width, height } = label.getBoundingClientRect();
    const name = (element.innerText || element.ariaLabel || element.name || element.id).trim().slice(0, 40);
    return { what: `${element.tagName.toLowerCase()} “${name}”`, width, height };
  }).filter(({ width, height }) => height < least - 0.5 || width < 43.5)
    .map(({ what, width, height }) => `${what} is ${Math.round(width)} × ${Math.round(height)}`);
}"""
HEADINGS = """() => [...document.querySelectorAll("h1,h2,h3,h4,h5,h6")]
  .filter((heading) => heading.checkVisibility()).map((heading) => Number(heading.tagName[1]))"""
TOO_WIDE = """(most) => document.documentElement.scrollWidth <= most ? [] :
  [...document.querySelectorAll("main *, header *, .bar *")]
    .filter((e) => e.getBoundingClientRect().right > most + 1 && !e.closest(".scroll"))
    .slice(0, 4).map((e) => e.outerHTML.slice(0, 120))
    .concat(`the page is ${document.documentElement.scrollWidth} wide`)"""
CONTROLS = "a[href], button, input:not([type=hidden]), select, textarea, summary"
COUNT = "(among) => document.querySelectorAll(among).length"
WATCH_FOCUS = """() => {
  window.focused = [];
  const measured = (element) => {
  const style = getComputedStyle(element);
  const box = element.getBoundingClientRect();
  const bar = document.querySelector("div.bar");
  const called = element.innerText || element.ariaLabel || element.name || element.id || "";
  const name = called.trim().slice(0, 40);
  const x = Math.min(Math.max(box.left + box.width / 2, 1), innerWidth - 1);
  return {
    name: `${element.tagName.toLowerCase()} “${name}”`,
    ring: style.outlineStyle !== "none" ? parseFloat(style.outlineWidth) : 0,
    top: box.top, bottom: box.bottom, x,
    barTop: bar && !bar.contains(element) ? bar.getBoundingClientRect().top : innerHeight,
    height: innerHeight,
  };
  };
  document.addEventListener("focusin", ({ target }) => window.focused.push(measured(target)));
}"""


@pytest.fixture(scope="module")
def demo_server(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Iterator[FastAPI]:
    """The demo, for every test of this file."""
    settings = settings_for(data=tmp_path_factory.mktemp("access") / "data", environment={})
    shutil.copytree(demo_folder, settings.data)
    app = create_app(settings, lambda: TEN_IN_THE_MORNING)
    yield app
    app.state.engine.dispose()


@pytest.fixture(scope="module")
def server(demo_server: FastAPI) -> Iterator[str]:
    with served(demo_server) as address:
        yield address


def pages_of(app: FastAPI) -> list[Stop]:
    with Browser(app) as asking:
        pages = [stop for stop in walk(asking) if "html" in stop.answer.headers["content-type"]]
    return [stop for stop in pages if "content-disposition" not in stop.answer.headers]  # a file to keep


@pytest.fixture(scope="module")
def addresses(demo_server: FastAPI) -> list[str]:
    """One address of each kind of page of the demo, and the pages that a question in the address opens."""
    with ThreadPoolExecutor(1) as aside:  # Playwright keeps an event loop running in this thread
        stops = aside.submit(pages_of, demo_server).result()
    kinds = {stop.shape: stop.address for stop in stops}
    asked: dict[tuple[str, str], str] = {}
    for stop in stops:
        for href in re.findall(r'href="([^"?#]*\?(?:add|piece|measure|change)=[^"#]+)', stop.answer.text):
            address = urljoin(stop.address, unescape(href))
            asked.setdefault((shape_of(address), address.split("?")[1].split("=")[0]), address)
    return list(kinds.values()) + list(asked.values())


@contextmanager
def phone_in(chromium: Chromium, server: str) -> Iterator[Page]:
    """A phone in front of the demo."""
    context = chromium.new_context(base_url=server, viewport=PHONE, reduced_motion="reduce")
    page = context.new_page()
    page.set_default_timeout(20_000)
    yield page
    context.close()


@pytest.fixture
def light(chromium: Chromium, server: str) -> Iterator[Page]:
    with phone_in(chromium, server) as page:
        yield page


def listed(faults: Mapping[str, Sequence[object]]) -> str:
    """Faults by address, one a line."""
    return "\n".join(f"{address}: {fault}" for address, found in faults.items() for fault in found)


def open_everything(page: Page) -> None:
    """Unfold what is folded away, so that it is looked at too."""
    page.evaluate("() => document.querySelectorAll('details').forEach((fold) => { fold.open = true; })")


def violations(page: Page, options: Mapping[str, Any] = OPTIONS) -> list[str]:
    """The rules that the page as it stands breaks, each with its first place."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("(options) => axe.run(document, options)", options)["violations"]
    return [
        f"{rule['id']} × {len(rule['nodes'])}: {rule['nodes'][0]['html'][:200]} "
        f"{rule['nodes'][0]['failureSummary'][:300]}"
        for rule in found
    ]


def new_kinds(page: Page, among: str, seen: set[str]) -> bool:
    """Whether the page shows a kind of element that was not seen before; it counts as seen from now on."""
    kinds = set(page.evaluate(KINDS, among))
    new = not kinds <= seen
    seen |= kinds
    return new


def in_both_schemes(page: Page, seen_in_the_dark: set[str]) -> list[str]:
    """The rules that the page breaks in the light, and those on colours that it breaks in the dark."""
    open_everything(page)
    page.emulate_media(color_scheme="light")
    found = violations(page)
    if not new_kinds(page, "body *", seen_in_the_dark):
        return found
    page.emulate_media(color_scheme="dark")
    found += [f"in the dark: {fault}" for fault in violations(page, IN_THE_DARK)]
    page.emulate_media(color_scheme="light")
    return found


@dataclass(frozen=True, slots=True)
class Looked:
    """One page, looked at from every side. broken: rules. small: controls. wide: what scrolls sideways."""

    address: str
    broken: list[str]
    small: list[str]
    wide: list[str]
    levels: list[int]
    at_the_car: bool


@pytest.fixture(scope="module")
def looked(chromium: Chromium, server: str, addresses: list[str]) -> list[Looked]:
    """Every page, opened once for all that is measured on it."""
    seen_in_the_dark: set[str] = set()
    with phone_in(chromium, server) as page:
        return [look_at(page, address, seen_in_the_dark) for address in addresses]


def look_at(page: Page, address: str, seen_in_the_dark: set[str]) -> Looked:
    page.goto(address)
    broken = in_both_schemes(page, seen_in_the_dark)
    at_the_car = page.evaluate("document.body.classList.contains('car-side')")
    least = AT_THE_CAR if at_the_car else TOUCH
    small = page.evaluate(MEASURE, [least, ", ".join(SMALLER_CONTROLS)])
    levels = page.evaluate(HEADINGS)
    page.set_viewport_size({"width": NARROW, "height": 640})
    wide = page.evaluate(TOO_WIDE, NARROW)
    page.set_viewport_size(PHONE)
    return Looked(address, broken, small, wide, levels, at_the_car)


def test_no_page_breaks_a_rule_that_a_machine_can_find(looked: list[Looked]) -> None:
    broken = {page.address: page.broken for page in looked if page.broken}
    assert not broken, listed(broken)


def test_nor_does_a_refused_form_or_a_page_that_is_not_there(light: Page) -> None:
    light.goto("/builds/1/engine")
    open_everything(light)
    for name in ("displacement", "boost"):
        light.locator(f"[name={name}]").fill("a furlong")
    light.get_by_role("button", name=re.compile("^Save")).first.click()
    expect(light.get_by_role("alert")).to_be_visible()
    assert in_both_schemes(light, set()) == []
    light.goto("/builds/1/nothing-here")
    assert in_both_schemes(light, set()) == []


def test_every_control_is_large_enough_for_a_thumb_or_a_glove(looked: list[Looked]) -> None:
    small = {page.address: page.small for page in looked if page.small}
    assert not small, listed(small)


def test_the_sheets_used_at_the_car_are_made_for_gloves(looked: list[Looked]) -> None:
    used = [
        page
        for page in looked
        if re.search(r"/(garage|work|orders|orders/\d+|ports/\d+)(\?|$)", page.address)
    ]
    assert len(used) >= 5
    assert [page.address for page in used if not page.at_the_car] == []


def test_nothing_scrolls_sideways_on_the_narrowest_screen(looked: list[Looked]) -> None:
    wide = {page.address: page.wide for page in looked if page.wide}
    assert not wide, listed(wide)


def test_each_page_has_one_first_heading_and_skips_no_level(looked: list[Looked]) -> None:
    wrong = {}
    for page in looked:
        skips = [pair for pair in pairwise(page.levels) if pair[1] > pair[0] + 1]
        if page.levels.count(1) != 1 or page.levels[0] != 1 or skips:
            wrong[page.address] = page.levels
    assert not wrong, listed(wrong)


def test_the_focus_is_seen_and_never_under_the_bar(light: Page, addresses: list[str]) -> None:
    lost = []
    seen: set[str] = set()
    for address in addresses:
        light.goto(address)
        open_everything(light)
        if not new_kinds(light, CONTROLS, seen):
            continue
        light.evaluate(WATCH_FOCUS)
        for _ in range(light.evaluate(COUNT, CONTROLS)):
            light.keyboard.press("Tab")
        stops = light.evaluate("window.focused")
        assert len(stops) > 1, address
        for focus in stops:
            if focus["ring"] < 2:
                lost.append(f"{address}: {focus['name']} has no ring")
            if focus["top"] >= focus["barTop"] or focus["bottom"] <= 0:
                lost.append(f"{address}: {focus['name']} at {focus['top']:.0f}, bar {focus['barTop']:.0f}")
    assert not lost, "\n".join(lost)


def test_an_act_in_the_page_is_told_to_who_cannot_see_it(light: Page, addresses: list[str]) -> None:
    def page_of(shape: str) -> str:
        return next(address for address in addresses if re.search(shape, address))

    told = light.get_by_role("status").first
    light.goto(page_of(r"/ports/\d+(\?|$)"))
    light.locator("#reading-form [name=reading]").fill("80 furlongs")
    light.locator("#save-reading").click()
    expect(told).to_contain_text("Not saved yet")
    light.locator("#reading-form [name=reading]").fill("80 mm")
    light.locator("#save-reading").click()
    expect(told).to_have_text("Saved.")
    light.goto(page_of(r"/designs/\d+\?piece="))
    light.locator("#piece-form [name=name]").fill("the long one")
    light.locator("#piece-form [name=name]").press("Tab")
    expect(told).to_have_text("Saved.")
    light.goto(page_of(r"/orders(\?|$)"))
    light.get_by_role("button", name=re.compile("^Arrived")).first.click()
    expect(told).to_have_text("Saved.")
    expect(light.locator(".news[role=status]")).to_be_visible()


def colours(scheme: Scheme) -> dict[str, str]:
    """The named colours of the style sheet."""
    css = (PROJECT / "static" / "app.css").read_text(encoding="utf-8")
    light_part, dark_part = css.split("@media (prefers-color-scheme:dark)", maxsplit=1)
    part = light_part if scheme == "light" else dark_part.split("}}", maxsplit=1)[0]
    return dict(re.findall(r"--([a-z0-9]+):(#[0-9a-f]{6})", part))


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2, definition of relative luminance)."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of contrast ratio)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [("#000000", "#ffffff", 21.0), ("#777777", "#ffffff", 4.48), ("#0000ff", "#ffffff", 8.59)],
)
def test_contrast_is_reckoned_as_the_standard_does(one: str, other: str, expected: float) -> None:
    """21:1 is WCAG's own greatest value; the two others are from memory, as contrast checkers give them."""
    assert contrast(one, other) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "sheet", "wash"])
def test_text_stands_out_in_sun_glare(scheme: Scheme, ground: str) -> None:
    named = colours(scheme)
    assert contrast(named["ink"], named[ground]) >= 10
    assert contrast(named["ink2"], named[ground]) >= 7
    assert contrast(named["accent"], named[ground]) >= 4.5
