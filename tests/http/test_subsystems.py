"""Subsystems: renamed, set aside and put back; those without a run; a list that stays readable."""

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from server.features.builds.tables import Subsystem
from tests.asking import Browser, number_in
from tests.http.intake_build import stored
from tests.page_forms import page_forms


@pytest.fixture
def build(browser: Browser) -> str:
    number = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    return f"/builds/{number}"


def a_subsystem(browser: Browser, build: str, kind: str = "intake", name: str = "") -> str:
    answer = browser.post(f"{build}/subsystems", {"kind": kind, "name": name})
    assert answer.status_code == 303, answer.text
    location: str = answer.headers["location"]
    return location


def names(browser: Browser, build: str) -> list[str]:
    return [one["name"] for one in browser.get_json(f"{build}/subsystems")["subsystems"]]


def test_name_and_kind_can_be_changed(browser: Browser, build: str) -> None:
    subsystem = a_subsystem(browser, build)
    edit = {"version": "1", "name": "Cold side", "kind": "cooler pipe"}
    assert browser.post(subsystem, edit).status_code == 303
    told = browser.get_json(subsystem)
    assert (told["name"], told["kind"], told["version"]) == ("Cold side", "cooler pipe", 2)


def test_a_stale_edit_shows_both_values(browser: Browser, build: str) -> None:
    subsystem = a_subsystem(browser, build)
    browser.post(subsystem, {"version": "1", "name": "Cold side", "kind": "intake"})
    answer = browser.post(subsystem, {"version": "1", "name": "Suction side", "kind": "intake"})
    assert answer.status_code == 412
    assert "Cold side" in answer.text
    assert "Suction side" in answer.text
    assert browser.get_json(subsystem)["name"] == "Cold side"


def test_bad_input_keeps_what_was_typed_and_stores_nothing(browser: Browser, build: str) -> None:
    subsystem = a_subsystem(browser, build)
    answer = browser.post(subsystem, {"version": "1", "name": "Cold side", "kind": "gearbox"})
    assert answer.status_code == 422
    assert 'value="Cold side"' in answer.text
    assert browser.post(subsystem, {"name": "Cold side", "kind": "intake"}).status_code == 428
    assert browser.get_json(subsystem)["name"] == "Intake"


def test_a_subsystem_is_set_aside_and_put_back(browser: Browser, build: str) -> None:
    subsystem = a_subsystem(browser, build)
    a_subsystem(browser, build, "breather")
    assert browser.post(f"{subsystem}/removal", {}).status_code == 303
    assert names(browser, build) == ["Breather"]
    page = browser.get(subsystem).text
    assert "Set aside." in page
    assert "Start the design" not in page
    aside = browser.get_json(f"{build}/subsystems")["aside"]
    assert [one["name"] for one in aside] == ["Intake"]
    assert browser.post(aside[0]["undo"]["href"], {}).status_code == 303
    assert names(browser, build) == ["Intake", "Breather"]


def test_setting_aside_twice_is_as_once(browser: Browser, build: str, engine: Engine) -> None:
    subsystem = a_subsystem(browser, build)
    browser.post(f"{subsystem}/removal", {})
    with Session(engine) as session:
        first = session.exec(select(Subsystem.removed_at)).one()
    browser.post(f"{subsystem}/removal", {})
    with Session(engine) as session:
        assert session.exec(select(Subsystem.removed_at)).one() == first


def test_the_letter_of_a_subsystem_set_aside_is_not_given_again(browser: Browser, build: str) -> None:
    first = a_subsystem(browser, build)
    browser.post(f"{first}/removal", {})
    assert browser.get_json(a_subsystem(browser, build))["letter"] == "B"


@pytest.mark.parametrize(
    "kind", ["heat shielding", "engine management", "clutch and plugs", "inspection and insurance"]
)
def test_what_has_no_run_offers_no_design(browser: Browser, build: str, kind: str) -> None:
    page = browser.get(a_subsystem(browser, build, kind)).text
    assert "Work and parts only" in page
    assert "Start the design" not in page


