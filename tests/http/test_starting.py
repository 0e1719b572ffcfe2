"""The starting set as a browser takes it: start empty, take all, take one subsystem later, never twice."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, func, select

from server.core.tube.run import Place
from server.core.work.tasks import After, TaskPlan, find_cycle
from server.core.work.usual.boost import GATE
from server.core.work.usual.whole import GROUPS, PORTS, SUBSYSTEMS, TASKS
from server.features.builds.tables import Subsystem
from server.features.ports.page import END_FORMS, MEDIA, ROLES, SHAPES
from server.features.ports.tables import Port
from server.features.tasks.forms import CAR_STATES
from server.features.work.forms import CAUTION_CODES, PLACES
from server.features.work.tables import Dependency, Setback, Task, Wait
from tests.asking import Browser
from tests.bench.measure import first_visit
from tests.budgets import MOST_HTML, most_of_first_visit
from tests.page_forms import page_forms

MOST_QUERIES = 30
ALL = dict.fromkeys([*(group.kind for group in SUBSYSTEMS), *PORTS, *TASKS], "on")


@pytest.fixture
def start(browser: Browser) -> str:
    """The address of a new build's starting set."""
    location: str = browser.post("/builds", {"name": "The saloon"}).headers["location"]
    return location


def offered(browser: Browser, address: str) -> dict[str, str]:
    """The form as it stands on the page, with what is ticked."""
    forms = page_forms(browser.get(address).text)
    return dict(next(form for form in forms if form.address.endswith("/start")).fields)


def count(engine: Engine, table: type) -> int:
    with Session(engine) as session:
        return session.exec(select(func.count()).select_from(table)).one()


@contextmanager
def queries(engine: Engine) -> Iterator[list[str]]:
    seen: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_rest: object) -> None:
        seen.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    yield seen
    event.remove(engine, "before_cursor_execute", note)


def test_a_new_build_is_shown_the_starting_set(start: str) -> None:
    assert start == "/builds/1/start"


def test_a_build_can_start_empty(browser: Browser, engine: Engine, start: str) -> None:
    page = browser.get(start).text
    assert 'href="/builds/1/engine">Start empty' in page
    assert count(engine, Task) == count(engine, Port) == 0


def test_all_that_is_ticked_is_added_in_one_go(browser: Browser, engine: Engine, start: str) -> None:
    with queries(engine) as seen:
        answer = browser.post(start, offered(browser, start))
    assert len(seen) <= MOST_QUERIES
    page = browser.follow(answer).text
    assert "Added: 18 subsystems" in page
    assert count(engine, Task) > 100
    assert count(engine, Port) > 30
    assert count(engine, Setback) > 10


def test_the_pages_of_a_whole_set_can_be_shown(browser: Browser, start: str) -> None:
    browser.post(start, ALL)
    for sheet in ("subsystems", "work", "ports", "garage", "start"):
        answer = browser.get(f"/builds/1/{sheet}", headers={"accept-encoding": "gzip"})
        assert answer.status_code == 200, sheet
        assert int(answer.headers["content-length"]) <= MOST_HTML, sheet


def test_page_and_json_agree_and_the_page_fits_the_first_packets(browser: Browser, start: str) -> None:
    told = browser.get_json(start)
    answer = browser.get(start, headers={"accept-encoding": "gzip"})
    assert int(answer.headers["content-length"]) <= MOST_HTML
    assert first_visit(answer.content) <= most_of_first_visit(start, answer.text)
    for group in told["groups"]:
        assert group["name"].replace("'", "&#39;") in answer.text
    assert len(told["groups"]) == len(GROUPS)


def test_a_second_time_adds_nothing(browser: Browser, engine: Engine, start: str) -> None:
    tables = (Task, Port, Dependency, Wait, Setback)
    browser.post(start, ALL)
    before = [count(engine, table) for table in tables]
    answer = browser.post(start, ALL)
    assert answer.headers["location"].endswith("added=0-0-0")
    assert [count(engine, table) for table in tables] == before
    assert "All of it is there already." in browser.get(start).text


def test_the_whole_set_as_stored_goes_round_in_no_ring(browser: Browser, engine: Engine, start: str) -> None:
    browser.post(start, ALL)
    with Session(engine) as session:
        ties = session.exec(select(Dependency)).all()
        tasks = session.exec(select(Task)).all()
    plans = [
        TaskPlan(
            task.key,
            task.title,
            after=tuple(After(tie.after_task_id) for tie in ties if tie.task_id == task.key),
        )
        for task in tasks
    ]
    assert find_cycle(plans) is None
    assert len(ties) > 150


