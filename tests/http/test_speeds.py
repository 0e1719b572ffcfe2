"""The speed along a run on the sheet of its design: as it was reckoned, against the limit that holds."""

import re
from math import pi

import pytest

from tests.asking import Browser
from tests.http.intake_build import IntakeBuild, make_build, stored


def test_each_piece_has_its_bar_and_the_fastest_is_the_narrow_tube(intake: IntakeBuild) -> None:
    """By hand: v = ṁ / (ρ A) in a bore of 56 mm, air drawn from 96.5 kPa and 25 °C.

    Its density as it moves is (1 + 0.2 M²)^-2.5 of that (NACA Report 1135, equation 45); what the pieces
    before it lose, some 1 % of the pressure, is left out.
    """
    page = intake.browser.get_json(intake.design)
    plot = page["speeds"]
    assert [bar["number"] for bar in plot["bars"]] == [str(piece["number"]) for piece in page["pieces"]]
    assert [bar["highest"] for bar in plot["bars"]].index(True) == 3
    speed = float(plot["called"].partition(" ")[0])
    flow = float(page["flow"]["at"].partition(" ")[0]) / 1000.0
    mach = float(page["flow"]["fastest"].rpartition(" ")[2])
    density = 96.5e3 / (287.05 * 298.15) * (1.0 + 0.2 * mach**2) ** -2.5
    assert speed == pytest.approx(flow / (density * 0.25 * pi * 0.056**2), rel=0.02)
    assert page["flow"]["fastest"].startswith(plot["called"])


def test_the_drawing_has_a_title_and_tells_every_piece_in_words(intake: IntakeBuild) -> None:
    page = intake.browser.get(intake.design).text
    assert 'aria-labelledby="speed-title" aria-describedby="speed-desc"' in page
    assert '<title id="speed-title">Speed along the run at the peak: fastest' in page
    told = re.findall(r'<desc id="speed-desc">([^<]+)</desc>', page)[0]
    assert all(f"piece {number} " in told for number in range(1, 8))
    assert told.endswith("The limit, Mach 0.30.")


def test_the_limit_drawn_is_the_one_that_holds_for_this_build(intake: IntakeBuild) -> None:
    before = intake.browser.get_json(intake.design)["speeds"]
    changed = {"version": "0", "value": "0.2", "reason": "a quiet intake"}
    assert intake.browser.post(f"/builds/{intake.build_id}/limits/mach.most", changed).status_code == 303
    after = intake.browser.get_json(intake.design)["speeds"]
    assert (before["limit_text"], after["limit_text"]) == ("limit, Mach 0.30", "limit, Mach 0.20")


def test_a_run_whose_flow_is_not_known_has_no_drawing(browser: Browser) -> None:
    build = make_build(browser)
    subsystem = stored(browser.post(f"/builds/{build}/subsystems", {"kind": "intake"}))
    address = f"/builds/{build}/subsystems/{subsystem}/designs"
    design = stored(browser.post(address, {"name": "Elbow", "start_port_id": "", "end_port_id": ""}))
    address = f"/builds/{build}/designs/{design}"
    assert browser.get_json(address)["speeds"] is None
    browser.post(
        f"{address}/pieces", {"kind": "tube", "outside_diameter": "80", "wall": "2", "length": "100"}
    )
    assert browser.get_json(address)["speeds"] is None, "there is no engine sheet"
    assert "speed-title" not in browser.get(address).text
