"""Walks the application as a curious visitor would: from the home page along every link."""

import re
from collections import Counter
from dataclasses import dataclass
from html import unescape
from html.parser import HTMLParser

import httpx

from tests.asking import Browser

ALIKE = 3
"""So many pages that differ in their numbers only are visited; the others would show the same."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One page of the walk. `shape` is its address without numbers."""

    address: str
    shape: str
    answer: httpx.Response


def shape_of(address: str) -> str:
    """The page of one rule of the handbook is like that of any other."""
    shape = re.sub(r"\d+", "N", address.split("?", maxsplit=1)[0])
    return re.sub(r"(/handbook/rules|/builds/N/handbook)/[a-z-]+", r"\1/RULE", shape)


def links(page: str) -> list[str]:
    """The addresses of this server that a page links to, without the place on the page."""
    found = re.findall(r'<a\s[^>]*?href="(/[^"]*)"', page)
    return list(dict.fromkeys(unescape(address).split("#")[0] for address in found))


def walk(browser: Browser, start: str = "/", alike_at_most: int = ALIKE) -> list[Stop]:
    """Every kind of page that can be reached by links below where it starts, in the order of finding."""
    waiting, seen, alike = [start], {start}, Counter[str]()
    stops: list[Stop] = []
    while waiting:
        address = waiting.pop(0)
        answer = browser.get(address, follow_redirects=True)
        landed = answer.url.raw_path.decode()
        if landed != address and landed in seen:
            continue
        seen.add(landed)
        stops.append(Stop(landed, shape_of(landed), answer))
        for link in links(answer.text):
            below = link.startswith(start) and not link.startswith("/static/")
            if below and link not in seen and alike[shape_of(link)] < alike_at_most:
                alike[shape_of(link)] += 1
                seen.add(link)
                waiting.append(link)
    return stops


class Markup(HTMLParser):
    """What a page is made of, as far as the contracts look at it."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.headings: list[str] = []
        self.title = ""
        self._inside: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        while self._inside and self._inside.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if self._inside and self._inside[-1] == "h1":
            self.headings.append(data)
        if self._inside and self._inside[-1] == "title" and "svg" not in self._inside:
            self.title += data

    def having(self, name: str) -> list[str]:
        """Every value of one attribute, in order."""
        return [value for _, attributes in self.tags if (value := attributes.get(name)) is not None]
