"""Which pages are looked at: one of each template of the demo, in two halves, and all that a walk finds."""

import re
from collections.abc import Sequence
from html import unescape
from urllib.parse import urljoin

from fastapi import FastAPI

from tests.asking import Browser, ask_aside
from tests.walk import shape_of, walk

WORKS, LOOKS = "/s/WORKS", "/s/LOOKS"
"""Where the links of a helper and of a friend stand in the lists below."""

AT_WORK = (
    "/builds/1/garage",
    "/builds/1/stint",
    "/builds/1/work",
    "/builds/1/tasks/21",
    "/builds/1/orders",
    "/builds/1/orders/5",
    "/builds/1/shelf",
    "/builds/1/parts",
    "/builds/1/parts/11",
    "/builds/1/shopping",
    "/builds/1/shopping/suppliers/1",
    "/builds/1/shopping/money",
    "/builds/1/shopping/print",
    "/builds/1/suppliers",
    "/builds/1/suppliers/3",
    "/builds/1/pull",
    "/builds/1/line-tags",
    "/builds/1/line-map",
    "/builds/1/lines?add=line",
    "/builds/1/lines/1",
    "/builds/1/first-start",
    "/builds/1/first-start/connections",
    "/builds/1/first-start/spring",
    "/builds/1/leak-test",
    "/builds/1/plan",
    "/builds/1/stints",
    "/builds/1/suppose",
    "/builds/1/late",
    "/builds/1/visits/1",
    "/builds/1/log",
    "/builds/1/log/11",
    "/builds/1/log.html",
    "/builds/1/photos/4/sheet",
    "/builds/1/photos/4/marks",
    "/builds/1/side-by-side?first=1&second=2",
    "/builds/1/links",
    "/builds/1/labels",
    WORKS,
    f"{WORKS}/visits/1",
    f"{WORKS}/runs/2",
    f"{WORKS}/ports/4",
    LOOKS,
)
"""What is done and bought: one page of each template."""

AT_THE_DRAWING = (
    "/builds",
    "/builds/1",
    "/this-phone",
    "/nothing-here",
    "/builds/1/start",
    "/builds/1/engine",
    "/builds/1/power",
    "/builds/1/air-path",
    "/builds/1/ports",
    "/builds/1/ports/4?measure=bore",
    "/builds/1/ports/4/place",
    "/builds/1/places",
    "/builds/1/keep-outs",
    "/builds/1/measure",
    "/builds/1/limits?change=chance.go",
    "/builds/1/subsystems",
    "/builds/1/subsystems/13",
    "/builds/1/subsystems/13/figures",
    "/builds/1/subsystems/13/routes",
    "/builds/1/subsystems/13/splices",
    "/builds/1/subsystems/2/compare",
    "/builds/1/subsystems/2/dossier?design=2",
    "/builds/1/designs/9?piece=37",
    "/builds/1/designs/2?add=tube",
    "/builds/1/designs/2/isometric",
    "/builds/1/designs/2/cuts",
    "/builds/1/designs/2/neighbours",
    "/builds/1/designs/2/photos",
    "/builds/1/designs/1/pieces/4/trims",
    "/builds/1/handbook/bore-held",
    "/handbook",
    "/handbook/lines",
    "/handbook/losses",
    "/handbook/words",
    "/sums",
    "/sums/route",
    "/sums/schedule",
)
"""What is measured, designed and looked up: one page of each template."""


def by_links(app: FastAPI, pages: Sequence[str]) -> list[str]:
    """The same pages, with links that were made for them."""

    def link(asking: Browser, scope: str) -> str:
        made = asking.post("/builds/1/links", {"name": "Sam", "scope": scope, "for": "whole"})
        found = re.search(r'value="[^"]*(/s/[A-Z2-7]{26})"', made.text)
        assert found, made.text[:600]
        return found[1]

    def make(asking: Browser) -> list[str]:
        works, looks = link(asking, "work"), link(asking, "show")
        return [page.replace(WORKS, works).replace(LOOKS, looks) for page in pages]

    return ask_aside(app, make)


def every_page(app: FastAPI) -> list[str]:
    """Every page that a walk finds, from the home page and from both links."""
    starts = ["/", *by_links(app, [WORKS, LOOKS])]

    def find(asking: Browser) -> list[str]:
        stops = [stop for start in starts for stop in walk(asking, start)]
        stops = [stop for stop in stops if "html" in stop.answer.headers["content-type"]]
        shown = [stop for stop in stops if "content-disposition" not in stop.answer.headers]  # a file to keep
        asked: dict[tuple[str, str], str] = {}
        for stop in shown:
            for href in re.findall(r'href="([^"?#]*\?(?:add|piece|measure|change)=[^"#]+)', stop.answer.text):
                address = urljoin(stop.address, unescape(href))
                asked.setdefault((shape_of(address), address.split("?")[1].split("=")[0]), address)
        return list(dict.fromkeys([*(stop.address for stop in shown), *asked.values()]))

    return ask_aside(app, find)
