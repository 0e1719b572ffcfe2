"""A thousand hostile forms over every address that writes: none is a fault of ours, none is half stored.

The forms are read from the pages themselves, one thing in each is made wrong, and the seed is fixed.
"""

import random
import re
import shutil
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from urllib.parse import quote, urljoin

import httpx
import pysqlite3
import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from starlette.routing import BaseRoute

from server.app import create_app
from server.settings import settings_for
from tests.asking import Browser, fresh_key, number_in
from tests.conftest import TEN_IN_THE_MORNING
from tests.http.hostile import (
    FORM,
    MARK,
    NUMBERS,
    QUERIES,
    SPOILS,
    TEXTS,
    Post,
    Spoil,
    faults,
    hostile_json,
    huge,
    post_raw,
)
from tests.http.intake_build import IntakeBuild, make_intake, stored
from tests.http.test_routing import ASKED as ROUTE_ASKED
from tests.http.test_splicing import ASKED as SPLICE_ASKED
from tests.page_forms import PageForm, page_forms
from tests.pictures import picture, saved
from tests.walk import shape_of, walk

SEED = 20261125
POSTS = 1_000
FOLLOWED = 0.6
"""So large a share of the stored posts is followed to the page they lead to; the rest is seen at the end."""

ELSEWHERE = ("/static/", "/handbook", "/sums", "/openapi", "http")
ALIKE = 8


@dataclass(slots=True)
class Site:
    """The application under attack, what its forms look like now, and a second look at its database."""

    browser: Browser
    app: FastAPI
    database: pysqlite3.Connection
    forms: dict[str, dict[str, PageForm]] = field(default_factory=dict)

    def learn(self, page: str) -> None:
        """Take the forms of a page as it stands now."""
        for form in page_forms(page):
            self.forms.setdefault(self.route_of(form.address), {})[form.address] = form

    def route_of(self, address: str) -> str:
        path = address.split("?", maxsplit=1)[0]
        return next(route.path for route in writing_routes(self.app) if route.path_regex.fullmatch(path))

    def commits(self) -> int:
        """A number that changes whenever another connection commits a change, and only then."""
        return int(self.database.execute("PRAGMA data_version").fetchone()[0])

    def send(self, address: str, body: bytes, headers: dict[str, str]) -> httpx.Response:
        return post_raw(self.browser, address, body, headers)


def posting_routes(app: FastAPI) -> list[APIRoute]:
    found: list[BaseRoute] = []
    for mounted in app.router.routes:
        router = getattr(mounted, "original_router", None)
        found += router.routes if router else [mounted]
    for included in list(found):
        router = getattr(included, "original_router", None)
        found += router.routes if router else []
    return [route for route in found if isinstance(route, APIRoute) and route.methods == {"POST"}]


def writing_routes(app: FastAPI) -> list[APIRoute]:
    """Every route that takes posts of forms; the bench sums take JSON and write nothing."""
    return [route for route in posting_routes(app) if not route.path.startswith("/sums/")]


def crawl(browser: Browser, start: str, below: str = "/") -> Iterator[tuple[str, httpx.Response]]:
    """Every page below an address that links lead to; of those that differ in their query, the first few."""
    waiting, seen, alike = [start], {start}, Counter[str]()
    while waiting:
        address = waiting.pop(0)
        answer = browser.get(address, follow_redirects=True)
        yield address, answer
        for href in re.findall(r'<a\s[^>]*?href="([^"#]+)', answer.text):
            link = urljoin(answer.url.path, unescape(href))
            path, _, query = link.partition("?")
            kind = f"{shape_of(path)}?{'&'.join(sorted(re.findall('[a-z]+(?==)', query)))}"
            if (
                link in seen
                or not path.startswith(below)
                or path.startswith(ELSEWHERE)
                or (query and alike[kind] >= ALIKE)
            ):
                continue
            alike[kind] += 1
            seen.add(link)
            waiting.append(link)


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
    put("/parts", name="Turbine gasket", spares="1", spare_reason="it crushes once")
    unoffered = browser.get_json(f"{build}/shopping")["unoffered"]
    crushed = next(one["key"] for one in unoffered if one["name"] == "Turbine gasket")
    put("/shopping/offers", key=crushed, supplier="Underhill Castings", price="6.00")
    put(f"/tasks/{third}/setbacks", title="Drill out the snapped stud", chance="30", likely="2 h")
    put("/stints", kind="weekly", weekday="Tuesday", begins="18:00", ends="21:00")
    put("/stints/helpers", name="Jo", skills="welds")
    helper = str(browser.get_json(f"{build}/stints")["helpers"][0]["id"])
    put("/stints/visits", helper_id=helper, day="2026-11-28", begins="09:00", ends="15:00")
    what_can_be_put_back(intake)
    what_is_in_space(intake)
    what_joins_what(intake)
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


def found_in_space(intake: IntakeBuild) -> Iterator[str]:
    """The pages of a route and of a splice that were found, which no link leads to."""
    subsystem = f"/builds/{intake.build_id}/subsystems/{intake.subsystem_id}"
    ends = {"start_port_id": str(intake.ports["meter"]), "end_port_id": str(intake.ports["compressor"])}
    for page, asked in (("routes", ROUTE_ASKED | ends), ("splices", SPLICE_ASKED)):
        yield intake.browser.get(f"{subsystem}/{page}", params=asked).text


