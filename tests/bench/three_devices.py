"""`python -m tests.bench.three_devices`: two phones and a laptop on one build, for five minutes.

Each device works by a script of its own, drawn with the seed: readings, ticks, notes, orders, and new names
of one design, which clash. At the end every act that was answered as saved is in the database once, every
name that was saved followed on the one that its device had seen, every clash was shown with both values,
and what one device does then shows on the others by itself.

`python -m tests.bench.three_devices 60 7`: one minute, with seed 7.
"""

import asyncio
import sys
import tempfile
from collections import Counter
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from random import Random
from time import monotonic
from typing import Any

from playwright.async_api import Browser, Page, async_playwright, expect
from playwright.sync_api import sync_playwright
from sqlmodel import Session, col, select

from server.app import create_app
from server.core.work.tasks import TaskState
from server.db import write_session
from server.features.designs.tables import Design
from server.features.log.tables import LogEntry
from server.features.orders.tables import Order
from server.features.ports.tables import Reading
from server.features.work import service as work
from server.features.work.tables import Task
from server.migrate import make_data_folder, upgrade
from server.settings import settings_for
from server.web import urls
from tests.bad_line import NAME
from tests.far_garage import PHONE, QUIET, Garage, a_garage_far_off, chromium_program
from tests.without_signal import Car, a_car

LAPTOP = PHONE | {"width": 1280, "height": 800}
DEVICES = {"phone": PHONE, "other phone": PHONE, "laptop": LAPTOP}
SECONDS, SEED, TASKS = 300, 1, 60
THINKS = 2.0
"""Longest time between looking at a form and sending it [s]."""
FOLLOWS = 40.0
"""Within this the others show what one did: the longest pause between two questions, and then some [s]."""


Act = Callable[[], Awaitable[None]]
"""Something done on a device."""


@dataclass
class Told:
    """What the devices did, as they were answered. names: of the design, each on the one that was seen."""

    readings: list[str] = field(default_factory=list)
    ticks: set[str] = field(default_factory=set)
    notes: list[str] = field(default_factory=list)
    orders: list[str] = field(default_factory=list)
    names: list[tuple[str, str]] = field(default_factory=list)
    clashes: list[tuple[str, str]] = field(default_factory=list)
    trouble: list[str] = field(default_factory=list)


