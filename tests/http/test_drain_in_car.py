"""A drain's fall by where its ends are in the car; worked by hand: 150 mm over 300 mm is 30°."""

from typing import Any

import pytest

from tests.asking import Browser, number_in

KNOWN = {"drain.bore": "18 mm", "drain.length": "300 mm", "drain.downhill": "yes", "drain.above": "yes"}


def drain(browser: Browser, pan_up: str, **figures: str) -> Any:
    """The check of a drain from a turbo that stands 350 mm up to a pan."""
    build = browser.post("/builds", {"name": "Orrin", "car": "saloon"}).headers["location"]
    build = f"/builds/{number_in(build)}"
    made = browser.post(f"{build}/subsystems", {"kind": "oil drain"}).headers["location"].split("?")[0]
    ends = []
    for name, up in (("Turbo", "350"), ("Pan", pan_up)):
        port = browser.post(f"{build}/ports", {"name": name, "medium": "oil"}).headers["location"]
        browser.post(f"{port}/place", {"way": "offsets", "forward": "0", "left": "100", "up": up})
        ends.append(str(number_in(port)))
    sheet = {"version": "0"} | KNOWN | figures
    assert browser.post(f"{made}/figures", sheet).status_code == 303
    design = browser.post(
        f"{made}/designs", {"name": "Hose", "start_port_id": ends[0], "end_port_id": ends[1]}
    ).headers["location"]
    browser.post(f"{design}/pieces", {"kind": "hose", "bore": "19 mm", "length": "300 mm"})
    page = browser.get_json(design)
    every = page["open_checks"] + page["passed_checks"]
    return next(one for one in every if one["code"] == "drain-downhill")


@pytest.mark.parametrize(("pan_up", "word", "slope"), [("200", "go", "30°"), ("400", "no-go", "-9.")])
def test_the_fall_is_the_height_of_one_end_over_the_other(
    browser: Browser, pan_up: str, word: str, slope: str
) -> None:
    check = drain(browser, pan_up)
    assert check["verdict"]["word"] == word
    assert slope in check["why"]


def test_a_fall_that_was_typed_goes_before_it(browser: Browser) -> None:
    assert "30°" not in drain(browser, "200", **{"drain.fall": "75 mm"})["why"]