def test_letters_go_on_with_two_and_the_list_is_paged(browser: Browser, build: str) -> None:
    for _ in range(27):
        a_subsystem(browser, build)
    letters = [one["letter"] for one in browser.get_json(f"{build}/subsystems")["subsystems"]]
    assert len(letters) == 24
    assert letters[:9] == list("ABCDEFGHJ")
    first = browser.get_json(f"{build}/subsystems")
    assert first["count"] == 27
    assert first["rest"]["text"] == "Show the next 3"
    more = browser.get_json(first["rest"]["href"])
    assert [one["letter"] for one in more["subsystems"]] == ["AA", "AB", "AC"]
    assert more["rest"] is None


def test_an_address_that_makes_no_sense_shows_the_first_sheet(browser: Browser, build: str) -> None:
    a_subsystem(browser, build)
    for query in ("from=-1", "from=x", "from=99999999999", "added=1-2", "added=<b>"):
        assert browser.get(f"{build}/subsystems?{query}").status_code == 200


def test_a_subsystem_without_a_design_says_what_to_do_next(browser: Browser, build: str) -> None:
    number = number_in(a_subsystem(browser, build))
    browser.post(f"{build}/ports", {"name": "Compressor inlet", "subsystem_id": str(number)})
    lines = browser.get_json(f"{build}/subsystems")["subsystems"]
    assert [one["why"] for one in lines] == ["measure 1 port, then a design"]


def test_a_subsystem_that_is_not_there_is_told(browser: Browser, build: str) -> None:
    for address in ("", "/removal", "/return"):
        edit = {"version": "1", "name": "x", "kind": "intake"}
        assert browser.post(f"{build}/subsystems/99{address}", edit).status_code == 404


def test_ports_and_tasks_of_a_subsystem_set_aside_do_not_count(browser: Browser, build: str) -> None:
    subsystem = a_subsystem(browser, build)
    number = str(number_in(subsystem))
    browser.post(f"{build}/ports", {"name": "Compressor inlet", "subsystem_id": number})
    browser.post(f"{build}/tasks", {"title": "Bead the ends", "likely": "1 h", "subsystem_id": number})
    assert "Compressor inlet" in browser.get(f"{build}/ports").text
    assert "Bead the ends" in browser.get(f"{build}/work").text
    browser.post(f"{subsystem}/removal", {})
    assert "Compressor inlet" not in browser.get(f"{build}/ports").text
    assert "Bead the ends" not in browser.get(f"{build}/work").text
    browser.post(f"{subsystem}/return", {})
    assert "Compressor inlet" in browser.get(f"{build}/ports").text
    assert "Bead the ends" in browser.get(f"{build}/work").text


def test_with_a_whole_set_a_subsystem_can_be_set_aside_and_every_sheet_still_opens(
    browser: Browser, build: str
) -> None:
    page = browser.get(f"{build}/start").text
    form = next(form for form in page_forms(page) if form.address.endswith("/start"))
    browser.post(f"{build}/start", dict(form.fields))
    for number in (1, 4, 9):
        assert browser.post(f"{build}/subsystems/{number}/removal", {}).status_code == 303
    for sheet in ("garage", "work", "ports", "subsystems", "parts", "orders", "log", "subsystems/1", "start"):
        assert browser.get(f"{build}/{sheet}").status_code == 200, sheet


def test_a_new_design_goes_between_the_subsystem_s_own_ports_and_then_where_the_last_one_went(
    browser: Browser, build: str
) -> None:
    subsystem = a_subsystem(browser, build)

    def likely() -> tuple[str, str]:
        forms = page_forms(browser.get(subsystem).text)
        new_design = next(form for form in forms if form.address == f"{subsystem}/designs")
        return new_design.value("start_port_id"), new_design.value("end_port_id")

    def a_port(name: str, role: str = "run end") -> str:
        shape = "hose" if role == "side port" else "spigot"
        fields = {"name": name, "role": role, "shape": shape, "subsystem_id": str(number_in(subsystem))}
        return str(stored(browser.post(f"{build}/ports", fields)))

    assert likely() == ("", "")
    inlet, outlet = a_port("Air meter outlet"), a_port("Compressor inlet")
    a_port("Breather", "side port")
    assert likely() == (inlet, outlet)
    ends = {"start_port_id": outlet, "end_port_id": inlet}
    assert browser.post(f"{subsystem}/designs", {"name": "The other way", **ends}).status_code == 303
    assert likely() == (outlet, inlet)
