"""What a helper's link opens, what may be done by it, and that nothing else is open to it."""

import hashlib
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from xml.etree import ElementTree

import httpx
import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from sqlalchemy import text

from server.app import FEATURES, create_app
from server.features.builders.service import set_passphrase
from server.settings import settings_for
from tests.asking import Browser, fresh_key
from tests.conftest import TEN_IN_THE_MORNING
from tests.pictures import picture, saved

PASSPHRASE = "tin kettle on a wet bench"
LINK = re.compile(r'value="[^"]*(/s/[A-Z2-7]{26})"')


class Watch:
    """A clock that a test can turn."""

    def __init__(self) -> None:
        self.now: datetime = TEN_IN_THE_MORNING

    def __call__(self) -> datetime:
        return self.now


@dataclass
class Garage:
    """The demo on a server that the whole network reaches: the builder is signed in, the helper is not."""

    app: FastAPI
    builder: Browser
    helper: Browser
    watch: "Watch"

    def link(self, name: str = "Sam", scope: str = "work", opens: str = "whole", **more: str) -> str:
        """The address of a new link."""
        fields = {"name": name, "scope": scope, "for": opens, **more}
        made = self.builder.post("/builds/1/links", fields)
        assert made.status_code == 200, made.text[:600]
        found = LINK.search(made.text)
        assert found is not None
        return found[1]

    def dump(self) -> str:
        """Everything that the database holds, but for when a link was used."""
        with self.app.state.engine.connect() as connection:
            names = connection.exec_driver_sql(
                "SELECT name FROM sqlite_master WHERE type = 'table'"
            ).scalars()
            rows = {name: connection.execute(text(f'SELECT * FROM "{name}"')).all() for name in sorted(names)}
            links = connection.exec_driver_sql("SELECT id, digest, withdrawn_at FROM share_token").all()
        return repr({**rows, "share_token": links})


