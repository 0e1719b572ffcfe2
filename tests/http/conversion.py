"""A whole conversion from the starting set: two runs designed, made by posting the forms a person would."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import httpx

from tests.asking import Browser, number_in
from tests.http.intake_build import stored
from tests.page_forms import page_forms

ENGINE = {
    "version": "0",
    "displacement": "1.8 l",
    "redline": "6600",
    "boost": "0.8 bar",
    "highest_boost": "1 bar",
    "fuel": "petrol-95",
}
TUBE = {"material": "304 stainless", "outside_diameter": "63.5", "wall": "1.5"}
HOSES, METAL = "Tarn Hose & Clamp", "Millrace Tube"
WELDED = {"inlet_end": "weld", "outlet_end": "weld"}
BEND = TUBE | WELDED | {"kind": "bend", "bend_angle": "90", "bend_radius": "95", "length": "60"}
SENSORS = ("Oxygen sensor", "Wideband sensor for the calibration")
COUPLER = {
    "kind": "coupler",
    "bore": "2.5 in",
    "length": "76",
    "wall": "5",
    "rated_pressure": "4 bar",
    "rated_temperature": "150 °C",
}
CLAMP = {
    "kind": "hose and clamp",
    "clamp": "T-bolt",
    "clamp_least": "71",
    "clamp_most": "80",
    "overlap": "32",
    "holds_origin": "own pull test, T-bolt behind a rolled bead",
    "holds": "1400 N",
}


@dataclass(slots=True)
class Conversion:
    """A build begun with everything that the starting set ticks, by what its sheets are called."""

    browser: Browser
    number: int
    sheets: dict[str, str] = field(default_factory=dict)

    @property
    def address(self) -> str:
        return f"/builds/{self.number}"

    def post(self, address: str, **fields: str) -> int:
        """Post below the build's address; the number of what the answer leads to."""
        return stored(self.browser.post(self.address + address, fields))

    def told(self, sheet: str) -> Any:
        return self.browser.get_json(self.address + sheet)

    def subsystem(self, name: str) -> str:
        found = self.told("/subsystems")["subsystems"]
        return str(next(one["href"] for one in found if one["name"] == name))

    def port(self, name: str) -> int:
        """Looked up on every part of the list of ports."""
        return number_in(
            self.sheets.setdefault(f"port {name}", self._look_up("/ports", "ports", "name", name))
        )

    def task(self, title: str) -> str:
        """The address of a task's sheet."""
        return self.sheets.setdefault(f"task {title}", self._task(title))

    def _look_up(self, sheet: str, listed: str, key: str, name: str) -> str:
        shown = self.told(sheet)
        while True:
            for one in shown[listed]:
                if one[key] == name:
                    return str(one["href"])
            assert shown["more"], f"{name} is nowhere on {sheet}"
            shown = self.browser.get_json(shown["more"]["href"])

    def _task(self, title: str) -> str:
        work = self.told("/work?group=waiting")
        lines = [*work["ready"], *work["held"], *self.told("/work")["ready"], *self.told("/work")["held"]]
        return str(next(one["href"] for one in lines if one["title"] == title))

    def measure(self, port: str, **readings: str) -> None:
        for dimension, text in readings.items():
            self.post(
                f"/ports/{self.port(port)}/readings",
                dimension=dimension,
                reading=text,
                instrument="digital_caliper",
            )

    def design(self, subsystem: str, name: str, **fields: str) -> "Run":
        address = self.browser.post(f"{self.subsystem(subsystem)}/designs", {"name": name, **fields})
        return Run(self, stored(address))


@dataclass(frozen=True, slots=True)
class Run:
    """One design and its pieces."""

    of: Conversion
    number: int

    @property
    def address(self) -> str:
        return f"{self.of.address}/designs/{self.number}"

    def told(self, piece: int | None = None) -> Any:
        return self.of.browser.get_json(self.address + (f"?piece={piece}" if piece else ""))

    def pieces(self) -> list[int]:
        return [one["id"] for one in self.told()["pieces"]]

    def post(self, address: str, fields: Mapping[str, str]) -> httpx.Response:
        answer = self.of.browser.post(self.address + address, fields)
        assert answer.status_code == 303, answer.text
        return answer

    def add(self, fields: Mapping[str, str], **more: str) -> int:
        return stored(self.post("/pieces", {**fields, **more}))

    def change(self, piece: int, **changes: str) -> None:
        """Send a piece's form as it stands, with some fields changed."""
        forms = page_forms(self.of.browser.get(f"{self.address}?piece={piece}").text)
        form = next(one for one in forms if one.address == f"{self.address}/pieces/{piece}")
        self.post(f"/pieces/{piece}", dict(form.having(**changes).fields))

    def side_port(self, piece: int, port: str, at: str, bore: str, clock: str = "0") -> None:
        line = str(self.of.port(port))
        fields = {"port_id": line, "at": at, "bore": bore, "fixing": "welded", "clock": clock}
        self.post(f"/pieces/{piece}/bungs", fields)

    def say(self, joint: int, fields: Mapping[str, str]) -> None:
        """What holds a joint, by its number along the run."""
        shown = self._joint(joint)
        self.post(
            f"/joints/{shown['id']}", {"kind": shown["kind"], **fields, "version": str(shown["version"])}
        )

    def same(self, joint: int) -> int:
        """One tap: the same as the joint that the page offers; the number of that one."""
        shown = self._joint(joint)
        self.post(f"/joints/{shown['id']}/copy", {"version": str(shown["version"])})
        return int(shown["like"])

    def _joint(self, number: int) -> Any:
        pieces = self.pieces()
        editor = self.told(pieces[min(number, len(pieces)) - 1])["editor"]
        return next(one for one in editor["joints"] if one["number"] == number)

    def verdicts(self) -> dict[str, str]:
        page = self.told()
        return {line["code"]: line["verdict"]["word"] for line in page["open_checks"] + page["passed_checks"]}


