"""The shopping list as a browser and a script see it. Today is Wednesday, 25 November 2026."""

from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from server.features.builds.store import touch
from server.features.builds.tables import Build
from server.features.orders.tables import Order, OrderLine
from server.features.parts.tables import Offer, Part
from tests.asking import Browser, fresh_key
from tests.http.shopping_build import FORMULA, Shop, a_shop, add_rows, need
from tests.page_forms import PageForm, page_forms


@pytest.fixture
def shop(browser: Browser, engine: Engine) -> Shop:
    return a_shop(browser, engine)


def basket(browser: Browser, shop: Shop, supplier: str) -> Any:
    found = browser.get_json(shop.address)["baskets"]
    return next((one for one in found if one["supplier"] == supplier), None)


def minor(text: str) -> int:
    return round(float(text.split(maxsplit=1)[0]) * 100)


def sheet_form(browser: Browser, shop: Shop, supplier: str) -> PageForm:
    (form,) = page_forms(browser.get(shop.sheet(supplier)).text)
    return form


def place(browser: Browser, form: PageForm) -> Any:
    fields = dict(form.fields) | {"operation_key": fresh_key()}
    return browser.post(form.address, fields)


def test_an_empty_build_has_nothing_to_buy(browser: Browser) -> None:
    address = browser.post("/builds", {"name": "The van"}).headers["location"]
    build = address.split("/")[2]
    assert "Nothing has to be bought now." in browser.get(f"/builds/{build}/shopping").text


def test_one_part_for_two_subsystems_is_one_line_that_names_both(browser: Browser, shop: Shop) -> None:
    (line,) = basket(browser, shop, "Tarn Hose & Clamp")["lines"][:1]
    assert (line["count"], line["name"], line["cost"]) == (6, "T-bolt clamp", "19.20 EUR")
    assert line["for_what"] == "Intake: ‘Fit the intake’; Charge pipe: ‘Fit the charge pipe’"


def test_a_pack_is_bought_whole_and_the_page_says_what_is_left_over(browser: Browser, shop: Shop) -> None:
    (line,) = basket(browser, shop, "Corvid Fasteners")["lines"]
    assert (line["count"], line["each"], line["cost"]) == (20, "2.50 EUR for 10", "5.00 EUR")
    assert "sold in 10s: 4 left over" in line["facts"]
    assert "sold in 10s: 4 left over" in browser.get(shop.address).text


def test_spares_stand_apart_with_their_reason(browser: Browser, shop: Shop) -> None:
    tarn = basket(browser, shop, "Tarn Hose & Clamp")
    assert [line["name"] for line in tarn["lines"]] == ["T-bolt clamp", "Turbine gasket"]
    assert [(one["count"], one["for_what"]) for one in tarn["spares"]] == [(1, "Spare: it crushes once")]