@pytest.fixture(scope="module")
def garage(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Iterator[Garage]:
    settings = settings_for(data=tmp_path_factory.mktemp("helped") / "data", environment={})
    shutil.copytree(demo_folder, settings.data)
    set_passphrase(settings.data, PASSPHRASE)
    watch = Watch()
    app = create_app(replace(settings, host="0.0.0.0"), watch)
    with Browser(app) as builder, Browser(app) as helper:
        assert builder.post("/sign-in", {"passphrase": PASSPHRASE, "back": "/"}).status_code == 303
        yield Garage(app, builder, helper, watch)
    app.state.engine.dispose()


def task_to_do(garage: Garage, link: str) -> int:
    """The number of a task that the link can start or finish."""
    page = garage.helper.get(link).text
    found = re.search(r'/tasks/(\d+)/state"', page)
    assert found is not None
    return int(found[1])


def test_a_link_opens_its_sheet_without_a_passphrase_and_nothing_else(garage: Garage) -> None:
    link = garage.link(opens="1")
    page = garage.helper.get(link)
    assert page.status_code == 200
    assert "Weld the charge pipe out on the bench" in page.text
    assert "DANGER" in page.text
    assert "/builds/" not in page.text.replace(' data-live="/s/', "")
    assert garage.helper.get("/builds/1/garage").status_code == 303
    assert page.headers["x-robots-tag"] == "noindex"
    assert page.headers["referrer-policy"] == "same-origin"


def test_what_a_helper_does_stands_in_the_log_under_the_name_on_the_link(garage: Garage) -> None:
    link = garage.link("Sam who welds")
    number = task_to_do(garage, link)
    done = garage.helper.post(f"{link}/tasks/{number}/state", {"state": "done"})
    assert done.headers["location"] == f"{link}?told=task-{number}"
    assert "Done: ‘" in garage.helper.follow(done).text
    note = {"text": "The flange is warped by half a millimetre"}
    noted = garage.helper.post(
        f"{link}/notes", note, files={"photo": ("a.jpg", saved(picture()), "image/jpeg")}
    )
    assert "The flange is warped" in garage.helper.follow(noted).text
    measured = garage.helper.post(
        f"{link}/ports/1/readings", {"dimension": "bore", "reading": "79,5", "instrument": "digital_caliper"}
    )
    assert measured.status_code == 303, measured.text[:900]
    log = garage.builder.get("/builds/1/log").text
    assert log.count("<small>Sam who welds</small>") >= 3
    assert "The flange is warped by half a millimetre" in log
    [own] = garage.helper.get_json(link)["notes"]
    assert garage.helper.get(own["photos"][0]["source"]).headers["content-type"] == "image/jpeg"


def test_what_was_done_with_a_phone_whose_clock_is_behind_a_new_link_is_told_all_the_same(
    garage: Garage,
) -> None:
    link = garage.link("Kim")
    number = task_to_do(garage, link)
    behind = (garage.watch.now - timedelta(minutes=2)).isoformat()
    clock = {"made-at": behind, "sent-at": behind}
    done = garage.helper.post(f"{link}/tasks/{number}/state", {"state": "done"}, headers=clock)
    assert "Done: ‘" in garage.helper.follow(done).text


def test_a_new_link_of_the_same_name_shows_nothing_of_what_the_one_before_did(garage: Garage) -> None:
    """Not even of the last minutes: it may have been given to somebody else."""
    before = garage.link("Robin")
    note = {"text": "The spare key hangs behind the meter", "original": "yes"}
    kept = {"photo": ("a.jpg", saved(picture()), "image/jpeg")}
    assert garage.helper.post(f"{before}/notes", note, files=kept).status_code == 303
    [own] = garage.helper.get_json(before)["notes"]
    picture_before = own["photos"][0]["source"]
    garage.watch.now += timedelta(seconds=30)
    after = garage.link("Robin")
    assert "spare key" not in garage.helper.get(after).text
    assert garage.helper.get_json(after)["notes"] == []
    for address in (picture_before, own["photos"][0]["original"]["href"]):
        assert garage.helper.get(address).status_code == 200
        assert garage.helper.get(address.replace(before, after)).status_code == 404


def test_who_may_only_look_is_shown_no_form_and_can_change_nothing(garage: Garage) -> None:
    link, other = garage.link(scope="look"), garage.link()
    number = task_to_do(garage, other)
    assert "<form" not in garage.helper.get(link).text
    before = garage.dump()
    for address, fields in (
        (f"{link}/tasks/{number}/state", {"state": "done"}),
        (f"{link}/notes", {"text": "I was here"}),
        (f"{link}/ports/1/readings", {"dimension": "bore", "reading": "70"}),
    ):
        refused = garage.helper.post(address, fields)
        assert refused.status_code == 403
        assert "for looking only" in refused.text
    assert garage.dump() == before


def test_a_link_that_was_withdrawn_or_ran_out_is_dead_at_once(garage: Garage) -> None:
    link, short = garage.link("Kim"), garage.link("Lee", days="2")
    number = next(
        line["withdrawal"]
        for line in garage.builder.get_json("/builds/1/links")["links"]
        if line["name"] == "Kim"
    )
    assert garage.helper.get(f"{link}/revision").status_code == 200
    assert garage.builder.post(number, {}).status_code == 303
    for address in (link, f"{link}/revision"):
        assert garage.helper.get(address).status_code == 404
    assert "Ask who gave it for a new one" in garage.helper.get(link).text
    assert garage.helper.get(short).status_code == 200
    garage.watch.now += timedelta(days=3)
    assert garage.helper.get(short).status_code == 404
    garage.watch.now -= timedelta(days=3)


def test_the_token_is_kept_nowhere_but_as_a_digest(garage: Garage) -> None:
    link = garage.link("Max")
    token = link.removeprefix("/s/")
    kept = garage.dump()
    assert token not in kept
    assert hashlib.sha256(token.encode()).hexdigest() in kept


def test_a_form_sent_twice_makes_one_link(garage: Garage) -> None:
    fields = {"name": "Twice", "scope": "look", "for": "whole", "operation_key": fresh_key()}
    first, again = (garage.builder.post("/builds/1/links", fields) for _ in range(2))
    assert (first.status_code, again.status_code) == (200, 409)
    names = [line["name"] for line in garage.builder.get_json("/builds/1/links")["links"]]
    assert names.count("Twice") == 1


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"name": ""}, "Who the link is for is missing."),
        ({"name": "Builder"}, "The log calls you the builder."),
        ({"for": "99"}, "choose one of the list"),
        ({"days": "400"}, "400 is out of range"),
    ],
)
def test_a_link_that_can_t_be_made_keeps_what_was_typed(
    garage: Garage, fields: dict[str, str], message: str
) -> None:
    refused = garage.builder.post("/builds/1/links", {"name": "Noa", "scope": "look", "for": "1", **fields})
    assert refused.status_code == 422
    assert message in refused.text
    assert f'value="{fields.get("name", "Noa")}"' in refused.text


def test_an_open_page_learns_that_the_build_changed(garage: Garage) -> None:
    link = garage.link("Ann")
    page = garage.builder.get("/builds/1/garage").text
    live = re.search(r'data-live="([^"]+)" data-revision="([^"]+)"', page)
    assert live is not None
    assert garage.builder.get(live[1]).text == live[2]
    assert garage.helper.get(f"{link}/revision").text == live[2]
    garage.helper.post(f"{link}/notes", {"text": "Here now"})
    assert garage.builder.get(live[1]).text != live[2]


def every_address(link: str) -> list[tuple[str, str]]:
    """Every address of the application but those of links: as it stands, and below the link."""
    asked = []
    routes = [route for feature in FEATURES for route in feature.router.routes if isinstance(route, APIRoute)]
    for route in routes:
        address = re.sub(r"\{\w+\}", "1", route.path)
        for method in () if address.startswith("/s/") else sorted(set(route.methods or ()) - {"HEAD"}):
            asked += [(method, address), (method, link + address.rstrip("/"))] if address != "/" else []
    return asked