def test_every_word_is_one_that_the_forms_know() -> None:
    # The turbocharger is bolted on: nothing of it is made, only its map is typed by who has one.
    on_the_car = {Place.TURBO.value, Place.OTHER.value}
    assert {group.kind for group in SUBSYSTEMS} == {place.value for place in Place} - on_the_car
    for port in PORTS.values():
        assert port.role in ROLES
        assert port.shape in SHAPES
        assert port.medium in MEDIA
        assert port.end_form in END_FORMS
        assert port.frame in ("engine", "body", "suspension and steering")
    for task in TASKS.values():
        assert task.place in PLACES
        assert task.car_state in CAR_STATES
        assert task.caution in CAUTION_CODES


def test_every_reading_waited_for_can_be_taken_on_its_port(
    browser: Browser, engine: Engine, start: str
) -> None:
    browser.post(start, ALL)
    with Session(engine) as session:
        ports = {port.key: port for port in session.exec(select(Port))}
        waits = session.exec(select(Wait).where(Wait.kind == "reading")).all()
    assert len(waits) > 10
    for wait in waits:
        assert wait.port_id in ports
        assert wait.dimension in ("bore", "outside_diameter", "wall", "length", "gap")


def test_readings_waited_for_are_ones_that_a_task_sheet_offers(browser: Browser, start: str) -> None:
    browser.post(start, ALL)
    work = browser.get_json("/builds/1/work")
    lines = [*work["ready"], *work["held"]]
    line = next(one for one in lines if one["title"] == TASKS["intake.cut"].title)
    assert "the outside diameter of Compressor inlet" in browser.get(line["href"]).text


def test_only_work_that_nothing_comes_before_is_ready_at_first(browser: Browser, start: str) -> None:
    browser.post(start, offered(browser, start))
    ready = {task["title"] for task in browser.get_json("/builds/1/work")["ready"]}
    assert TASKS["car.compression"].title in ready
    assert TASKS["law.ask"].title in ready
    assert TASKS["start.first"].title not in ready
    assert TASKS["downpipe.off"].title not in ready


def test_answers_change_what_is_ticked_without_scripts(browser: Browser, start: str) -> None:
    usual = offered(browser, start)
    assert "water.fit" in usual
    assert "gate.fit" not in usual
    other = offered(browser, f"{start}?cooled=oil&gate=outside&valve=none&bearing=ball&gearbox=automatic")
    assert "coolant" not in other
    assert "water.fit" not in other
    assert "gate.fit" in other
    assert "bypass valve return" not in other
    assert {"feed.ball", "clutch.automatic"} <= other.keys()
    assert "clutch.change" not in other


OTHER = {"cooled": "oil", "gate": "outside", "gearbox": "automatic"}


def test_answers_given_last_count_for_what_is_added(browser: Browser, engine: Engine, start: str) -> None:
    """Answered anew and added at once, with the ticks as they stood before."""
    answer = browser.post(start, offered(browser, start) | OTHER)
    with Session(engine) as session:
        codes = set(session.exec(select(Task.from_set)))
        kinds = set(session.exec(select(Subsystem.kind)))
    assert not {"water.fit", "clutch.change"} & codes
    assert {"gate.fit", "clutch.automatic"} <= codes
    assert "coolant" not in kinds
    assert GATE.kind in kinds
    page = browser.follow(answer).text
    assert "Left out, as you answered about this car: ‘Coolant lines’, " in page
    assert "Put in, as you answered: " in page
    suited = offered(browser, start)
    before = count(engine, Task)
    browser.post(start, dict.fromkeys(suited, "on") | OTHER)
    browser.post(start, offered(browser, start) | OTHER)
    assert count(engine, Task) == before, "twice adds nothing, and the same as ticking to suit first"


def test_a_tick_changed_by_hand_stands_against_the_answers(
    browser: Browser, engine: Engine, start: str
) -> None:
    form = offered(browser, f"{start}?cooled=oil")
    browser.post(start, form | {"cooled": "oil", "coolant": "on", "water.fit": "on"})
    with Session(engine) as session:
        assert "water.fit" in set(session.exec(select(Task.from_set)))


def test_ticks_to_suit_without_adding(browser: Browser, engine: Engine, start: str) -> None:
    answer = browser.post(start, offered(browser, start) | OTHER | {"suit": "yes"})
    page = browser.follow(answer).text
    assert '<option value="oil" selected>' in page
    assert count(engine, Task) == 0
    (form,) = page_forms(page)
    assert form.value("suits_cooled") == "oil"
    assert form.value("gate.fit") == "on"
    assert form.value("water.fit") == ""


