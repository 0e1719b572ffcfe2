"""Looks at pages as a thumb, an eye, a keyboard and a screen reader meet them: WCAG 2.2, level AA, and our
own floors. A page is opened once and looked at from every side, in every light.

axe-core (`browser/vendor/`, never sent to a browser that visits) looks for what a machine can find; what it
has no rule for is measured by `access.js`. The tests look at one page of each kind (`access_pages.py`),
`tests.bench.access` at all of them.
"""

from collections import Counter
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
BARE, AT_THE_CAR = (48, 8), (64, 16)
"""Least width and height of a target, and least distance to the next [CSS px]: on any page, and on one used
at the car. Common practice, no source (WCAG 2.5.8 asks for 24).
"""
IN_GLOVES = {BARE: (64, 16), AT_THE_CAR: (88, 24)}
"""The same in thick gloves."""
NARROW: ViewportSize = {"width": 320, "height": 640}
"""At this width nothing may scroll sideways [CSS px]: WCAG 2.2, criterion 1.4.10."""

EXCEPTIONS = {
    ".skip": "seen only while it has the focus",
    "label input": "its label is the target",
    ".line-map svg a": "a box of the drawing; every line stands in the list below it too",
}
"""Targets that may be smaller, each with its reason; links in running text ("in text") may be too, as WCAG
2.5.8 says.
"""
LARGE_TEXT = {"standard": 32, "fixed": 26}
"""A reader's own size of text, twice what browsers begin with [CSS px] (WCAG 2.2, criterion 1.4.4)."""

QUESTIONS = (
    "rules that a machine can find",
    "colours in the sun and at night",
    "large enough for a thumb or a glove, and far enough apart",
    "nothing scrolls sideways on the narrowest screen",
    "twice the size of text loses nothing",
    "one first heading, and no level skipped",
    "the focus is seen and never under the bar",
)


@dataclass(frozen=True, slots=True)
class Looked:
    """One page, looked at from every side. faults: by question, what is wrong."""

    address: str
    at_the_car: bool
    targets: int
    excepted: Mapping[str, int]
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


@dataclass(frozen=True, slots=True)
class Reach:
    """measured: targets. excepted: how many of each exception. faults: what is too small or too near."""

    measured: int
    excepted: Mapping[str, int]
    faults: Sequence[str]


def reach(page: Page) -> Reach:
    """The targets of a page with bare hands and in gloves."""
    names = list(EXCEPTIONS)
    at_the_car = page.evaluate("document.body.classList.contains('car-side')")
    floor = AT_THE_CAR if at_the_car else BARE
    bare = page.evaluate("looking.reach", [*floor, names])
    page.evaluate("looking.wear", "gloves")
    gloved = page.evaluate("looking.reach", [*IN_GLOVES[floor], names])
    page.evaluate("looking.wear", "")
    faults = [*bare["faults"], *(f"in gloves: {fault}" for fault in gloved["faults"])]
    return Reach(bare["measured"], Counter(bare["excepted"]), faults)


def enlarged(page: Page) -> list[str]:
    """What is lost or scrolls sideways on a phone whose reader has text twice as large."""
    page.set_viewport_size(PHONE)
    session = page.context.new_cdp_session(page)
    session.send("Page.setFontSizes", {"fontSizes": LARGE_TEXT})
    found = page.evaluate("looking.tooWide", PHONE["width"]) + page.evaluate("looking.cutOff()")
    session.send("Page.setFontSizes", {"fontSizes": {"standard": 16, "fixed": 13}})
    session.detach()
    return [str(fault) for fault in found]


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


def looked(page: Page, address: str, answers: Sequence[Sequence[str]], reached: Reach) -> Looked:
    at_the_car = page.evaluate("document.body.classList.contains('car-side')")
    faults = dict(zip(QUESTIONS, answers, strict=True))
    return Looked(address, at_the_car, reached.measured, reached.excepted, faults)


def look_at(page: Page, address: str, seen: set[str]) -> Looked:
    """Look at a page on the narrowest screen, sparingly: in the place of the one before, without its scripts;
    of many alike at a few; for colours and the focus only at kinds of elements that were not `seen` before.
    """
    page.evaluate("looking.showInstead", address)
    page.evaluate("looking.unfold()")
    kinds = set(page.evaluate("looking.kinds()"))
    new, known = kinds - seen, sorted(kinds & seen)
    seen |= kinds
    reached, wide, levels = reach(page), sideways(page), headings(page)
    focus = focus_given(page, known) if new else []
    large = enlarged(page) if new else []
    page.set_viewport_size(NARROW)
    page.evaluate("looking.thin()")
    rules = violations(page, BUT_SIZE_AND_COLOUR)
    page.evaluate("looking.keepNew", known)
    colours = in_lights(page, ("", "sun", "night")) if new else []
    return looked(page, address, (rules, colours, reached.faults, wide, large, levels, focus), reached)


def look_closely(page: Page, address: str) -> Looked:
    """Open a page on a phone and look at all that is on it."""
    page.set_viewport_size(PHONE)
    page.goto(address)
    page.evaluate(scripts())
    page.evaluate("looking.unfold()")
    rules, colours, reached = violations(page), in_lights(page, ("sun", "night")), reach(page)
    levels, focus, large = headings(page), focus_walked(page), enlarged(page)
    page.set_viewport_size(NARROW)
    answers = (rules, colours, reached.faults, sideways(page), large, levels, focus)
    return looked(page, address, answers, reached)


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
