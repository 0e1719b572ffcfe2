"""Checks of what is fitted, accepted as they are: with name, date and reason, and never where it can hurt."""

import pytest

from tests.asking import Browser
from tests.http.test_figures import checks, save

REASON = "It is what there is; a moulded elbow is ordered."


@pytest.fixture
def small(demo: Browser) -> str:
    """A build whose coolant line folds: a performance check of what is fitted, no-go without any design."""
    answer = demo.post("/builds/1/subsystems", {"name": "Second coolant line", "kind": "coolant"})
    sheet = f"{answer.headers['location']}/figures"
    demo.post(sheet, {"version": "0", "coolant.shape": "bent", "coolant.bore": "19", "coolant.radius": "20"})
    assert checks(demo, sheet)["hose-kink"]["verdict"]["word"] == "no-go"
    return sheet


def concede(browser: Browser, sheet: str, **fields: str) -> int:
    return browser.post(f"{sheet}/concessions", fields).status_code


def test_a_performance_no_go_is_accepted_with_its_reason_who_and_when(demo: Browser, small: str) -> None:
    assert checks(demo, small)["hose-kink"]["may_concede"]
    assert concede(demo, small, rule="hose-kink", reason=REASON) == 303
    line = checks(demo, small)["hose-kink"]
    assert line["conceded"] == REASON
    assert line["signed"].startswith("builder, ")
    assert "1 conceded" in demo.get_json(small)["counts"]
    assert REASON in demo.get(small).text


def test_a_concession_stands_in_the_log(demo: Browser, small: str) -> None:
    concede(demo, small, rule="hose-kink", reason=REASON)
    assert (
        "Conceded on Second coolant line: Coolant hoses bent without a kink" in demo.get("/builds/1/log").text
    )


def test_a_concession_is_taken_back(demo: Browser, small: str) -> None:
    concede(demo, small, rule="hose-kink", reason=REASON)
    assert concede(demo, small, rule="hose-kink", withdraw="on") == 303
    assert checks(demo, small)["hose-kink"]["conceded"] == ""


def test_it_counts_for_the_designs_of_the_subsystem_too(demo: Browser, small: str) -> None:
    concede(demo, small, rule="hose-kink", reason=REASON)
    subsystem = small.removesuffix("/figures")
    design = demo.post(f"{subsystem}/designs", {"name": "Bent hose"}).headers["location"]
    demo.post(f"{design}/pieces", {"kind": "hose", "bore": "19", "length": "300"})
    line = next(one for one in demo.get_json(design)["open_checks"] if one["code"] == "hose-kink")
    assert (line["conceded"], line["signed"][:8]) == (REASON, "builder,")
    demo.post(f"{design}/concessions", {"rule": "hose-kink", "withdraw": "on"})
    assert checks(demo, small)["hose-kink"]["conceded"] == ""


def test_a_reason_is_asked_for_beside_its_field(demo: Browser, small: str) -> None:
    refused = demo.post(f"{small}/concessions", {"rule": "hose-kink", "reason": " "})
    assert refused.status_code == 422
    assert "Reason is missing." in refused.text
    assert 'id="more-hose-kink" open' in refused.text


def test_what_can_hurt_is_never_conceded(demo: Browser) -> None:
    redirect = demo.get("/builds/1/figures/fuel.pump")
    sheet = str(redirect.headers["location"]).partition("#")[0]
    save(demo, sheet, fuel_pump="3 bar; 60 l/h\n4 bar; 50 l/h\n5 bar; 40 l/h")
    line = checks(demo, sheet)["pump-flow"]
    assert line["verdict"]["word"] == "no-go"
    assert not line["may_concede"]
    refused = demo.post(f"{sheet}/concessions", {"rule": "pump-flow", "reason": "I will be careful."})
    assert refused.status_code == 422
    assert "Check: choose one of the list." in refused.text
    assert checks(demo, sheet)["pump-flow"]["conceded"] == ""


@pytest.mark.parametrize("rule", ["bore-held", "", "nonsense"])
def test_only_a_check_of_this_sheet_can_be_conceded_on_it(demo: Browser, small: str, rule: str) -> None:
    assert concede(demo, small, rule=rule, reason=REASON) == 422


def test_a_subsystem_without_figures_has_nothing_to_concede(demo: Browser) -> None:
    answer = demo.post("/builds/1/subsystems", {"name": "Something else", "kind": "other"})
    assert concede(demo, f"{answer.headers['location']}/figures", rule="hose-kink", reason=REASON) == 404
