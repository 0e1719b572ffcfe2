"""A small build in which every form is shown somewhere, for those who fill them all."""

import re

import httpx

from tests.asking import Browser, number_in
from tests.http.intake_build import IntakeBuild, make_intake, stored
from tests.page_forms import page_forms
from tests.pictures import picture, saved

SAFE = {f"safe-{name}": "on" for name in ("regulator", "plugs", "breather", "low")}
"""What is so before anybody puts pressure on an engine."""


def one_of_everything(browser: Browser) -> IntakeBuild:
    """A small build beside the demo in which every form is shown somewhere."""
    intake = make_intake(browser)
    build = f"/builds/{intake.build_id}"

    def put(address: str, **fields: str) -> int:
        return stored(browser.post(build + address, fields))

    assert intake.post(f"/pieces/{intake.pieces[-1]}/removal").status_code == 303
    put(f"/designs/{intake.design_id}/concessions", rule="bore-held", reason="a smaller tube is at hand")
    put(f"/subsystems/{intake.subsystem_id}/designs", name="A tube bent in one")
    put("/orders", supplier="Millrace Tube", part_1="Tube", quantity_1="2", part_2="Clamp", quantity_2="9")
    line = number_in(re.findall(r"/order-lines/\d+", browser.get(f"{build}/orders").text)[0])
    assert browser.post(f"{build}/order-lines/{line}/deliveries", {"back": "orders"}).status_code == 303
    order = number_in(re.findall(r"/orders/\d+", browser.get(f"{build}/orders").text)[0])
    parcel = {f"wrong_{line + 1}": "2", f"right_{line + 1}": "3"}
    assert browser.post(f"{build}/orders/{order}/parcels", parcel).status_code == 303
    for _ in range(2):
        back = {"quantity": "1", "condition": "wrong", "wants": "refund"}
        sent = stored(browser.post(f"{build}/order-lines/{line + 1}/returns", back))
    assert browser.post(f"{build}/returns/{sent}/refund", {"refund": "3.20"}).status_code == 303
    put("/orders", supplier="Corvid Fasteners", part_1="Nut", quantity_1="4")
    for title in ("Cut the tube", "Bead the ends", "Offer it up"):
        put("/tasks", title=title, likely="20 min", place="bench")
    work = browser.get(f"{build}/work").text
    first, second, third = sorted({int(number) for number in re.findall(r"/tasks/(\d+)", work)})
    task = browser.get(f"{build}/tasks/{third}").text
    reading = next(form for form in page_forms(task) if form.address.endswith("/waits")).value("waits_for")
    part = number_in(re.findall(r"/parts/\d+", browser.get(f"{build}/parts").text)[0])
    put(f"/tasks/{second}/afters", after_task_id=str(first))
    put(f"/tasks/{third}/needs", part_id=str(part), quantity="3")
    put(f"/tasks/{third}/waits", waits_for=reading)
    put(f"/tasks/{third}/holds", kind="tool", reason="the bead roller is lent out")
    wanted = browser.get_json(f"{build}/shopping")["unoffered"][0]["key"]
    put("/shopping/offers", key=wanted, supplier="Underhill Castings", price="9.90")
    for name in ("Turbine gasket", "Blue coupler 80 mm", "Black coupler 80 mm"):
        kind = "coupler" if "coupler" in name else ""
        put("/parts", name=name, kind=kind, spares="1", spare_reason="it is spoilt easily")
        newest = max(map(int, re.findall(r"/parts/(\d+)", browser.get(f"{build}/parts").text)))
        put(f"/tasks/{third}/needs", part_id=str(newest), quantity="2")
        unoffered = browser.get_json(f"{build}/shopping")["unoffered"]
        added = next(one["key"] for one in unoffered if one["name"] == name)
        put("/shopping/offers", key=added, supplier="Underhill Castings", price="6.00")
    put(f"/tasks/{third}/setbacks", title="Drill out the snapped stud", chance="30", likely="2 h")
    put("/stints", kind="weekly", weekday="Tuesday", begins="18:00", ends="21:00")
    put("/stints/helpers", name="Jo", skills="welds")
    helper = str(browser.get_json(f"{build}/stints")["helpers"][0]["id"])
    put("/stints/visits", helper_id=helper, day="2026-11-28", begins="09:00", ends="15:00")
    what_can_be_put_back(intake)
    what_is_in_space(intake)
    what_joins_what(intake)
    put("/leak-test", way="listened", pressure="0.3 bar", taken="0.03 g/s", leaks="none", by="Ada", **SAFE)
    lent = browser.post(f"{build}/links", {"name": "Jo", "scope": "look", "for": "whole"})
    assert lent.status_code == 200, lent.text
    return intake


