"""The whole way of buying over HTTP: two runs designed, one list, two orders, one parcel short.

Today is Wednesday, 25 November 2026.
"""

from typing import Any

import httpx
import pytest

from tests.asking import Browser
from tests.http.conversion import (
    HOSES,
    METAL,
    Conversion,
    Run,
    begin,
    charge_pipe,
    downpipe,
    sell_every_line,
)
from tests.page_forms import PageForm, page_forms

CUT = "Cut the charge pipe's tube and bends, long first"
FIT = "Fit the charge pipe, clamps behind the beads"
BENT = "304 stainless bend, 63.5 × 1.5 mm, 90°, radius 95 mm"
TUBE = "304 stainless tube, 63.5 × 1.5 mm"
CLAMPS = "T-bolt clamp, 71 to 80 mm"


@pytest.fixture
def build(browser: Browser) -> Conversion:
    return begin(browser)


def test_from_two_designs_to_a_parcel_that_came_short(build: Conversion) -> None:
    gentle = charge_pipe(build)
    copied_and_changed(build, gentle)
    gentle_is_chosen_on_the_sheet_that_compares(build, gentle)
    old_half_is_kept(build)
    what_both_runs_are_made_of_is_one_line(build)
    somebody_sells_every_line(build)
    spares_stand_apart_with_their_reason(build)
    what_comes_before_the_cutting_is_done(build)
    held = held_by(build, CUT)
    assert len(held) == 3, "tube, bend and the signal's bung are to be had before anything is cut"
    assert all(one.endswith(", not ordered") for one in held)
    metal, hoses = ordered_with_both(build)
    news = arrived(build, metal)
    assert "Nothing of this order is owed any more." in news
    assert f"Now ready: {CUT}" in news
    assert held_by(build, CUT) == []
    news = arrived_short(build, hoses)
    assert f"Still to come: 3 × {CLAMPS}." in news
    assert f"Still held: ‘{FIT}’ by 2 × {CLAMPS}, in the post until Mon 30 Nov." in news
    assert held_by(build, FIT)[0] == f"2 × {CLAMPS}, in the post until Mon 30 Nov"
    assert line_of(build, CUT)["word"] == "ready"


def copied_and_changed(build: Conversion, gentle: Run) -> None:
    """The second design: a bend of shorter radius, everything else as in the first."""
    tight = build.design("Charge pipe", "Short bend", start_from=str(gentle.number))
    tight.change(tight.pieces()[2], bend_radius="64", length="91", length_out="91")
    difference = tight.told()["difference"]
    assert (difference["name"], difference["same"]) == ("Round the front", 4)
    assert [line["before"] for line in difference["lines"]] == [3]


def gentle_is_chosen_on_the_sheet_that_compares(build: Conversion, gentle: Run) -> None:
    assert "no-go" not in gentle.verdicts().values()
    assert "not measured" not in gentle.verdicts().values()
    sheet = f"{build.subsystem('Charge pipe')}/compare"
    page = build.browser.get_json(sheet)
    assert [one["name"] for one in page["columns"]] == ["Round the front", "Short bend"]
    loss = next(line for line in page["lines"] if line["label"] == "Loss at the peak")
    assert [cell["best"] for cell in loss["cells"]] == [True, False], "a gentle bend loses less"
    chosen = build.browser.post(f"{sheet}/{gentle.number}", {"because": "less boost lost, same work"})
    page = build.browser.follow(chosen).text
    assert "<b>Chosen</b>: less boost lost, same work" in page
    assert [one["chosen"] for one in build.browser.get_json(sheet)["columns"]] == [True, False]


def old_half_is_kept(build: Conversion) -> None:
    run = downpipe(build)
    assert "no-go" not in run.verdicts().values()
    run.post("/choice", {"because": "the lower half is sound"})


