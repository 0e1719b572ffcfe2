"""The demo opens in the middle of its build: what a reader meets there, and what the obvious acts do."""

import re
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, SQLModel, select

import seed_demo
from server.app import create_app
from server.db import make_engine
from server.features.builds.service import build_face
from server.features.builds.tables import Build
from server.features.designs import service as designs
from server.features.designs import store as design_store
from server.features.orders.service import order_faces
from server.features.parts.service import part_faces
from server.features.ports.tables import Reading
from server.features.shopping.service import listed
from server.features.verdicts.page import DesignStanding
from server.features.work.service import work_state
from server.migrate import make_data_folder
from server.settings import Settings, settings_for
from server.web.view import VerdictWord
from tests.asking import Browser
from tests.conftest import TEN_IN_THE_MORNING
from tests.samples import WHOLE
from tests.walk import shape_of

REDUCER = "101.6 to 80 mm reducer, lined silicone"
HELD_BY_IT = "Offer the intake's hoses up dry, mark where the tubes are cut"
MOST_ALIKE = 10_000 if WHOLE else 12
DRAWN_BY_LOT = {"build.revision", "build.stamps", "photo.name"}
SUPPLIERS = {"Tarn Hose & Clamp", "Millrace Tube", "Corvid Fasteners", "Underhill Castings"}


@dataclass(frozen=True, slots=True)
class Demo:
    engine: Engine
    build_id: int
    browser: Browser

    @property
    def home(self) -> str:
        return f"/builds/{self.build_id}"


def loaded(folder: Path, empty: Path, clock: Callable[[], datetime]) -> Path:
    """The file of a database of its own with the demo in it."""
    mine = settings_for(data=folder, environment={})
    make_data_folder(mine)
    file = mine.data / empty.name
    shutil.copy(empty, file)
    engine = make_engine(mine.database_url)
    seed_demo.load(engine, mine, clock)
    engine.dispose()
    return file


@pytest.fixture(scope="module")
def demo_file(tmp_path_factory: pytest.TempPathFactory, migrated_file: Path) -> Path:
    """The demo, loaded once; each test works on a copy."""
    return loaded(tmp_path_factory.mktemp("demo") / "data", migrated_file, lambda: TEN_IN_THE_MORNING)


@pytest.fixture
def demo(settings: Settings, demo_file: Path, clock: Callable[[], datetime]) -> Iterator[Demo]:
    shutil.copy(demo_file, settings.data / demo_file.name)
    shutil.copytree(demo_file.parent / "photos", settings.photos, dirs_exist_ok=True)
    app = create_app(settings, clock)
    engine: Engine = app.state.engine
    with Session(engine) as session:
        build_id = session.exec(select(Build)).one().key
    with Browser(app) as browser:
        yield Demo(engine, build_id, browser)
    engine.dispose()


def standing_of(demo: Demo, subsystem: str) -> DesignStanding:
    with Session(demo.engine) as session:
        found = designs.standings(session, build_face(session, demo.build_id))
    return next(one for one in found if one.subsystem_name == subsystem)


def verdicts_of(demo: Demo, subsystem: str) -> dict[str, str]:
    """Each check of the design that is shown for a subsystem, by its title."""
    number = standing_of(demo, subsystem).design_id
    page = demo.browser.get_json(f"{demo.home}/designs/{number}")
    return {
        check["title"]: check["verdict"]["word"] for check in (*page["open_checks"], *page["passed_checks"])
    }