def test_no_spares_are_bought_of_a_part_that_is_set_aside(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    spare = Part(build_id=shop.build, name="Blade fuse", spares=2, spare_reason="it blows once")
    (fuse,) = add_rows(engine, shop.build, spare)
    assert "Blade fuse" in browser.get(shop.address).text
    assert browser.post(f"/builds/{shop.build}/parts/{fuse}/removal", {"aside": "yes"}).status_code == 303
    assert "Blade fuse" not in browser.get(shop.address).text


def test_the_totals_are_the_sums_of_the_lines(browser: Browser, shop: Shop) -> None:
    listed = browser.get_json(shop.address)
    figures = {one["label"]: one["text"] for one in listed["figures"]}
    lines = [line for one in listed["baskets"] for line in one["lines"]]
    spares = [line for one in listed["baskets"] for line in one["spares"]]
    postage = sum(minor(one["postage"]) for one in listed["baskets"])
    assert minor(figures["Parts"]) == sum(minor(line["cost"]) for line in lines) == 1920 + 600 + 500
    assert minor(figures["Spares"]) == sum(minor(line["cost"]) for line in spares) == 600
    assert minor(figures["Postage"]) == postage == 490 + 350
    assert minor(figures["To buy"]) == 1920 + 600 + 500 + 600 + 840
    assert minor(figures["To buy"]) == sum(minor(one["total"]) for one in listed["baskets"])
    assert figures["Without a price"] == "1 line"


def test_the_supplier_whose_parts_take_longest_stands_first_and_is_the_main_act(
    browser: Browser, shop: Shop
) -> None:
    listed = browser.get_json(shop.address)
    assert [one["supplier"] for one in listed["baskets"]] == ["Tarn Hose & Clamp", "Corvid Fasteners"]
    assert listed["main"]["text"] == "Order from Tarn Hose & Clamp (3 lines, 36.10 EUR)"
    assert listed["main"]["href"] == shop.sheet("Tarn Hose & Clamp")


def test_the_budget_is_told_and_nothing_is_left_out_for_it(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    set_budget(engine, shop, 4000)
    listed = browser.get_json(shop.address)
    figures = {one["label"]: one["text"] for one in listed["figures"]}
    assert (figures["Budget"], figures["Over budget"]) == ("40.00 EUR", "4.60 EUR")
    assert "4.60 EUR more than the budget. Nothing was left out." in listed["over_budget"]
    set_budget(engine, shop, 10_000)
    figures = {one["label"]: one["text"] for one in browser.get_json(shop.address)["figures"]}
    assert figures["Left"] == "55.40 EUR"


def set_budget(engine: Engine, shop: Shop, budget: int) -> None:
    with Session(engine) as session:
        build = session.get_one(Build, shop.build)
        build.budget_minor = budget
        touch(session, shop.build)
        session.commit()


def test_one_tap_orders_everything_of_a_supplier_once(browser: Browser, engine: Engine, shop: Shop) -> None:
    form = sheet_form(browser, shop, "Tarn Hose & Clamp")
    assert form.value("ordered_on") == "2026-11-25"
    assert form.value("due_on") == "2026-12-04", "nine days, the longest wait among its lines"
    assert form.value("postage") == "4.90"
    answer = place(browser, form)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/builds/{shop.build}/orders/1?told=ordered-1"
    with Session(engine) as session:
        order = session.get_one(Order, 1)
        lines = session.exec(select(OrderLine)).all()
    assert (order.supplier, order.postage_minor) == ("Tarn Hose & Clamp", 490)
    bought = {line.part_id: (line.quantity, line.price_minor, line.pack) for line in lines}
    assert bought == {
        shop.parts["T-bolt clamp"]: (6, 320, 1),
        shop.parts["Turbine gasket"]: (2, 600, 1),
    }
    assert basket(browser, shop, "Tarn Hose & Clamp") is None, "what is on order is not bought again"
    figures = {one["label"]: one["text"] for one in browser.get_json(shop.address)["figures"]}
    assert figures["Spent so far"] == "36.10 EUR"


def test_going_back_after_all_was_ordered_says_so_and_leads_on(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    form = sheet_form(browser, shop, "Tarn Hose & Clamp")
    place(browser, form)
    answer = browser.get(shop.sheet("Tarn Hose & Clamp"))
    assert answer.status_code == 200
    assert "Nothing on the list is left to buy from Tarn Hose &amp; Clamp." in answer.text
    assert page_forms(answer.text) == []
    for sheet in ("orders", "shopping"):
        assert f'<a class="button" href="/builds/{shop.build}/{sheet}">' in answer.text
    again = place(browser, form)
    assert again.status_code == 422
    assert "No order was noted." in again.text
    with Session(engine) as session:
        assert len(session.exec(select(Order)).all()) == 1
    assert browser.get(f"/builds/{shop.build}/shopping/suppliers/99").status_code == 404


def test_the_order_s_page_says_that_it_was_noted_and_a_second_tap_there_notes_no_parcel(
    browser: Browser, shop: Shop
) -> None:
    answer = browser.follow(place(browser, sheet_form(browser, shop, "Tarn Hose & Clamp")))
    page = answer.text
    assert "Order noted: Tarn Hose &amp; Clamp, 2 lines, due Fri 4 Dec." in page
    assert page.index("Order noted") < page.index("What came")
    assert '<details class="fold" id="parcel">' in page, "folded"
    assert 'class="bar"' not in page
    assert "has-bar" not in page
    undo = next(form for form in page_forms(page) if form.address.endswith("/orders/1/removal"))
    assert "Set aside: the order from Tarn Hose &amp; Clamp." in browser.follow(place(browser, undo)).text
    assert basket(browser, shop, "Tarn Hose & Clamp") is not None, "it is to be bought again"
    told = browser.get(f"/builds/{shop.build}/orders/1?told=ordered-1").text
    assert "Order noted" not in told, "of an order that was set aside"


def test_a_double_tap_orders_once(browser: Browser, engine: Engine, shop: Shop) -> None:
    form = sheet_form(browser, shop, "Corvid Fasteners")
    fields = dict(form.fields) | {"operation_key": fresh_key()}
    answers = browser.post_at_once(form.address, fields, times=3)
    assert {answer.status_code for answer in answers} == {303}
    with Session(engine) as session:
        assert len(session.exec(select(Order)).all()) == 1


def test_fewer_can_be_ordered_and_a_spare_left_out(browser: Browser, engine: Engine, shop: Shop) -> None:
    clamp, gasket = shop.parts["T-bolt clamp"], shop.parts["Turbine gasket"]
    form = sheet_form(browser, shop, "Tarn Hose & Clamp").having(**{f"quantity_{clamp}": "4"})
    kept = {name: value for name, value in form.fields if name != f"spare_{gasket}"}
    browser.post(form.address, kept | {"operation_key": fresh_key()})
    with Session(engine) as session:
        bought = {line.part_id: line.quantity for line in session.exec(select(OrderLine))}
    assert bought == {clamp: 4, gasket: 1}
    tarn = basket(browser, shop, "Tarn Hose & Clamp")
    assert [(one["count"], one["name"]) for one in tarn["lines"]] == [(2, "T-bolt clamp")]
    assert [one["name"] for one in tarn["spares"]] == ["Turbine gasket"]


def test_an_order_that_can_t_be_read_keeps_what_was_typed_and_stores_nothing(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    clamp, gasket = shop.parts["T-bolt clamp"], shop.parts["Turbine gasket"]
    form = sheet_form(browser, shop, "Tarn Hose & Clamp").having(
        **{f"quantity_{clamp}": "a few", f"quantity_{gasket}": "3", "due_on": "soon", "note": "ask for Ann"}
    )
    answer = place(browser, form)
    assert answer.status_code == 422
    for text in ("a few", "soon", "ask for Ann", "a date, such as 2026-11-25"):
        assert text in answer.text
    (again,) = page_forms(answer.text)
    assert again.value(f"quantity_{gasket}") == "3"
    assert again.value(f"spare_{gasket}") == "on"
    with Session(engine) as session:
        assert session.exec(select(Order)).all() == []


def test_an_order_of_nothing_or_of_half_a_pack_is_refused(browser: Browser, shop: Shop) -> None:
    nut = shop.parts["M8 nut"]
    form = sheet_form(browser, shop, "Corvid Fasteners")
    answer = place(browser, form.having(**{f"quantity_{nut}": "0"}))
    assert "An order has at least one line." in answer.text
    answer = place(browser, form.having(**{f"quantity_{nut}": "16"}))
    assert answer.status_code == 422
    assert "M8 nut is sold in 10s." in answer.text
    assert "10 or 20" in answer.text


def test_a_sheet_that_somebody_else_overtook_is_shown_again_and_then_goes_through(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    clamp, gasket = shop.parts["T-bolt clamp"], shop.parts["Turbine gasket"]
    form = sheet_form(browser, shop, "Tarn Hose & Clamp").having(**{f"quantity_{clamp}": "7"})
    need(browser, shop.build, "Fit the downpipe", None, **{f"part_{gasket}": 3})
    answer = place(browser, form)
    assert answer.status_code == 422
    assert "The list changed since this sheet was opened." in answer.text
    (again,) = page_forms(answer.text)
    assert again.value(f"quantity_{clamp}") == "7"
    assert place(browser, again).status_code == 303
    with Session(engine) as session:
        assert len(session.exec(select(Order)).all()) == 1


def test_a_line_that_went_to_another_supplier_meanwhile_is_told(browser: Browser, shop: Shop) -> None:
    clamp = shop.parts["T-bolt clamp"]
    form = sheet_form(browser, shop, "Tarn Hose & Clamp")
    need(browser, shop.build, "Fit the breather", None, **{f"part_{clamp}": 3})
    answer = place(browser, form)
    assert "One line is no longer bought here: on order already, or cheaper elsewhere." in answer.text
    corvid = basket(browser, shop, "Corvid Fasteners")
    assert [line["count"] for line in corvid["lines"] if line["name"] == "T-bolt clamp"] == [10]


def test_an_offer_can_be_noted_where_nobody_offers_a_part_yet(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    key = f"part:{shop.parts[FORMULA]}"
    typed = {"key": key, "supplier": "tarn hose & clamp", "price": "12,50", "pack": "", "lead_days": "3"}
    answer = browser.post(f"{shop.address}/offers", typed)
    assert answer.status_code == 303
    assert "supplier=tarn" in answer.headers["location"]
    tarn = basket(browser, shop, "Tarn Hose & Clamp")
    assert FORMULA in [line["name"] for line in tarn["lines"]]
    assert browser.get_json(shop.address)["unoffered_count"] == 0
    with Session(engine) as session:
        offer = session.exec(select(Offer).where(Offer.part_id == shop.parts[FORMULA])).one()
    assert (offer.supplier_id, offer.price_minor, offer.pack) == (
        shop.suppliers["Tarn Hose & Clamp"],
        1250,
        1,
    )


def test_an_offer_that_can_t_be_read_stays_in_its_own_fields(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    key = f"part:{shop.parts[FORMULA]}"
    typed = {"key": key, "supplier": "", "price": "twelve", "pack": "0", "lead_days": "soon"}
    answer = browser.post(f"{shop.address}/offers", typed)
    assert answer.status_code == 422
    for text in ("supplier&#39;s name is missing.", "twelve", "soon", "an amount such as 24.50"):
        assert text in answer.text
    with Session(engine) as session:
        assert len(session.exec(select(Offer)).all()) == 4


def test_an_offer_for_what_is_not_on_the_list_is_refused(browser: Browser, shop: Shop) -> None:
    typed = {"key": "part:9999", "supplier": "Tarn", "price": "1"}
    answer = browser.post(f"{shop.address}/offers", typed)
    assert answer.status_code == 422


def test_what_a_design_calls_for_becomes_a_part_with_its_first_offer(demo: Browser) -> None:
    """The demo's chosen designs call for pieces that no part of the list is known to be."""
    listed = demo.get_json("/builds/1/shopping")
    line = next(one for one in listed["unoffered"] if not one["key"].startswith("part:"))
    typed = {"key": line["key"], "supplier": "Millrace Tube", "price": "9.90", "stock_length": ""}
    assert demo.post("/builds/1/shopping/offers", typed).status_code == 303
    after = demo.get_json("/builds/1/shopping")
    bought = [one for basket in after["baskets"] for one in basket["lines"]]
    assert line["name"] in [one["name"] for one in bought]
    assert after["unoffered_count"] == listed["unoffered_count"] - 1


def test_pages_of_another_build_are_not_found(browser: Browser, shop: Shop) -> None:
    other = browser.post("/builds", {"name": "The van"}).headers["location"].split("/")[2]
    supplier = shop.suppliers["Tarn Hose & Clamp"]
    assert browser.get(f"/builds/{other}/shopping/suppliers/{supplier}").status_code == 404
    assert browser.post(f"/builds/{other}/shopping/suppliers/{supplier}", {}).status_code == 404
    assert browser.get("/builds/99/shopping").status_code == 404


def test_a_number_of_spares_is_kept_and_the_rule_can_have_it_back(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    gasket = shop.parts["Turbine gasket"]
    address = f"{shop.address}/spares"
    assert browser.post(address, {"key": f"part:{gasket}", "spares": "3"}).status_code == 303
    (spare,) = basket(browser, shop, "Tarn Hose & Clamp")["spares"]
    assert (spare["count"], spare["for_what"]) == (3, "Spare: it crushes once")
    browser.post(address, {"key": f"part:{gasket}", "spares": "0"})
    assert basket(browser, shop, "Tarn Hose & Clamp")["spares"] == []
    browser.post(address, {"key": f"part:{gasket}", "spares": ""})
    assert basket(browser, shop, "Tarn Hose & Clamp")["spares"] == []
    with Session(engine) as session:
        session.get_one(Build, shop.build).week_minor = 5000
        session.get_one(Part, gasket).kind = "gasket"
        touch(session, shop.build)
        session.commit()
    (spare,) = basket(browser, shop, "Tarn Hose & Clamp")["spares"]
    assert spare["facts"][0].startswith("25 % that more is needed. A wait of 9 days")


def test_a_number_of_spares_that_is_none_is_refused_beside_its_field(browser: Browser, shop: Shop) -> None:
    gasket = shop.parts["Turbine gasket"]
    refused = browser.post(f"{shop.address}/spares", {"key": f"part:{gasket}", "spares": "a few"})
    assert refused.status_code == 422
    assert "a few" in refused.text
    assert browser.post(f"{shop.address}/spares", {"key": "part:x", "spares": "1"}).status_code == 404


def test_the_money_of_the_build_adds_up_to_what_the_list_says(browser: Browser, shop: Shop) -> None:
    listed = browser.get_json(shop.address)
    figures = {one["label"]: one["text"] for one in listed["figures"]}
    money = browser.get_json(f"{shop.address}/money")
    assert f"{money['total']['amounts'][2]} EUR" == figures["To buy"]
    assert sum(minor(row["amounts"][2] or "0") for row in money["rows"]) == minor(figures["To buy"])
    assert {row["name"] for row in money["rows"]} >= {"Intake", "Charge pipe", "Postage, tax and duty"}
    assert money["lead"].endswith("less than the budget; 1 line has no price yet.")
    page = browser.get(f"{shop.address}/money").text
    assert "<svg" in page
    assert "<table" in page


def test_two_parts_of_one_kind_and_size_become_one_with_a_tap_and_two_again_with_another(
    browser: Browser, engine: Engine, shop: Shop
) -> None:
    tarn = shop.suppliers["Tarn Hose & Clamp"]
    blue, black = add_rows(
        engine,
        shop.build,
        Part(build_id=shop.build, name="Blue coupler 80 mm", kind="coupler", spares=0),
        Part(build_id=shop.build, name="Black coupler 80 mm", kind="coupler", spares=0),
    )
    for part, price in ((blue, 1200), (black, 900)):
        add_rows(engine, shop.build, Offer(part_id=part, supplier_id=tarn, price_minor=price))
    need(browser, shop.build, "Join the intake", 1, **{f"part_{blue}": 1})
    need(browser, shop.build, "Join the charge pipe", 2, **{f"part_{black}": 2})

    def couplers() -> dict[str, int]:
        page = browser.get_json(shop.address)
        lines = [line for basket in page["baskets"] for line in basket["lines"]]
        return {one["name"]: one["count"] for one in lines if "coupler" in one["name"]}

    assert couplers() == {"Blue coupler 80 mm": 1, "Black coupler 80 mm": 2}
    [pair] = browser.get_json(shop.address)["alike"]
    assert (pair["keep_id"], pair["other_id"], pair["may_merge"]) == (black, blue, True)
    same = {"part_id": str(blue), "same_as": str(black)}
    assert browser.post(f"{shop.address}/same", same).status_code == 303
    assert couplers() == {"Black coupler 80 mm": 3}
    [merged] = browser.get_json(shop.address)["merged"]
    assert merged["words"] == "Blue coupler 80 mm is bought as Black coupler 80 mm"
    in_a_ring = {"part_id": str(black), "same_as": str(blue)}
    assert browser.post(f"{shop.address}/same", in_a_ring).status_code == 422
    assert browser.post(f"{shop.address}/same", {"part_id": str(blue)}).status_code == 303
    assert couplers() == {"Blue coupler 80 mm": 1, "Black coupler 80 mm": 2}


def test_the_money_by_week_adds_up_to_the_money_by_subsystem(demo: Browser) -> None:
    page = demo.get_json("/builds/1/shopping/money")
    assert page["weeks"][-1]["running"] == page["total"]["plain"]
    assert sum(one["heavy"] for one in page["weeks"]) == 1
    names = [one["row"]["name"] for one in page["weeks"]]
    assert names[0].startswith("Mon ")
    columns = [[one["row"]["amounts"][at] for one in page["weeks"]] for at in range(3)]
    for column, total in zip(columns, page["total"]["amounts"], strict=True):
        assert sum(minor(one) for one in column if one) == minor(total or "0")