def begin(browser: Browser) -> Conversion:
    """A new build, everything added that the starting set ticks, the engine sheet filled."""
    start = browser.post("/builds", {"name": "The grey saloon", "budget": "1200"}).headers["location"]
    form = next(one for one in page_forms(browser.get(start).text) if one.address == start)
    answer = browser.post(start, dict(form.fields))
    assert answer.status_code == 303, answer.text
    build = number_in(start)
    conversion = Conversion(browser, build)
    answer = browser.post(f"{conversion.address}/engine", ENGINE)
    assert answer.status_code == 303, answer.text
    return conversion


def charge_pipe(build: Conversion) -> Run:
    """From turbo to cooler in stainless, welded in the middle, a coupler at each end."""
    build.measure("Compressor outlet", outside_diameter="63.4 mm", wall="3")
    build.measure("Cooler inlet", outside_diameter='2.5"', wall="2 mm")
    build.measure("Boost signal for the wastegate", bore="4")
    run = build.design(
        "Charge pipe",
        "Round the front",
        start_port_id=str(build.port("Compressor outlet")),
        end_port_id=str(build.port("Cooler inlet")),
    )
    run.add(COUPLER)
    first = run.add(TUBE, kind="tube", length="150", inlet_end="bead", outlet_end="weld")
    run.add(BEND, length_out="60")
    run.add(TUBE, kind="tube", length="320", inlet_end="weld", outlet_end="bead")
    run.add(COUPLER)
    run.side_port(first, "Boost signal for the wastegate", "70", "4")
    run.say(1, CLAMP)
    for joint in (2, 5, 6):
        run.same(joint)
    run.say(3, {"filler": "308L"})
    run.same(4)
    return run


def downpipe(build: Conversion) -> Run:
    """Turbine to the old exhaust, with the lower half of the front pipe kept."""
    build.measure("Turbine outlet", outside_diameter="89", bore="60 mm")
    build.measure("Downpipe's lower joint", bore="60.5")
    for sensor in SENSORS:
        build.measure(sensor, bore="16.5")
    run = build.design(
        "Downpipe",
        "Keeps the old lower half",
        start_port_id=str(build.port("Turbine outlet")),
        end_port_id=str(build.port("Downpipe's lower joint")),
    )
    run.add(WELDED, kind="flange", material="304 stainless", inlet_end="V-band", bore="60.5", length="20")
    run.add(BEND, length_out="60")
    tube = run.add(TUBE | WELDED, kind="tube", length="260")
    flex = {"bore": "60.5", "outside_diameter": "75", "length": "150", "travel": "25"}
    run.add(WELDED | flex, kind="flex", material="304 stainless", liner="downstream", supported="on")
    kept = {"name": "Old front pipe, lower half", "material": "mild steel", "known_by": "measured"}
    run.add(
        kept | {"kind": "salvaged pipe", "outside_diameter": "63.5", "wall": "1.5", "length": "420"},
        inlet_end="weld",
        outlet_end="flange",
    )
    for sensor, at, clock in zip(SENSORS, ("180", "230"), ("-60", "60"), strict=True):
        run.side_port(tube, sensor, at, "16.5", clock)
    run.say(2, {"filler": "308L"})
    run.same(3)
    run.same(4)
    run.say(5, {"filler": "309L"})
    return run


def seller_of(part: str) -> str:
    """Hoses and what holds them from one, metal from the other."""
    return HOSES if any(word in part for word in ("clamp", "coupler", "gasket")) else METAL


def sell_every_line(build: Conversion) -> None:
    """An offer for every line of the shopping list that has none."""
    while lines := build.told("/shopping")["unoffered"]:
        for line in lines:
            offer = {"supplier": seller_of(line["name"]), "price": "7.50", "lead_days": "5"}
            answer = build.browser.post(f"{build.address}/shopping/offers", {"key": line["key"], **offer})
            assert answer.status_code == 303, answer.text
