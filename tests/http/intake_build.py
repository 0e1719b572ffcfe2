"""An intake of seven pieces and two side ports, made by posting the forms a person would send."""

import re
from dataclasses import dataclass

import httpx

from tests.asking import Browser, number_in

HOSE = {"wall": "5", "rated_pressure": "4 bar", "rated_temperature": "150 °C"}
BEADED = {"inlet_end": "bead", "outlet_end": "bead", "wall": "2"}


@dataclass(frozen=True)
class IntakeBuild:
    """A build with an engine sheet, four ports and an intake, and the browser that made it."""

    browser: Browser
    build_id: int
    subsystem_id: int
    design_id: int
    ports: dict[str, int]
    pieces: tuple[int, ...]

    @property
    def design(self) -> str:
        return f"/builds/{self.build_id}/designs/{self.design_id}"

    def post(self, address: str, **fields: str) -> httpx.Response:
        """Post below the design's address."""
        return self.browser.post(self.design + address, fields)

    def verdicts(self) -> dict[str, str]:
        """The verdict words of the design's checks by code."""
        page = self.browser.get_json(self.design)
        return {line["code"]: line["verdict"]["word"] for line in page["open_checks"] + page["passed_checks"]}


def stored(answer: httpx.Response) -> int:
    """The number of what a form made, from the address it sends the browser to."""
    assert answer.status_code == 303, answer.text
    return number_in(answer.headers["location"].split("#")[0])


def make_build(browser: Browser, name: str = "The saloon") -> int:
    answer = browser.post("/builds", {"name": name, "car": "1999 saloon, 2.1 litre"})
    return int(re.findall(r"/builds/(\d+)", answer.headers["location"])[0])


def fill_engine_sheet(browser: Browser, build_id: int) -> None:
    sheet = {
        "version": "0",
        "displacement": "2.1 l",
        "redline": "6600",
        "boost": "1.0 bar",
        "fuel": "petrol-95",
        "elevation": "240 m",
        "highest_boost": "1.3 bar",
        "meter_range": "330 g/s",
        "meter_bore": "80 mm",
    }
    answer = browser.post(f"/builds/{build_id}/engine", sheet)
    assert answer.status_code == 303, answer.text


def make_port(browser: Browser, build_id: int, readings: dict[str, str], **fields: str) -> int:
    """A port with readings by caliper, as typed."""
    port_id = stored(browser.post(f"/builds/{build_id}/ports", fields))
    for dimension, text in readings.items():
        reading = {"dimension": dimension, "reading": text, "instrument": "digital_caliper"}
        answer = browser.post(f"/builds/{build_id}/ports/{port_id}/readings", reading)
        assert answer.status_code == 303, answer.text
    return port_id


def make_intake(browser: Browser) -> IntakeBuild:
    """The whole intake; its elbow has no wire and its second tube is too narrow until a test cures it."""
    build_id = make_build(browser)
    fill_engine_sheet(browser, build_id)
    subsystem_id = stored(browser.post(f"/builds/{build_id}/subsystems", {"kind": "intake"}))
    after_meter = {
        "role": "side port",
        "shape": "hose",
        "subsystem_id": str(subsystem_id),
        "stretch": "between air meter and compressor",
    }
    spigot = {"role": "run end", "shape": "spigot", "end_form": "bead"}
    ports = {
        "meter": make_port(
            browser,
            build_id,
            {"outside_diameter": "80 mm", "wall": "2.5 mm"},
            name="Air meter outlet",
            **spigot,
        ),
        "compressor": make_port(
            browser, build_id, {"outside_diameter": "4 in", "wall": "3 mm"}, name="Compressor inlet", **spigot
        ),
        "breather": make_port(browser, build_id, {"bore": "19 mm"}, name="Crankcase breather", **after_meter),
        "bypass": make_port(browser, build_id, {"bore": "1 in"}, name="Bypass return", **after_meter),
    }
    start = {
        "name": "Bought elbow",
        "start_port_id": str(ports["meter"]),
        "end_port_id": str(ports["compressor"]),
    }
    design_id = stored(browser.post(f"/builds/{build_id}/subsystems/{subsystem_id}/designs", start))
    pieces = tuple(
        stored(browser.post(f"/builds/{build_id}/designs/{design_id}/pieces", fields))
        for fields in (
            {"kind": "coupler", "bore": "80 mm", "length": "76", "reinforced": "on", **HOSE},
            {"kind": "tube", "outside_diameter": "80", "length": "150", **BEADED},
            {
                "kind": "hose elbow",
                "bore": "80",
                "bend_angle": "90",
                "bend_radius": "110",
                "length": "60",
                "length_out": "60",
                **HOSE,
            },
            {"kind": "tube", "outside_diameter": "60", "length": "120", **BEADED},
            {
                "kind": "reducer",
                "bore": "80",
                "bore_out": "101.6",
                "length": "90",
                "reinforced": "on",
                **HOSE,
            },
            {"kind": "tube", "outside_diameter": "101.6", "length": "100", **BEADED},
            {"kind": "coupler", "bore": "4 in", "length": "80", "reinforced": "on", **HOSE},
        )
    )
    intake = IntakeBuild(browser, build_id, subsystem_id, design_id, ports, pieces)
    for piece, port, bore in ((pieces[1], "breather", "19"), (pieces[3], "bypass", "26")):
        bung = {"port_id": str(ports[port]), "at": "60 mm", "bore": bore, "fixing": "welded"}
        assert intake.post(f"/pieces/{piece}/bungs", **bung).status_code == 303
    return intake