def what_both_runs_are_made_of_is_one_line(build: Conversion) -> None:
    page = build.told("/shopping")
    lines = {line["name"]: line for line in page["unoffered"]}
    both = lines[TUBE]
    assert both["count"] == 3
    assert both["facts"] == ["to be had cut to length: 320 mm, 260 mm, 150 mm"]
    assert both["for_what"] == (
        "Charge pipe: Round the front, pieces 2, 4; Downpipe: Keeps the old lower half, piece 3"
    )
    assert lines[BENT]["count"] == 2
    (kept,) = page["not_bought"]
    assert kept["name"].startswith("Old front pipe, lower half, salvaged")
    assert kept["name"] not in lines, "what is kept is not bought"


def somebody_sells_every_line(build: Conversion) -> None:
    sell_every_line(build)
    baskets = build.told("/shopping")["baskets"]
    assert sum(len(one["lines"]) + one["rest"] for one in baskets) == 11


def spares_stand_apart_with_their_reason(build: Conversion) -> None:
    line = listed(build, HOSES, "lines", CLAMPS)
    sheet = build.browser.get(line["href"]).text
    form = next(one for one in page_forms(sheet) if "spare_reason" in one.names())
    wanted = form.having(spares="1", spare_reason="a stripped bolt would end the evening")
    assert build.browser.post(form.address, dict(wanted.fields)).status_code == 303
    spare = listed(build, HOSES, "spares", CLAMPS)
    assert (spare["count"], spare["for_what"]) == (1, "Spare: a stripped bolt would end the evening")
    assert listed(build, HOSES, "lines", CLAMPS)["count"] == 4


def listed(build: Conversion, supplier: str, part: str, name: str) -> Any:
    baskets = build.told("/shopping")["baskets"]
    basket = next(one for one in baskets if one["supplier"] == supplier)
    return next(line for line in basket[part] if line["name"] == name)


def ordered_with_both(build: Conversion) -> tuple[str, str]:
    """The addresses of the two orders, metal first."""
    placed = {}
    for basket in build.told("/shopping")["baskets"]:
        (form,) = page_forms(build.browser.get(basket["href"]).text)
        answer = build.browser.post(form.address, dict(form.fields))
        assert answer.status_code == 303, answer.text
        placed[basket["supplier"]] = answer.headers["location"].split("?")[0]
    assert "Nothing has to be bought now." not in build.browser.get(f"{build.address}/shopping").text
    assert build.told("/shopping")["baskets"] == []
    return placed[METAL], placed[HOSES]


def arrived(build: Conversion, order: str) -> str:
    return news_of(build, build.browser.post(f"{order}/parcels", {"back": "order", "all": "yes"}))


def arrived_short(build: Conversion, order: str) -> str:
    """Five clamps were ordered, spare included; two are in the parcel."""
    lines = build.browser.get_json(order)["lines"]
    clamps = next(line for line in lines if line["part"]["text"] == CLAMPS)
    assert clamps["rest"] == 5
    form = parcel_form(build, order)
    assert form.value(f"right_{clamps['id']}") == "5", "what is owed stands typed already"
    answer = build.browser.post(form.address, dict(form.having(**{f"right_{clamps['id']}": "2"}).fields))
    return news_of(build, answer)


def parcel_form(build: Conversion, order: str) -> PageForm:
    forms = page_forms(build.browser.get(order).text)
    return next(one for one in forms if one.address == f"{order}/parcels" and one.value("seen"))


def news_of(build: Conversion, answer: httpx.Response) -> str:
    """What the reader is told after a parcel, as one line of text."""
    assert answer.status_code == 303, answer.text
    news = build.browser.get_json(answer.headers["location"])["news"]
    ready = ", ".join(task["text"] for task in news["ready"])
    return f"{news['text']} {news['more']} Now ready: {ready}"


def what_comes_before_the_cutting_is_done(build: Conversion) -> None:
    before = build.browser.get_json(build.task(CUT))["ties"]["before"]
    assert before
    for tie in before:
        done = {"state": "done", "back": "task"}
        assert build.browser.post(f"{tie['link']['href']}/state", done).status_code == 303


def line_of(build: Conversion, title: str) -> Any:
    return build.browser.get_json(build.task(title))["line"]


def held_by(build: Conversion, title: str) -> list[str]:
    return [one["text"] for one in build.browser.get_json(build.task(title))["reasons"]]