def after_a_save(site: Site) -> str:
    """A design on which a piece was just saved: nowhere else is the form that undoes it."""
    swaps = site.forms["/builds/{build_id}/designs/{design_id}/pieces/{piece_id}/swap"]
    form = next(iter(swaps.values()))
    return site.browser.follow(site.browser.post(form.address, dict(form.fields))).text


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Iterator[Site]:
    settings = settings_for(data=tmp_path_factory.mktemp("hostile") / "data", environment={})
    shutil.copytree(demo_folder, settings.data)
    app = create_app(settings, lambda: TEN_IN_THE_MORNING)
    database = pysqlite3.connect(settings.data / "witness-mark.sqlite", isolation_level=None)
    with Browser(app) as browser:
        under_attack = Site(browser, app, database)
        intake = one_of_everything(browser)
        small = intake.build_id
        under_attack.learn(browser.get("/builds").text)
        for _, answer in crawl(browser, f"/builds/{small}", f"/builds/{small}"):
            under_attack.learn(answer.text)
        for page in found_in_space(intake):
            under_attack.learn(page)
        under_attack.learn(after_a_save(under_attack))
        yield under_attack
    database.close()
    app.state.engine.dispose()


def attack(site: Site, dice: random.Random, route: str, spoil: Spoil) -> tuple[str, int, list[str]]:
    """Post one spoilt form; what was sent, the status, and what is wrong with the answer."""
    form = dice.choice(list(site.forms[route].values()))
    headers = {"content-type": FORM, "accept": "text/html"}
    post = Post(form.address, [(n, v) for n, v in form.fields if n != "operation_key"], headers)
    post.pairs.append(("operation_key", fresh_key()))
    spoil(dice, post, form)
    before = site.commits()
    answer = site.send(post.address, post.encoded(), post.headers)
    told = f"{spoil.__name__} {post.address[:120]} {post.encoded()[:200]!r}"
    found = faults(answer)
    if answer.status_code >= 400:
        if site.commits() != before:
            found.append(f"answers {answer.status_code} and yet stored something")
    elif answer.status_code == 303 and dice.random() < FOLLOWED:
        # The sheet of a task that is set aside leads on to the work, where it can be put back.
        after = site.browser.get(answer.headers["location"], follow_redirects=True)
        found += [f"stored, and then the page {problem}" for problem in faults(after)]
        if after.status_code != 200:
            found.append(f"sends to {answer.headers['location']}, which answers {after.status_code}")
        site.learn(after.text)
    return told, answer.status_code, found


def test_every_address_that_writes_is_reached_by_a_form_of_a_page(site: Site) -> None:
    unreached = {route.path for route in writing_routes(site.app)} - site.forms.keys()
    assert unreached == set()


@dataclass(frozen=True, slots=True)
class Aftermath:
    """What two thousand posts came to: how often each status was answered, and every fault."""

    statuses: Counter[int]
    wrong: list[str]


@pytest.fixture(scope="module")
def attacked(site: Site) -> Aftermath:
    dice = random.Random(SEED)
    routes = sorted(site.forms)
    spoils, weights = zip(*SPOILS, strict=True)
    after = Aftermath(Counter(), [])
    for number in range(POSTS):
        spoil = huge if number % 400 == 399 else dice.choices(spoils, weights)[0]
        told, status, found = attack(site, dice, routes[number % len(routes)], spoil)
        after.statuses[status] += 1
        after.wrong.extend(f"{problem}: {told}" for problem in found)
    return after


def test_a_thousand_hostile_forms_break_nothing_and_store_nothing_by_halves(
    site: Site, attacked: Aftermath
) -> None:
    assert attacked.wrong == []
    statuses = attacked.statuses
    assert statuses.total() == POSTS
    assert statuses[303] > POSTS / 20, "hardly anything was stored: they are wrong before they are spoilt"
    assert statuses[422] > POSTS / 5, statuses
    assert site.database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert site.database.execute("PRAGMA foreign_key_check").fetchall() == []


@pytest.mark.usefixtures("attacked")
def test_every_page_still_stands_after_the_attack(site: Site) -> None:
    told, marked = {}, 0
    for address, answer in crawl(site.browser, "/builds"):
        found = faults(answer)
        marked += MARK in answer.text
        if answer.status_code != 200 or found:
            told[address] = (answer.status_code, found)
    assert told == {}
    assert marked > 10, "hardly a page shows a hostile text: nothing was tried"


def test_the_bench_sums_refuse_hostile_json_calmly(site: Site) -> None:
    dice = random.Random(SEED)
    sums = [route.path for route in posting_routes(site.app) if route.path.startswith("/sums/")]
    assert sums
    before, wrong = site.commits(), []
    for address in sums * 30:
        headers = {"content-type": dice.choice(("application/json", "text/plain", FORM))}
        answer = site.send(address, hostile_json(dice), headers)
        wrong += [f"{address} {problem}" for problem in faults(answer)]
        if answer.status_code not in {200, 422}:
            wrong.append(f"{address} answers {answer.status_code}")
    assert wrong == []
    assert site.commits() == before


def test_hostile_addresses_are_answered_calmly(site: Site) -> None:
    dice = random.Random(SEED)
    pages = [stop.address for stop in walk(site.browser)]
    before = site.commits()
    wrong = []
    for _ in range(400):
        address = dice.choice(pages)
        if dice.random() < 0.6:
            value = quote(dice.choice(TEXTS)[:2_000], errors="surrogatepass")
            address = f"{address.split('?')[0]}?{dice.choice(QUERIES)}={value}"
        else:
            address = re.sub(r"\d+", lambda _number: dice.choice(NUMBERS), address.split("?")[0], count=2)
        answer = site.browser.get(address)
        wrong += [f"{address[:200]} {problem}" for problem in faults(answer)]
    assert wrong == []
    assert site.commits() == before