def test_a_refused_form_keeps_the_answers_that_its_ticks_were_made_for(browser: Browser, start: str) -> None:
    refused = browser.post(start, {"suits_cooled": "water", "cooled": "oil"})
    assert refused.status_code == 422
    (form,) = page_forms(refused.text)
    assert (form.value("cooled"), form.value("suits_cooled")) == ("oil", "water")


def test_where_the_car_counts_its_air_decides_where_side_ports_stand(
    browser: Browser, engine: Engine
) -> None:
    start = browser.post("/builds", {"name": "No meter", "meter_place": "none"}).headers["location"]
    assert "intake.meter" not in offered(browser, start)
    browser.post(start, offered(browser, start))
    with Session(engine) as session:
        breather = session.exec(select(Port).where(Port.from_set == "intake.breather")).one()
    assert breather.stretch == "anywhere"


def test_a_line_is_added_only_with_its_subsystem(browser: Browser, engine: Engine, start: str) -> None:
    browser.post(start, {"intake.fit": "on", "car.photos": "on", "breather": "on", "breather.trace": "on"})
    with Session(engine) as session:
        assert set(session.exec(select(Task.from_set))) == {"car.photos", "breather.trace"}


def test_one_subsystem_can_come_later_and_first_start_then_waits_for_it(
    browser: Browser, engine: Engine, start: str
) -> None:
    without = {code: on for code, on in ALL.items() if code != "coolant" and not code.startswith("water.")}
    browser.post(start, without)
    later = f"{start}?of=coolant"
    page = browser.get_json(later)
    assert [group["kind"] for group in page["groups"]] == ["coolant"]
    browser.post(start, offered(browser, later))
    with Session(engine) as session:
        numbers = dict(session.exec(select(Task.from_set, Task.id)).all())
        ties = session.exec(select(Dependency).where(Dependency.task_id == numbers["close.water"])).all()
    assert numbers["water.fit"] in {tie.after_task_id for tie in ties}


def test_the_builders_own_order_is_never_turned_into_a_ring(
    browser: Browser, engine: Engine, start: str
) -> None:
    """Hose fitted before it is looked over, says the builder; then it is not held until it is looked over."""
    browser.post(start, {"heater hoses": "on", "heater.look": "on", "heater.fit": "on"})
    with Session(engine) as session:
        tie = session.exec(select(Dependency)).one()
    browser.post(f"/builds/1/tasks/{tie.task_id}/afters/{tie.key}/removal", {})
    own = {"after_task_id": str(tie.task_id)}
    assert browser.post(f"/builds/1/tasks/{tie.after_task_id}/afters", own).status_code == 303
    browser.post(start, {"heater.mock-up": "on"})
    with Session(engine) as session:
        pairs = set(session.exec(select(Dependency.task_id, Dependency.after_task_id)).all())
        mock_up = session.exec(select(Task.id).where(Task.from_set == "heater.mock-up")).one()
    look, fit = tie.after_task_id, tie.task_id
    assert pairs == {(look, fit), (mock_up, look)}


def test_nothing_ticked_is_told_and_the_answers_are_kept(
    browser: Browser, engine: Engine, start: str
) -> None:
    answer = browser.post(start, {"bearing": "ball", "gate": "outside"})
    assert answer.status_code == 422
    assert "Nothing is ticked." in answer.text
    assert "Start empty" in answer.text
    assert '<option value="ball" selected>' in answer.text
    assert count(engine, Task) == 0


def test_ticks_that_no_line_has_are_not_taken(browser: Browser, engine: Engine, start: str) -> None:
    assert browser.post(start, {"no.such": "on"}).status_code == 422
    assert browser.post(start, {"car.photos": "maybe"}).status_code == 422
    assert browser.get(f"{start}?of=nothing&gate=%00").status_code == 200
    assert browser.get("/builds/77/start").status_code == 404
    assert browser.post("/builds/77/start", ALL).status_code == 404
    assert count(engine, Task) == 0


def test_what_was_set_aside_is_not_offered_again(browser: Browser, engine: Engine, start: str) -> None:
    browser.post(start, {"intake": "on", "intake.off": "on"})
    browser.post("/builds/1/subsystems/1/removal", {})
    group = next(one for one in browser.get_json(start)["groups"] if one["kind"] == "intake")
    assert group["aside"]
    assert group["tasks"] == []
    before = count(engine, Task)
    browser.post(start, {"intake": "on", "intake.fit": "on"})
    assert count(engine, Task) == before


def test_the_page_asks_few_queries_however_much_there_is(
    browser: Browser, engine: Engine, start: str
) -> None:
    browser.post(start, ALL)
    with queries(engine) as seen:
        browser.get(start)
    assert len([one for one in seen if one.startswith("SELECT")]) <= 4
