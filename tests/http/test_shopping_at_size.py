"""The shopping list of hundreds of parts: as many queries as for a few, and a page that stays short."""

from datetime import datetime
from typing import Any

from sqlalchemy import Engine, event
from sqlmodel import Session

from server.features.builds.store import touch
from server.features.parts.tables import OffCut, Offer, Part
from tests.asking import Browser
from tests.http.shopping_build import Shop, a_shop, add_rows
from tests.page_forms import page_forms


def test_ten_times_the_data_asks_no_more_of_the_database_and_stays_short(
    browser: Browser, engine: Engine, now: datetime
) -> None:
    shop = a_shop(browser, engine)
    few = queries(browser, engine, shop)
    names = [f"Fitting {number}, brass, straight, for the oil line" for number in range(300)]
    numbers = add_rows(
        engine, shop.build, *(Part(build_id=shop.build, name=name, spares=1) for name in names)
    )
    supplier = shop.suppliers["Tarn Hose & Clamp"]
    offers = [Offer(part_id=part, supplier_id=supplier, price_minor=150) for part in numbers[:150]]
    cuts = [OffCut(part_id=part, length=0.4, put_at=now) for part in numbers[:100]]
    add_rows(engine, shop.build, *offers, *cuts)
    assert queries(browser, engine, shop) == few
    page = browser.get(shop.address, headers={"accept-encoding": "gzip"})
    assert int(page.headers["content-length"]) < 14_000
    baskets = {one["supplier"]: one for one in browser.get_json(shop.address)["baskets"]}
    tarn = baskets["Tarn Hose & Clamp"]
    assert len(tarn["lines"]) + len(tarn["spares"]) + tarn["rest"] == 2 + 151
    assert browser.get_json(f"{shop.address}?unoffered=150")["unoffered"] != []
    (form,) = page_forms(browser.get(shop.sheet("Tarn Hose & Clamp")).text)
    assert browser.post(form.address, dict(form.fields)).status_code == 303, "sixty lines at a time"


def queries(browser: Browser, engine: Engine, shop: Shop) -> int:
    """How many queries the page takes when nothing of the build is kept in memory."""
    with Session(engine) as session:
        touch(session, shop.build)
        session.commit()
    asked: list[str] = []

    def note(*args: Any) -> None:
        asked.append(str(args[2]))

    event.listen(engine, "before_cursor_execute", note)
    try:
        assert browser.get(shop.address).status_code == 200
    finally:
        event.remove(engine, "before_cursor_execute", note)
    return len(asked)