def test_a_link_can_neither_see_nor_do_anything_outside_what_it_was_given_for(garage: Garage) -> None:
    link = garage.link("Eve", opens="1")
    mine = garage.helper.get_json(link)
    tasks = {task["line"]["id"] for task in mine["tasks"]}
    runs = {run["design_id"] for run in mine["visit"]["runs"]}
    ports = {number for run in mine["visit"]["runs"] for number in run["ports"]}
    assert min(len(tasks), len(runs), len(ports)) > 0
    asked = [("POST", f"{link}/tasks/{number}/state") for number in range(1, 80) if number not in tasks]
    asked += [("POST", f"{link}/ports/{number}/readings") for number in range(1, 40) if number not in ports]
    asked += [("GET", f"{link}/ports/{number}") for number in range(1, 40) if number not in ports]
    asked += [("GET", f"{link}/runs/{number}") for number in range(1, 30) if number not in runs]
    asked += [("GET", f"{link}/runs/{number}/a4.pdf") for number in range(1, 30) if number not in runs]
    asked += [("GET", f"{link}/photos/{number}") for number in range(1, 30)]
    asked += [("GET", f"{link}/visits/{number}") for number in range(2, 12)]
    asked += every_address(link)
    assert len(asked) >= 500
    before = garage.dump()
    answers = [(asking, attempt(garage, *asking, link.removeprefix("/s/"))) for asking in asked]
    refused = {303, 401, 403, 404, 405}
    assert [
        (asking, answer.status_code) for asking, answer in answers if answer.status_code not in refused
    ] == []
    assert {answer.headers["location"][:8] for _, answer in answers if answer.status_code == 303} == {
        "/sign-in"
    }
    assert garage.dump() == before


def attempt(garage: Garage, method: str, address: str, token: str) -> httpx.Response:
    """One request, with the token in every place where somebody might look for one."""
    headers = {"authorization": f"Bearer {token}", "cookie": f"sid={token}; link={token}"}
    fields = {"state": "done", "text": "x", "dimension": "bore", "reading": "70", "name": "x"}
    if method == "POST":
        return garage.helper.post(address, fields, headers=headers)
    return garage.helper.get(address, headers=headers)


def test_a_page_for_friends_tells_how_it_goes_and_neither_prices_nor_names(garage: Garage) -> None:
    link = garage.link("The forum", scope="show")
    garage.builder.post("/builds/1/log", {"text": "Paid 450 to Millrace Tube"})
    page = garage.helper.get(link)
    assert page.status_code == 200
    shown = garage.helper.get_json(link)
    assert shown["total"] > shown["done"] > 5
    assert min(len(shown["drawings"]), len(shown["photos"]), len(shown["next"])) > 1
    for private in ("EUR", "Millrace", "fabricator", "The forum", "/builds/", "<form"):
        assert private not in page.text.replace("/builds/1/revision", "")
    assert garage.helper.get(shown["photos"][0]["source"]).status_code == 200
    for below in ("/ports/1", "/runs/1", "/visits/1"):
        assert garage.helper.get(link + below).status_code == 404
    assert garage.helper.post(f"{link}/notes", {"text": "I was here"}).status_code == 404


def test_the_feed_has_what_a_reader_of_feeds_needs(garage: Garage) -> None:
    """RFC 4287, 4.1.1 and 4.1.2: id, title, updated and author of a feed; id, title, updated of an entry."""
    link = garage.link("The forum", scope="show")
    answer = garage.helper.get(f"{link}/feed.atom")
    assert answer.headers["content-type"] == "application/atom+xml"
    feed = ElementTree.fromstring(answer.content)
    atom = {"a": "http://www.w3.org/2005/Atom"}
    for needed in ("a:id", "a:title", "a:updated", "a:author/a:name", "a:link[@rel='self']"):
        assert feed.find(needed, atom) is not None
    entries = feed.findall("a:entry", atom)
    assert len({entry.findtext("a:id", namespaces=atom) for entry in entries}) == len(entries) > 10
    moments = [datetime.fromisoformat(entry.findtext("a:updated", "", atom)) for entry in entries]
    assert moments == sorted(moments, reverse=True)
    assert all(moment.tzinfo is not None for moment in moments)
    again = garage.helper.get(f"{link}/feed.atom", headers={"if-none-match": answer.headers["etag"]})
    assert again.status_code == 304
    assert garage.helper.get(f"{garage.link('Pat')}/feed.atom").status_code == 404


def test_ten_guesses_in_a_minute_and_an_address_has_to_wait(garage: Garage) -> None:
    with Browser(create_app(garage.app.state.settings, garage.watch)) as guessing:
        answers = [guessing.get("/s/" + letter * 26).status_code for letter in "ABCDEFGHIJKL"]
    assert answers == [404] * 10 + [429] * 2