@dataclass
class Device:
    """One browser in somebody's hand. made: so many things it has given a name of their own."""

    number: int
    name: str
    page: Page
    car: Car
    told: Told
    draw: Random
    made: int = 0

    def fresh(self) -> int:
        """A number that no device uses twice."""
        self.made += 1
        return self.number * 1000 + self.made

    async def look(self) -> None:
        """Somebody reads, thinks and types."""
        await asyncio.sleep(self.draw.random() * THINKS)

    async def read(self) -> None:
        text = f"{50 + self.fresh() / 1000:.3f} mm"
        await self.page.goto(self.car.port)
        await self.page.locator("#reading-form [name=reading]").fill(text)
        await self.page.locator("#save-reading").click()
        await expect(self.page.locator(".readings b").get_by_text(text, exact=True)).to_have_count(1)
        self.told.readings.append(text)

    async def tick(self) -> None:
        await self.page.goto(self.car.work)
        buttons = self.page.get_by_role("button", name="Done: ")
        if not await buttons.count():
            return
        button = buttons.nth(self.draw.randrange(await buttons.count()))
        title = (await button.get_attribute("aria-label") or "").removeprefix("Done: ")
        await self.look()
        named = self.page.get_by_role("button", name=f"Done: {title}", exact=True)
        if not await named.count():
            return  # another device ticked it, and this page has followed
        await named.click()
        await expect(named).to_have_count(0)
        self.told.ticks.add(title)

    async def note(self) -> None:
        text = f"Note {self.fresh()} of the {self.name}"
        await self.page.goto(urls.log(self.car.build_id))
        await self.page.locator("[name=text]").fill(text)
        await self.page.get_by_role("button", name="Put it in the log").click()
        await expect(self.page.locator(".log-day").get_by_text(text, exact=True)).to_have_count(1)
        self.told.notes.append(text)

    async def order(self) -> None:
        supplier = f"Tarn Hose & Clamp {self.fresh()}"
        await self.page.goto(urls.orders(self.car.build_id))
        if await self.page.locator("#new-order").get_attribute("open") is None:
            await self.page.locator("#new-order > summary").click()
        await self.page.locator("[name=supplier]").fill(supplier)
        await self.page.locator("[name=part_1]").fill("T-bolt clamp")
        await self.page.locator("[name=quantity_1]").fill("2")
        await self.look()
        async with self.page.expect_navigation():
            await self.page.get_by_role("button", name="Note this order").click()
        await expect(self.page.get_by_text(supplier).first).to_be_visible()
        self.told.orders.append(supplier)

    async def rename(self) -> None:
        await self.page.goto(urls.design(self.car.build_id, self.car.design_id))
        typed = f"Straight {self.fresh()}"
        if await self.page.locator("#settings").get_attribute("open") is None:
            await self.page.locator("#settings > summary").click()
        name = self.page.locator("#d-name")
        await name.fill(typed)
        seen = await name.evaluate("(field) => field.defaultValue")
        await self.look()
        if await self._saved():
            self.told.names.append((seen, typed))
            return
        cells = await self.page.get_by_role("alert").locator("tbody tr").first.locator("td").all_inner_texts()
        self.told.clashes.append((cells[1], cells[2]))
        if cells[2] != typed or await name.input_value() != typed:
            self.told.trouble.append(f"{self.name}: typed {typed}, told {cells}")
        await self.look()
        if self.draw.random() < 0.5 and await self._saved():
            self.told.names.append((cells[1], typed))  # in place of the one that the clash has shown

    async def _saved(self) -> bool:
        """Whether the form of the design was taken; else its clash is on the page."""
        form = self.page.locator("#settings form")
        async with self.page.expect_navigation():
            await form.get_by_role("button", name="Save").click()
        return not await self.page.get_by_role("alert").filter(has_text="Somebody else changed this").count()

    async def work_until(self, end: float) -> None:
        acts: list[Act] = [self.read, self.tick, self.note, self.order]
        while monotonic() < end:
            act = self.draw.choice([*acts, self.rename, self.rename])
            try:
                await act()
            except Exception as problem:
                self.told.trouble.append(f"{self.name}, {act.__name__}: {problem}")


SHOWN = """() => {
  const main = document.querySelector("main").cloneNode(true);
  for (const part of main.querySelectorAll(".news, .notice, [type=hidden], select, textarea")) part.remove();
  for (const part of main.querySelectorAll("input")) part.replaceWith(part.defaultValue);
  return `${document.querySelector("h1").textContent}: ${main.textContent}`.replace(/\\s+/g, " ");
}"""
"""What a page tells of the build; not what was just done from it."""


async def differs(devices: list[Device], doing: Device, address: str, act: Act) -> str:
    """All open a page, one acts there; how the others then differ from it, empty once they show the same."""
    others = [device for device in devices if device is not doing]
    for device in others:
        await device.page.goto(address)
    before = await others[0].page.evaluate(SHOWN)
    await act()
    await doing.page.goto(address)
    end, said, wanted = monotonic() + FOLLOWS, "never looked at", before
    while said and monotonic() < end:
        await asyncio.sleep(0.5)
        wanted = await doing.page.evaluate(SHOWN)
        shown = [await device.page.evaluate(SHOWN) for device in others]
        said = next((_apart(wanted, other) for other in shown if other != wanted), "")
    return "what was done does not show" if wanted == before else said


def _apart(wanted: str, other: str) -> str:
    """Where two texts part."""
    at = next((at for at, pair in enumerate(zip(wanted, other, strict=False)) if pair[0] != pair[1]), 20)
    return f"{wanted[max(at - 20, 0) : at + 40]!r} on one, {other[max(at - 20, 0) : at + 40]!r} on another"


def not_once(session: Session, told: list[str], text: Any) -> list[str]:
    """What of these is not there exactly once, in words."""
    found = Counter(session.exec(select(text).where(col(text).in_(told))))
    return [f"{one}: {found[one]} times" for one in told if found[one] != 1]


