"""A ledger to write into, as tests of it and of what is drawn from it need one."""

from dataclasses import dataclass
from typing import Any

import httpx

from tests.asking import Browser, number_in


@dataclass(frozen=True)
class Sheet:
    """The ledger of a build with the usual spaces and nothing else."""

    browser: Browser
    build: str

    def enter(self, sort: str, **fields: str) -> httpx.Response:
        return self.browser.post(f"{self.build}/ledger/{sort}", fields)

    def page(self, more: str = "") -> Any:
        return self.browser.get_json(f"{self.build}/lines{more}")

    def numbers(self, sort: str) -> dict[str, str]:
        """Number of each entry by its name."""
        where = {"space": "spaces", "point": "points", "device": "devices", "line": "lines"}[sort]
        return {one["name"]: _edited(one["href"]) for one in self.page()[where]}

    def point(self, name: str, space: str, medium: str = "manifold vacuum", **more: str) -> str:
        fields = {"name": name, "space_id": self.numbers("space")[space], "medium": medium} | more
        assert self.enter("point", **fields).status_code == 303
        return self.numbers("point")[name]

    def line(self, name: str, first: str = "", second: str = "", **more: str) -> str:
        fields = {"name": name, "medium": "manifold vacuum", "first_id": first, "second_id": second} | more
        answer = self.enter("line", **fields)
        assert answer.status_code == 303, answer.text
        return self.numbers("line")[name]


def _edited(href: str) -> str:
    return str(number_in(href))


def usual_sheet(browser: Browser) -> Sheet:
    """The ledger of a new build with the usual spaces and nothing else."""
    build = browser.post("/builds", {"name": "Orrin", "car": "saloon"}).headers["location"]
    found = Sheet(browser, f"/builds/{number_in(build)}")
    assert browser.post(f"{found.build}/ledger-usual", {}).status_code == 303
    return found


def servo_sheet(browser: Browser) -> Sheet:
    """A hose from manifold to brake servo, without its valve."""
    found = usual_sheet(browser)
    first = found.point("Manifold nipple", "the manifold behind the throttle")
    second = found.point("Servo nipple", "the brake servo")
    found.line("Servo hose", first, second, tag="7", size="10", rating="150 °C", clamp="spring clamp")
    return found
