"""Some time under a car without signal: what a phone does there, and what the server knows of it then."""

from dataclasses import dataclass
from datetime import timedelta

from playwright.sync_api import BrowserContext, Page, expect
from sqlmodel import Session, col, func, select

from server.core.work.tasks import TaskState
from server.db import write_session
from server.features.builds import forms as build_forms
from server.features.builds import service as builds
from server.features.designing import service as designing
from server.features.photos.tables import Photo
from server.features.ports import service as ports
from server.features.ports.tables import Reading
from server.features.runs import service as runs
from server.features.stints import service as stints
from server.features.trimming.tables import Trim
from server.features.work import service as work
from server.features.work.tables import Task
from server.once import OperationKey
from server.web import urls
from tests.factories import a_build
from tests.far_garage import Garage, Pocket
from tests.garage_phone import note_photo, note_reading, signal_back, tick, wait_until_kept, waiting

TASKS = ("Cut the tube", "Bead the ends", "Offer it up")
SPIGOT = {"role": "run end", "shape": "spigot", "medium": "air"}
TUBE = {"kind": "tube", "outside_diameter": "76", "wall": "2", "length": "300"}
ACTS = 7
"""Two readings, three ticks, a photo, a trim."""


@dataclass(frozen=True, slots=True)
class Car:
    """One build of one run."""

    build_id: int
    port_id: int
    design_id: int
    piece_id: int
    visit_id: int

    @property
    def port(self) -> str:
        return urls.port(self.build_id, self.port_id)

    @property
    def work(self) -> str:
        return urls.work(self.build_id)

    @property
    def trims(self) -> str:
        return urls.trims(self.build_id, self.design_id, self.piece_id)

    @property
    def read(self) -> tuple[str, ...]:
        """What is read at the car."""
        return (
            urls.garage(self.build_id),
            urls.design(self.build_id, self.design_id),
            urls.cuts(self.build_id, self.design_id),
            urls.visit(self.build_id, self.visit_id),
            urls.shopping(self.build_id),
        )


def a_car(garage: Garage) -> Car:
    """A build with three tasks in hand, a port to measure, a chosen design of one tube, and a visit."""
    now = garage.app.state.clock()
    with write_session(garage.engine) as session:
        build = a_build(session, now)
        intake = builds.add_subsystem(session, build.id, build_forms.subsystem_form({"kind": "intake"}))
        port = ports.add_port(session, build.id, {"name": "Air meter outlet", **SPIGOT})
        design = designing.add_design(session, build.id, intake, {"name": "Straight"})
        piece = runs.add_piece(session, design, "", TUBE)
        for title in TASKS:
            task = work.add_task(session, build.id, {"title": title, "likely": "20 min"})
            work.set_state(session, build.id, task, TaskState.IN_HAND, now)
        helper = stints.add_helper(session, build.id, {"name": "Jo", "skills": "welds", "contact": "by call"})
        day = (now + timedelta(days=7)).date().isoformat()
        typed = {"helper_id": str(helper), "day": day, "begins": "10:00", "ends": "13:00"}
        visit = stints.add_visit(session, build.id, typed)
        garage.app.state.after_write(session, {"build_id": build.id})
    return Car(build.id, port, design, piece, visit)


def one_run(pocket: Pocket, seed: int, *, killed: bool) -> None:
    """One car, one loss of signal, one return of it over a flaky line; every act is there once.

    killed: the phone keeps its pages ready, and the page dies while all acts wait, each tenth time the whole
    browser; else three pages are left open, as a browser that keeps no pages needs them.
    """
    garage = pocket.garage
    car = a_car(garage)
    pages = _kept_ready(pocket.context, car) if killed else _left_open(pocket.context, car)
    pocket.context.set_offline(True)
    if killed:
        for address in car.read:
            _open_copy(pages[0], address)
    readings = [f"{57 + seed / 1000 + number / 10:.3f} mm" for number in range(2)]
    _act(car, pages, readings)
    if killed:
        _kill(pocket, pages[0], browser_too=seed % 10 == 0)
    garage.line.flaky(seed)
    pocket.context.set_offline(False)
    if killed:
        pages = [pocket.context.new_page()]
        pages[0].goto(car.work)
    signal_back(*pages, within=120)
    garage.line.good()
    _look(garage, car, readings, seed)


def _kept_ready(context: BrowserContext, car: Car) -> list[Page]:
    """One page, which has seen the garage alone."""
    page = context.pages[0] if context.pages else context.new_page()
    page.goto(car.read[0])
    wait_until_kept(page, *car.read, car.port, car.trims, car.work)
    return [page]


def _open_copy(page: Page, address: str) -> None:
    """A page that the phone has ready without having been there."""
    page.goto(address)
    expect(page.locator("#copy")).to_contain_text("This is a copy of")


def _left_open(context: BrowserContext, car: Car) -> list[Page]:
    """Port, work and trims, each in its tab."""
    while len(context.pages) < 3:
        context.new_page()
    for page, address in zip(context.pages, (car.port, car.trims, car.work), strict=True):
        page.goto(address)
    return context.pages


def _act(car: Car, pages: list[Page], readings: list[str]) -> None:
    """Everything that is done at the car, each act kept before the next."""
    kept = 0

    def at(address: str) -> Page:
        if len(pages) == 1:
            _open_copy(pages[0], address)
            return pages[0]
        page = next(one for one in pages if one.url.endswith(address))
        page.bring_to_front()
        return page

    def waits(page: Page) -> None:
        nonlocal kept
        kept += 1
        expect(waiting(page)).to_have_text(f"{kept} waiting to send")

    port = at(car.port)
    for text in readings:
        note_reading(port, text)
        waits(port)
    note_photo(port)
    waits(port)
    trims = at(car.trims)
    trims.locator("[name=excess]").fill("12.5")
    trims.get_by_role("button", name="Write the reading down").click()
    waits(trims)
    tasks = at(car.work)
    for title in TASKS:
        tick(tasks, title)
        waits(tasks)


def _kill(pocket: Pocket, page: Page, *, browser_too: bool) -> None:
    if browser_too:
        pocket.die()
    else:
        page.close()


def _look(garage: Garage, car: Car, readings: list[str], seed: int) -> None:
    """Each act of the run is recorded, once."""
    with Session(garage.engine) as session:
        typed = session.exec(
            select(Reading.typed).where(Reading.port_id == car.port_id).order_by(col(Reading.id))
        )
        photos = session.exec(
            select(func.count()).select_from(Photo).where(Photo.build_id == car.build_id)
        ).one()
        trims = session.exec(select(Trim.typed).where(Trim.piece_id == car.piece_id))
        done = session.exec(select(Task.title).where(Task.build_id == car.build_id, Task.state == "done"))
        found = list(typed), photos, list(trims), sorted(done)
        answered = session.exec(select(func.count()).select_from(OperationKey)).one()
    wanted = readings, 1, [{"excess": "12.5"}], sorted(TASKS)
    assert found == wanted, f"seed {seed}: {found}"
    assert answered % ACTS == 0, f"seed {seed}: {answered} acts are known"