def what_can_be_put_back(intake: IntakeBuild) -> None:
    """A pipe that was cut, a borrowed part, an off-cut, a note with its photo, and things set aside."""
    browser, build = intake.browser, f"/builds/{intake.build_id}"

    def put(address: str, **fields: str) -> httpx.Response:
        answer = browser.post(build + address, fields)
        assert answer.status_code == 303, f"{address}: {answer.text}"
        return answer

    put("/limits/mach.most", version="0", value="0.36", reason="the maker's map allows it")
    put("/subsystems", kind="fuel supply")
    tube = {"kind": "tube", "outside_diameter": "80", "wall": "2", "length": "500 mm", "name": "Bought pipe"}
    piece = stored(put(f"/designs/{intake.design_id}/pieces", **tube, after=str(intake.pieces[1])))
    version = browser.get_json(f"{intake.design}?piece={piece}")["editor"]["version"]
    cut = {"cut_at": "100", "take_out": "50", "join": "coupler", "version": str(version)}
    put(f"/designs/{intake.design_id}/pieces/{piece}/cut", **cut)
    spare = stored(put(f"/subsystems/{intake.subsystem_id}/designs", name="A first thought"))
    put(f"/designs/{spare}/removal")
    put(f"/subsystems/{stored(put('/subsystems', kind='oil feed'))}/removal")
    for gap in ("40", "90"):
        loom = {"what": "wiring loom", "gap": gap, "piece_id": str(intake.pieces[1])}
        put(f"/designs/{intake.design_id}/neighbours", **loom)
    aside = browser.get_json(f"{intake.design}/neighbours")["near"][1]["id"]
    put(f"/designs/{intake.design_id}/neighbours/{aside}/removal")
    coolant = f"/subsystems/{stored(put('/subsystems', kind='coolant'))}/figures"
    folded = {"coolant.shape": "bent", "coolant.bore": "19", "coolant.radius": "20", "coolant.bleed": "no"}
    put(coolant, version="0", **folded)
    put(f"{coolant}/concessions", rule="hose-kink", reason="a moulded one is on its way")
    put("/parts", name="Outlet of another car", origin="borrowed")
    put("/parts", name="Aluminium tube, 80 mm", kind="tube", stock_length="2 m")
    put("/off-cuts", part="Aluminium tube, 80 mm", length="450 mm")
    put("/log", text="The bead roller is back")
    note = re.findall(rf"{build}/log/\d+", browser.get(f"{build}/log").text)[0]
    photo = {"photo": ("IMG_0001.jpg", saved(picture()), "image/jpeg")}
    assert browser.post(f"{note}/photos", {}, files=photo).status_code == 303


def what_is_in_space(intake: IntakeBuild) -> None:
    """Both ends of the intake placed in the car, what is in the way, and a piece offered up twice."""
    browser, build = intake.browser, f"/builds/{intake.build_id}"

    def put(address: str, **fields: str) -> None:
        answer = browser.post(build + address, fields)
        assert answer.status_code == 303, f"{address}: {answer.text}"

    for port, forward in (("meter", "100"), ("compressor", "700")):
        put(f"/ports/{intake.ports[port]}/place", way="offsets", forward=forward, left="300", up="200")
        put(f"/ports/{intake.ports[port]}/place", way="words", level="left", tilt="level")
    for name in ("Servo hose", "Slave line"):
        put(
            "/keep-outs", shape="ball", what="something else", name=name, at="2000 0 0", across="20", gap="10"
        )
    aside = browser.get_json(f"{build}/keep-outs")["keep_outs"][1]["id"]
    put(f"/keep-outs/{aside}/removal")
    trims = f"/designs/{intake.design_id}/pieces/{intake.pieces[1]}/trims"
    for excess in ("20", "14"):
        put(trims, excess=excess, read_with="rule")
    put(f"{trims}/{browser.get_json(build + trims)['lines'][1]['id']}/withdrawal")


def what_joins_what(intake: IntakeBuild) -> None:
    """Three lines between two spaces: one in the car, one taken out, one set aside."""
    browser, build = intake.browser, f"/builds/{intake.build_id}"

    def put(address: str, **fields: str) -> None:
        answer = browser.post(build + address, fields)
        assert answer.status_code == 303, f"{address}: {answer.text}"

    for kind in ("the manifold behind the throttle", "the brake servo"):
        put("/ledger/space", kind=kind)
    manifold, servo = (str(number_in(one["href"])) for one in browser.get_json(f"{build}/lines")["spaces"])
    put("/ledger/device", kind="one-way valve", name="Servo valve", first_id=servo, second_id=manifold)
    for name in ("Servo hose", "Gauge hose", "Spare hose"):
        put("/ledger/point", name=f"{name}, nipple", space_id=manifold, medium="manifold vacuum")
        point = str(number_in(browser.get_json(f"{build}/lines")["points"][-1]["href"]))
        put("/ledger/line", name=name, medium="manifold vacuum", first_id=point)
    _, gauge, spare = (one["id"] for one in browser.get_json(f"{build}/lines")["lines"])
    put(f"/lines/{gauge}/out", version="1", closing="capped", reason="an electric gauge")
    put(f"/ledger/line/{spare}/removal")
