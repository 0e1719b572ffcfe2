"""Looks at pages as a thumb, an eye, a keyboard and a screen reader meet them: WCAG 2.2, level AA, and our
own floors. A page is opened once and looked at from every side, in every light.

axe-core (`browser/vendor/`, never sent to a browser that visits) looks for what a machine can find; what it
has no rule for is measured by `access.js`. The tests look at one page of each kind (`access_pages.py`),
`tests.bench.access` at all of them.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, ViewportSize

from tests.far_garage import PHONE

HERE = Path(__file__).parent
AXE = HERE / "browser" / "vendor" / "axe-4.14.1.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
EVERY_RULE: dict[str, Any] = {
    "runOnly": {"type": "tag", "values": RULES},
    "resultTypes": ["violations"],
    "preload": False,
}
COLOURS = {**EVERY_RULE, "runOnly": {"type": "rule", "values": ["color-contrast"]}}
"""Another light shows the same elements in other colours."""
ELSEWHERE = ("target-size", "color-contrast")
BUT_SIZE_AND_COLOUR = {**EVERY_RULE, "rules": {name: {"enabled": False} for name in ELSEWHERE}}
"""For who measures size and looks at colours apart: these two rules cost more time than all the others."""
TOUCH, AT_THE_CAR = 48, 64
"""Least height of a control [CSS px]; common practice, no source (WCAG 2.5.8 asks for 24)."""
GLOVED = 88
"""The same in thick gloves."""
NARROW: ViewportSize = {"width": 320, "height": 640}
"""At this width nothing may scroll sideways [CSS px]: WCAG 2.2, criterion 1.4.10."""

SMALLER_CONTROLS = {
    ".skip": "seen only while it has the focus",
    "input[type=checkbox], input[type=radio]": "its label is the control",
}
"""Controls that may be smaller, each with its reason; links in running text may be too (WCAG 2.5.8)."""

SMALLER_IN_GLOVES = {
    **SMALLER_CONTROLS,
    ".line-map svg a": "a box of the drawing; every line stands in a list too",
}

QUESTIONS = (
    "rules that a machine can find",
    "colours in the sun and at night",
    "large enough for a thumb or a glove",
    "nothing scrolls sideways on the narrowest screen",
    "one first heading, and no level skipped",
    "the focus is seen and never under the bar",
)


@dataclass(frozen=True, slots=True)
class Looked:
    """One page, looked at from every side. faults: by question, what is wrong."""

    address: str
    at_the_car: bool
    faults: Mapping[str, Sequence[str]]


@cache
def scripts() -> str:
    """Both, to be put beside a page."""
    return AXE.read_text(encoding="utf-8") + (HERE / "access.js").read_text(encoding="utf-8")


@contextmanager
def phone_in(chromium: Chromium, server: str) -> Iterator[Page]:
    """A phone in front of a server, held still."""
    context = chromium.new_context(base_url=server, viewport=PHONE, reduced_motion="reduce")
    page = context.new_page()
    page.set_default_timeout(20_000)
    yield page
    context.close()


def violations(page: Page, options: Mapping[str, Any] = EVERY_RULE) -> list[str]:
    """The rules that the page as it stands breaks, each with its first place."""
    found = page.evaluate("(options) => axe.run(document, options)", options)["violations"]
    return [
        f"{rule['id']} × {len(rule['nodes'])}: {rule['nodes'][0]['html'][:200]} "
        f"{rule['nodes'][0]['failureSummary'][:300]}"
        for rule in found
    ]


def in_lights(page: Page, lights: Sequence[str]) -> list[str]:
    """The rules on colours that the page breaks in these lights."""
    found = []
    for light in lights:
        page.evaluate("looking.wear", light)
        found += [f"{light or 'by day'}: {fault}" for fault in violations(page, COLOURS)]
    page.evaluate("looking.wear", "")
    return found


def too_small(page: Page, at_the_car: bool) -> list[str]:
    """The controls below the floor of the page, with bare hands and in gloves."""
    floor = AT_THE_CAR if at_the_car else TOUCH
    bare = page.evaluate("looking.small", [floor, ", ".join(SMALLER_CONTROLS)])
    page.evaluate("looking.wear", "gloves")
    gloved = page.evaluate("looking.small", [GLOVED, ", ".join(SMALLER_IN_GLOVES)])
    page.evaluate("looking.wear", "")
    return [*bare, *(f"in gloves: {fault}" for fault in gloved)]


def sideways(page: Page) -> list[str]:
    """What is wider than the narrowest screen, on which the page stands."""
    found: list[str] = page.evaluate("looking.tooWide", NARROW["width"])
    page.evaluate("looking.wear", "sun gloves")
    found += [
        f"in the sun, with gloves: {fault}" for fault in page.evaluate("looking.tooWide", NARROW["width"])
    ]
    page.evaluate("looking.wear", "")
    return found


def headings(page: Page) -> list[str]:
    """What is wrong with the order of headings."""
    levels = page.evaluate("looking.headings()")
    skips = [pair for pair in pairwise(levels) if pair[1] > pair[0] + 1]
    return [f"headings {levels}"] if levels.count(1) != 1 or levels[0] != 1 or skips else []


def focus_given(page: Page, known: Sequence[str]) -> list[str]:
    """What is wrong where each control of a kind that is not known has the focus, given to it in turn."""
    page.keyboard.press("Tab")
    found: list[str] = page.evaluate("looking.focused", known)
    return found


def focus_walked(page: Page) -> list[str]:
    """The same, walked with the Tab key: some seconds a page."""
    for _ in range(page.evaluate("looking.watchFocus()")):
        page.keyboard.press("Tab")
    stops = page.evaluate("window.stops")
    return [fault for stop in stops for fault in stop] if len(stops) > 1 else ["the Tab key leads nowhere"]


def look_at(page: Page, address: str, seen: set[str]) -> Looked:
    """Look at a page on the narrowest screen, sparingly: in the place of the one before, without its scripts;
    of many alike at a few; for colours and the focus only at kinds of elements that were not `seen` before.
    """
    page.evaluate("looking.showInstead", address)
    page.evaluate("looking.unfold()")
    kinds = set(page.evaluate("looking.kinds()"))
    new, known = kinds - seen, sorted(kinds & seen)
    seen |= kinds
    at_the_car = page.evaluate("document.body.classList.contains('car-side')")
    wide, small, levels = sideways(page), too_small(page, at_the_car), headings(page)
    focus = focus_given(page, known) if new else []
    page.evaluate("looking.thin()")
    rules = violations(page, BUT_SIZE_AND_COLOUR)
    page.evaluate("looking.keepNew", known)
    colours = in_lights(page, ("", "sun", "night")) if new else []
    answers = (rules, colours, small, wide, levels, focus)
    return Looked(address, at_the_car, dict(zip(QUESTIONS, answers, strict=True)))


def look_closely(page: Page, address: str) -> Looked:
    """Open a page on a phone and look at all that is on it."""
    page.set_viewport_size(PHONE)
    page.goto(address)
    page.evaluate(scripts())
    page.evaluate("looking.unfold()")
    at_the_car = page.evaluate("document.body.classList.contains('car-side')")
    rules, colours, small = violations(page), in_lights(page, ("sun", "night")), too_small(page, at_the_car)
    levels, focus = headings(page), focus_walked(page)
    page.set_viewport_size(NARROW)
    answers = (rules, colours, small, sideways(page), levels, focus)
    return Looked(address, at_the_car, dict(zip(QUESTIONS, answers, strict=True)))


def look_at_all(page: Page, addresses: Iterable[str]) -> list[Looked]:
    """Look at each page, and in every light at each kind of element."""
    page.set_viewport_size(NARROW)
    page.goto("/handbook/words")
    page.evaluate(scripts())
    seen: set[str] = set()
    return [look_at(page, address, seen) for address in addresses]


def listed(pages: Sequence[Looked], question: str) -> str:
    """What is wrong with these pages in one respect, one fault a line."""
    return "\n".join(f"{page.address}: {fault}" for page in pages for fault in page.faults[question])