def rows(engine: Engine) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, but for the mark of each write and the names of photos, drawn by lot."""
    found = {}
    with engine.connect() as connection:
        for table in SQLModel.metadata.sorted_tables:
            columns = [column for column in table.columns if str(column) not in DRAWN_BY_LOT]
            found[table.name] = [
                tuple(row) for row in connection.execute(select(*columns).order_by(*table.primary_key))
            ]
    return found


def test_two_databases_get_the_same_rows_from_the_same_clock(
    demo: Demo, tmp_path: Path, migrated_file: Path, clock: Callable[[], datetime]
) -> None:
    other = make_engine(f"sqlite:///{loaded(tmp_path / 'other', migrated_file, clock)}")
    first, second = rows(demo.engine), rows(other)
    other.dispose()
    assert first == second
    filled = {name for name, found in first.items() if found}
    assert {"port", "reading", "piece", "bung", "joint", "task", "hold", "delivery", "log_entry"} <= filled
    assert {"offer", "off_cut", "sent_back", "setback", "wait", "photo"} <= filled


def test_a_week_later_every_date_is_a_week_later(
    demo: Demo, tmp_path: Path, migrated_file: Path, now: datetime
) -> None:
    week = timedelta(days=7)
    other = make_engine(f"sqlite:///{loaded(tmp_path / 'later', migrated_file, lambda: now + week)}")
    first, second = rows(demo.engine), rows(other)
    other.dispose()
    moved = [
        (earlier, later)
        for name, found in first.items()
        for before, after in zip(found, second[name], strict=True)
        for earlier, later in zip(before, after, strict=True)
        if earlier != later and not isinstance(earlier, dict | list)  # what a forecast rests on, as JSON
    ]
    assert len(moved) > 150
    texts = [(earlier, later) for earlier, later in moved if isinstance(earlier, str)]
    assert all(later - earlier == week for earlier, later in moved if not isinstance(earlier, str))
    assert len(texts) == 1, "the task that a snapped stud brought tells the day"
    assert all("18 Oct" in earlier and "25 Oct" in later for earlier, later in texts)


def test_it_opens_with_one_subsystem_finished_one_no_go_and_one_not_measured(demo: Demo) -> None:
    cooler, charge = standing_of(demo, "Cooler pipe"), standing_of(demo, "Charge pipe")
    intake, downpipe = standing_of(demo, "Intake"), standing_of(demo, "Downpipe")
    assert cooler.word is VerdictWord.GO
    assert charge.word is VerdictWord.NO_GO
    assert charge.open_no_go
    assert intake.word is VerdictWord.NOT_MEASURED
    assert intake.missing == ("Measure the bore of Bypass return.",)
    assert downpipe.word is VerdictWord.TIGHT
    assert standing_of(demo, "Oil drain").why == "no design yet"


def test_every_check_of_the_finished_subsystem_says_go(demo: Demo) -> None:
    verdicts = verdicts_of(demo, "Cooler pipe")
    assert len(verdicts) >= 12
    assert set(verdicts.values()) == {"go"}


def test_the_finished_subsystem_has_its_parts_and_its_tasks_behind_it(demo: Demo, now: datetime) -> None:
    cooler = standing_of(demo, "Cooler pipe")
    assert cooler.decided
    with Session(demo.engine) as session:
        state = work_state(session, build_face(session, demo.build_id), now)
    own = [row.plan for row in state.book.rows.tasks if row.plan.subsystem_id == cooler.subsystem_id]
    assert len(own) >= 6
    assert all(task.done for task in own)


def test_nothing_done_used_parts_that_never_came(demo: Demo, now: datetime) -> None:
    with Session(demo.engine) as session:
        state = work_state(session, build_face(session, demo.build_id), now)
    assert {part_id: one.unrecorded for part_id, one in state.supplies.items() if one.unrecorded} == {}


def test_the_no_go_names_the_narrow_piece_and_the_bore_that_cures_it(demo: Demo) -> None:
    number = standing_of(demo, "Charge pipe").design_id
    page = demo.browser.get_json(f"{demo.home}/designs/{number}")
    bore = next(check for check in page["open_checks"] if check["title"] == "Bore held")
    assert bore["verdict"]["word"] == "no-go"
    assert "2 in elbow from the old kit (3)" in bore["why"]
    assert "57 mm" in bore["why"]
    assert "Put a piece of 57 mm bore (60 mm outside) in place of 2 in elbow" in bore["cure"]


def test_a_wider_elbow_cures_the_charge_pipe_whole(demo: Demo) -> None:
    number = standing_of(demo, "Charge pipe").design_id
    assert number is not None
    with Session(demo.engine) as session:
        design = design_store.load_design(session, demo.build_id, number)
        elbow = design_store.rows_of(session, [design])[number].run.pieces[2]
        fields = {**elbow.typed, "kind": elbow.kind, "name": "60 mm elbow", "material": elbow.material}
        fields |= {"version": str(elbow.version), "inlet_end": elbow.inlet_end}
        fields |= {"outlet_end": elbow.outlet_end, "outside_diameter": "60 mm"}
        piece_id = elbow.id
    answer = demo.browser.post(f"{demo.home}/designs/{number}/pieces/{piece_id}", fields)
    assert answer.status_code == 303
    assert set(verdicts_of(demo, "Charge pipe").values()) == {"go"}


def test_the_reading_that_is_missing_turns_the_intake_to_go(demo: Demo) -> None:
    ports = demo.browser.get(f"{demo.home}/ports").text
    found = re.search(r'href="([^"]+/ports/\d+)[^"]*"[^>]*>(?:(?!</a>).)*Bypass return', ports, re.DOTALL)
    assert found is not None
    typed = {"dimension": "bore", "reading": "25,2 mm", "instrument": "digital_caliper"}
    assert demo.browser.post(f"{found[1]}/readings", typed).status_code == 303
    assert set(verdicts_of(demo, "Intake").values()) == {"go"}


def test_two_designs_of_the_intake_stand_side_by_side(demo: Demo) -> None:
    intake = standing_of(demo, "Intake")
    assert intake.designs == 2
    page = demo.browser.get(f"{demo.home}/subsystems/{intake.subsystem_id}").text
    assert "Bought elbow and two tubes" in page
    assert "Old pipe cut down" in page


def test_two_of_eight_orders_are_late_and_one_piece_came_wrong(demo: Demo, now: datetime) -> None:
    with Session(demo.engine) as session:
        orders = order_faces(session, demo.build_id)
    assert len(orders) == 8
    assert {order.supplier for order in orders} == SUPPLIERS
    late = {order.supplier: order.late_days(now.date()) for order in orders if order.late_days(now.date())}
    assert late == {"Underhill Castings": 3, "Tarn Hose & Clamp": 2}
    conditions = [one.condition.value for order in orders for line in order.lines for one in line.deliveries]
    assert conditions.count("wrong") == 1
    part_came = [
        line.part_name
        for order in orders
        for line in order.lines
        if line.counted and 0 < line.rest < line.quantity
    ]
    assert part_came == ["Lined worm-drive clamp 80–100 mm"]


def test_the_reducer_marked_arrived_frees_the_task_that_waited_for_it(demo: Demo, now: datetime) -> None:
    with Session(demo.engine) as session:
        lines = [line for order in order_faces(session, demo.build_id) for line in order.lines]
    line = next(one for one in lines if one.part_name == REDUCER)
    answer = demo.browser.post(f"{demo.home}/order-lines/{line.id}/deliveries", {"back": "garage"})
    garage = demo.browser.follow(answer).text
    assert "Now ready" in garage
    assert HELD_BY_IT.replace("'", "&#39;") in garage
    with Session(demo.engine) as session:
        plan = work_state(session, build_face(session, demo.build_id), now).plan
    task = next(entry for entry in plan.next if plan.task(entry.task_id).title == HELD_BY_IT)
    assert not task.reason.stopped


def test_the_fabricator_comes_on_the_saturday_after_next(demo: Demo, now: datetime) -> None:
    with Session(demo.engine) as session:
        holds = work_state(session, build_face(session, demo.build_id), now).book.rows.holds
    assert {hold.until for hold in holds} == {date(2026, 12, 5)}
    assert {hold.reason for hold in holds} == {"the fabricator who welds"}


def test_the_garage_as_json_tells_what_the_page_tells(demo: Demo) -> None:
    garage = demo.browser.get_json(f"{demo.home}/garage")
    assert garage["late"] == 3, "lines of two orders"
    assert garage["no_go"] == 1
    assert garage["ready"] >= 5
    assert garage["designs"][0]["name"] == "Charge pipe"
    assert garage["post"][0]["late"]
    assert garage["first"] is not None
    told = demo.browser.get(f"{demo.home}/garage").text
    for line in (*garage["designs"], *garage["post"], *garage["to_measure"]):
        assert line["href"] in told


def test_every_page_of_the_demo_is_there(demo: Demo) -> None:
    """Every address below the build that a page links to, followed from the garage on.

    Of many alike the first are asked for; `make prove` asks for each.
    """
    linked: set[str] = set()
    asked: dict[str, int] = {}
    alike = Counter[str]()
    ahead = [f"{demo.home}/garage"]
    while ahead:
        address = ahead.pop()
        if address in linked:
            continue
        linked.add(address)
        alike[shape_of(address)] += 1
        if alike[shape_of(address)] > MOST_ALIKE:
            continue
        answer = demo.browser.get(address, follow_redirects=True)
        asked[address] = answer.status_code
        if answer.headers["content-type"].startswith("text/html"):
            ahead += links(answer.text, demo.home)
    assert {address: status for address, status in asked.items() if status != 200} == {}
    assert sum("/tasks/" in address for address in linked) >= 50
    assert sum("/ports/" in address for address in linked) >= 15
    for sheet in ("engine", "ports", "subsystems", "work", "orders", "parts", "log"):
        assert f"{demo.home}/{sheet}" in asked


def links(page: str, below: str) -> list[str]:
    """The sheets below an address that a page links to; what is asked of a sheet is left off."""
    found = re.findall(rf'href="({re.escape(below)}/[^"#?]*)', page)
    return list(dict.fromkeys(found))


def test_readings_come_in_mixed_units_and_some_by_feel(demo: Demo) -> None:
    with Session(demo.engine) as session:
        readings = session.exec(select(Reading)).all()
    typed = " ".join(reading.typed for reading in readings)
    assert "mm" in typed
    assert "in" in typed
    assert any("," in reading.typed for reading in readings)
    assert {"feel", "string", "digital_caliper", "makers_figure"} <= {one.instrument for one in readings}
    assert {one.mock_up for one in readings if one.mock_up} == {"touches", "short"}


def test_ninety_parts_and_sixty_or_so_tasks(demo: Demo, now: datetime) -> None:
    with Session(demo.engine) as session:
        parts = part_faces(session, demo.build_id)
        tasks = work_state(session, build_face(session, demo.build_id), now).book.rows.tasks
    assert len(parts) == 90
    assert 60 <= len(tasks) <= 70


def test_the_shopping_list_asks_for_nothing_that_is_there_or_in_the_post(demo: Demo, now: datetime) -> None:
    with Session(demo.engine) as session:
        found = listed(session, build_face(session, demo.build_id), now)
    lines = [line for basket in (*found.baskets, found.unoffered) for line in basket.lines]
    assert 6 <= len(lines) <= 12
    assert all(line.quantity and not line.in_hand + line.on_order for line in lines)
    assert len(found.baskets) == 3
    assert found.totals.unpriced == 2
    assert [one.name for one in found.waiting] == ["EPDM hose, 16 mm bore"]
    assert all(spare.reason for basket in found.baskets for spare in basket.spares)


def test_the_stud_that_snapped_brought_its_task_and_that_is_done(demo: Demo, now: datetime) -> None:
    with Session(demo.engine) as session:
        rows = work_state(session, build_face(session, demo.build_id), now).book.rows
    happened = [one for one in rows.setbacks if one.happened_at is not None]
    brought = {row.plan.id: row.plan for row in rows.tasks}
    assert [one.title for one in happened] == ["Drill out the snapped front-pipe stud, chase the thread"]
    assert brought[happened[0].brought_task_id or 0].done
    assert len(rows.setbacks) >= 6


def test_the_ledger_of_lines_says_what_is_not_closed_yet(demo: Demo) -> None:
    """Two hoses are off, a check valve is the wrong way round, one line was capped for good."""
    page = demo.browser.get_json(f"{demo.home}/lines")
    found = " ".join(one["text"] for one in page["open_ends"])
    assert "Gate hose hangs loose" in found
    assert "Oil drain hangs loose" in found
    assert len(page["open_ends"]) == 4
    assert any(one["do"] and "Purge check" in one["text"] + one["do"] for one in page["broken"])
    assert any("Vapour valve" in one["text"] + one["do"] for one in page["unknown"])
    assert page["next_tag"] == 30
    assert "capped: The throttle needs no warming here." in page["out"][0]["detail"]
    gate = next(one for one in page["lines"] if one["name"] == "Gate hose")
    assert gate["was"] == "solenoid common to actuator"
    assert demo.browser.get_json(gate["may_go"])["may"] == "no"
