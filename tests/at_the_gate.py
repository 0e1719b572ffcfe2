"""A small build at the gate before its first start, and how its stages are filled in and signed."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import httpx

from tests.asking import Browser, number_in

NUMBERS = {
    "crank-oil": "2 bar",
    "fuel-set": "3 bar",
    "plugs-in": "6",
    "plugs-out": "6",
    "oil-after": "3 s",
    "drain-after": "12 s",
    "idle-oil": "1.5 bar",
    "fuel-idle": "3.0 bar",
    "fuel-least": "2.9 bar",
    "limit-boost": "1.2 bar",
    "limit-lambda": "0.85",
    "limit-charge": "60 °C",
    "spring-boost": "0.5 bar",
    "spring-lambda": "0.80",
    "spring-charge": "41 °C",
    "steps-boost": "1.0 bar",
    "steps-lambda": "0.79",
    "steps-charge": "55 °C",
}
"""What a sound car reads."""


@dataclass(frozen=True)
class AtTheGate:
    """A build whose ledger has one capped nipple, and nothing else that could hold it."""

    browser: Browser
    build: str
    point: str
    space: str

    @property
    def gate(self) -> str:
        return f"{self.build}/first-start"

    def stages(self) -> list[Any]:
        found: list[Any] = self.browser.get_json(self.gate)["stages"]
        return found

    def codes(self) -> list[str]:
        return [one["href"].rsplit("/", 1)[1] for one in self.stages()]

    def words(self) -> dict[str, str]:
        return {one["href"].rsplit("/", 1)[1]: one["word"] for one in self.stages()}

    def stage(self, code: str) -> Any:
        return self.browser.get_json(f"{self.gate}/{code}")

    def look(self, by: str) -> httpx.Response:
        seen = {f"look.{one['item']}": one["state"] for one in self.stage("connections")["connections"]}
        return self.browser.post(f"{self.gate}/connections/looks", {"by": by, **seen})

    def enter(self, code: str, **other: str) -> httpx.Response:
        """Tick everything, and enter sound figures or others."""
        page = self.stage(code)
        fields = {one["code"]: "on" for one in page["ticks"]}
        fields |= {one["code"]: NUMBERS[one["code"]] for one in page["numbers"]}
        return self.browser.post(f"{self.gate}/{code}/entries", fields | other)

    def sign(self, code: str, by: str = "Ada", **more: str) -> httpx.Response:
        fields = {"by": by, "seen": self.stage(code)["seen"]} | more
        return self.browser.post(f"{self.gate}/{code}/signature", fields)

    def take_back(self, code: str) -> httpx.Response:
        signed = self.stage(code)["signed"]
        fields = {"by": "Ada", "reason": "to look again", "version": str(signed["version"] if signed else 1)}
        return self.browser.post(f"{self.gate}/{code}/taking-back", fields)

    def set_point(self, closing: str) -> httpx.Response:
        """Cap the nipple, or pull its cap off."""
        version = number_in(self.version_of_point())
        fields = {"name": "Nipple", "medium": "manifold vacuum", "space_id": self.space, "closing": closing}
        return self.browser.post(
            f"{self.build}/ledger/point/{self.point}", fields | {"version": str(version)}
        )

    def version_of_point(self) -> str:
        page = self.browser.get_json(f"{self.build}/lines?add=point&edit={self.point}")
        return f"v/{page['entry']['version']}"

    def say_cut_proved(self) -> None:
        version = self.browser.get_json(f"{self.build}/lines")["cut"]["version"]
        fields = {"over_boost_cut": "proved", "version": str(version)}
        assert self.browser.post(f"{self.build}/ledger-cut", fields).status_code == 303

    def sign_up_to(self, last: str) -> None:
        """Sign every stage as far as one, that one too."""
        self.look("Ada")
        self.look("Ben")
        for code in self.codes():
            if code == "cut":
                self.say_cut_proved()
            assert self.enter(code).status_code == 303
            answer = self.sign(code)
            assert answer.status_code == 303, answer.text
            if code == last:
                return


def at_the_gate(browser: Browser, **build: str) -> AtTheGate:
    made = browser.post("/builds", {"name": "Orrin", "car": "saloon", **build}).headers["location"]
    address = f"/builds/{number_in(made)}"
    space = {"name": "manifold", "kind": "the manifold behind the throttle"}
    assert browser.post(f"{address}/ledger/space", space).status_code == 303
    space_id = str(number_in(browser.get_json(f"{address}/lines")["spaces"][0]["href"]))
    point: Mapping[str, str] = {
        "name": "Nipple",
        "medium": "manifold vacuum",
        "space_id": space_id,
        "closing": "capped",
    }
    assert browser.post(f"{address}/ledger/point", point).status_code == 303
    point_id = str(number_in(browser.get_json(f"{address}/lines")["points"][0]["href"]))
    return AtTheGate(browser, address, point_id, space_id)