def wrong(garage: Garage, car: Car, told: Told) -> list[str]:
    """What the database does not bear out."""
    with Session(garage.engine) as session:
        found = not_once(session, told.readings, Reading.typed)
        found += not_once(session, told.notes, LogEntry.text)
        found += not_once(session, told.orders, Order.supplier)
        done = set(session.exec(select(Task.title).where(Task.state == "done")))
        found += [f"{title} is not done" for title in told.ticks - done]
        name = session.get_one(Design, car.design_id).name
    follows = dict(told.names)
    if len(follows) != len(told.names):
        found.append("two devices replaced the same name, and both were told it was saved")
    stands, steps = "Straight", 0
    while stands in follows and steps <= len(follows):
        stands, steps = follows[stands], steps + 1
    if (stands, steps) != (name, len(told.names)):
        found.append(f"{steps} of {len(told.names)} names follow on each other, to {stands}; {name} stands")
    told_of = {stood for stood, _ in told.clashes} - {"Straight", *follows.values()}
    return found + [f"a clash told of {one}, which nobody saved" for one in told_of] + told.trouble


async def devices_of(browser: Browser, garage: Garage, car: Car, told: Told, seed: int) -> list[Device]:
    devices = []
    for number, (name, size) in enumerate(DEVICES.items(), 1):
        context = await browser.new_context(base_url=garage.line.address, viewport=size, locale="en-GB")
        context.set_default_timeout(60_000)
        await context.add_cookies([garage.cookie])
        devices.append(Device(number, name, await context.new_page(), car, told, Random(seed * 10 + number)))
    return devices


async def play(garage: Garage, car: Car, program: Path, seconds: float, seed: int) -> int:
    told = Told()
    expect.set_options(timeout=60_000)  # a busy machine is no fault of a device
    async with async_playwright() as playwright:
        rules = f"--host-resolver-rules=MAP {NAME} 127.0.0.1"
        browser = await playwright.chromium.launch(executable_path=program, args=[*QUIET, rules])
        devices = await devices_of(browser, garage, car, told, seed)
        end = monotonic() + seconds
        await asyncio.gather(*(device.work_until(end) for device in devices))
        first, second, third = devices
        build, design = car.build_id, urls.design(car.build_id, car.design_id)
        apart_on = {
            "port": await differs(devices, first, car.port, first.read),
            "work": await differs(devices, second, car.work, second.tick),
            "log": await differs(devices, third, urls.log(build), third.note),
            "orders": await differs(devices, first, urls.orders(build), first.order),
            "design": await differs(devices, third, design, third.rename),
        }
        await browser.close()
    faults = wrong(garage, car, told)
    faults += [f"{page} page: {apart}" for page, apart in apart_on.items() if apart]
    print(
        f"{seconds:.0f} s, seed {seed}: {len(told.readings)} readings, {len(told.ticks)} tasks ticked, "
        f"{len(told.notes)} notes, {len(told.orders)} orders, {len(told.names)} names saved, "
        f"{len(told.clashes)} clashes shown with both values; "
        f"{list(apart_on.values()).count('')} of {len(apart_on)} pages came to show the same on all three; "
        f"{len(faults)} faults"
    )
    for fault in faults:
        print(fault)
    return 1 if faults else 0


def more_tasks(garage: Garage, car: Car) -> None:
    """Enough to be ticked."""
    now = garage.app.state.clock()
    with write_session(garage.engine) as session:
        for number in range(TASKS):
            typed = {"title": f"Clean bracket {number}.", "likely": "10 min"}
            task = work.add_task(session, car.build_id, typed)
            work.set_state(session, car.build_id, task, TaskState.IN_HAND, now)
        garage.app.state.after_write(session, {"build_id": car.build_id})


def main(seconds: float = SECONDS, seed: int = SEED) -> int:
    with sync_playwright() as playwright:
        program = chromium_program(playwright)
    assert program is not None, "no Chromium: install one with `make chromium`"
    with tempfile.TemporaryDirectory() as folder:
        mine = replace(settings_for(data=Path(folder) / "data", environment={}), extra_hosts=(NAME,))
        make_data_folder(mine)
        upgrade(mine)
        app = create_app(mine)
        with a_garage_far_off(app, None) as garage:
            car = a_car(garage)
            more_tasks(garage, car)
            answer = asyncio.run(play(garage, car, program, seconds, seed))
        app.state.engine.dispose()
    return answer


if __name__ == "__main__":
    asked = [int(one) for one in sys.argv[1:3]]
    sys.exit(main(*asked))
