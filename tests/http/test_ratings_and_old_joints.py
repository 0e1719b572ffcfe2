"""Typed beside a piece or joint: a hose's table by its maker, the wrap of a hot pipe, the joint before."""

from typing import Any

import pytest

from tests.asking import Browser
from tests.http.intake_build import IntakeBuild, stored
from tests.http.test_designs_pieces import COUPLER_PIECE, FIRST_TUBE, editor, resent
from tests.http.test_figures import checks


def test_a_maker_s_table_is_kept_as_typed(intake: IntakeBuild) -> None:
    hose = intake.pieces[COUPLER_PIECE]
    table = "20 °C; 6 bar\n212 °F; 58 psi"
    assert intake.post(f"/pieces/{hose}", **resent(editor(intake, hose), ratings=table)).status_code == 303
    more = editor(intake, hose)["more"]
    assert more["ratings"].splitlines() == table.splitlines()
    assert "maker's table" in more["words"]
    intake.post(f"/pieces/{hose}", **resent(editor(intake, hose), ratings=""))
    assert editor(intake, hose)["more"]["ratings"] == ""


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("20 °C; 6 bar\n100 °C", "Row 2: “100 °C” has 1 of 2 figures."),
        ("20 bar; 6 bar", "Row 1: "),
        ("20 °C; -6 bar", "Row 1: "),
        ("20 °C; 0 bar", "A working pressure is above zero."),
        ("100 °C; 6 bar\n20 °C; 4 bar", "The temperatures rise from point to point."),
        ("20 °C; 4 bar\n100 °C; 6 bar", "No hose stands more pressure when it is hotter"),
        ("warm; strong", "Row 1: "),
        ("\n".join(["20 °C; 6 bar"] * 41), "has 41 rows"),
    ],
)
def test_a_table_that_can_t_be_one_is_told_and_stays_as_typed(
    intake: IntakeBuild, table: str, message: str
) -> None:
    hose = intake.pieces[COUPLER_PIECE]
    refused = intake.post(f"/pieces/{hose}", **resent(editor(intake, hose), ratings=table))
    assert refused.status_code == 422
    text = refused.text.replace("&#39;", "'")
    assert message in text
    assert table.splitlines()[0] in text
    assert editor(intake, hose)["more"]["ratings"] == ""


@pytest.mark.parametrize("wrap", ["-1", "80", "2 kg", "thick"])
def test_a_wrap_has_a_thickness_that_wrap_can_have(intake: IntakeBuild, wrap: str) -> None:
    tube = intake.pieces[FIRST_TUBE]
    assert intake.post(f"/pieces/{tube}", **resent(editor(intake, tube), wrap=wrap)).status_code == 422
    intake.post(f"/pieces/{tube}", **resent(editor(intake, tube), wrap="1/16 in"))
    assert (editor(intake, tube)["more"]["wrap"], editor(intake, tube)["more"]["words"]) == (
        "1/16 in",
        "wrapped",
    )


def joint_of(intake: IntakeBuild) -> dict[str, Any]:
    found: dict[str, Any] = editor(intake, intake.pieces[COUPLER_PIECE])["joints"][1]
    return found


def test_what_the_old_joint_was_is_kept_as_typed(intake: IntakeBuild) -> None:
    joint = joint_of(intake)
    old = {"kind": joint["kind"], "version": str(joint["version"])}
    old |= {"old_diameter": "2 1/2 in", "old_pressure": "0.7 bar"}
    assert intake.post(f"/joints/{joint['id']}", **old).status_code == 303
    sizes = {size["name"]: size["text"] for size in joint_of(intake)["sizes"]}
    assert (sizes["old_diameter"], sizes["old_pressure"]) == ("2 1/2 in", "0.7 bar")


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"old_diameter": "63.5"}, "Joint before: pressure it held is missing."),
        ({"old_pressure": "0.7 bar"}, "Joint before: tube outside is missing."),
        ({"old_diameter": "-5", "old_pressure": "1 bar"}, "Joint before: tube outside: -5 is out of range."),
        ({"old_diameter": "63.5", "old_pressure": "1 kg"}, "Joint before: pressure it held: "),
    ],
)
def test_half_an_old_joint_and_a_wrong_unit_are_told(
    intake: IntakeBuild, fields: dict[str, str], message: str
) -> None:
    joint = joint_of(intake)
    sent = {"kind": joint["kind"], "version": str(joint["version"]), **fields}
    refused = intake.post(f"/joints/{joint['id']}", **sent)
    assert refused.status_code == 422
    assert message in refused.text


DRAIN = {
    "drain.bore": "19",
    "drain.fall": "180",
    "drain.length": "300",
    "drain.downhill": "yes",
    "drain.above": "yes",
    "drain.froth": "1.5",
    "drain.grade": "40",
}
FEED = {"oil.bearing": "ball", "oil.restrictor": "yes", "oil.restrictor_bore": "1.0", "oil.pressure": "4 bar"}


def test_the_drain_takes_its_flow_from_the_feed_s_sheet(demo: Browser) -> None:
    subsystems = demo.get_json("/builds/1/subsystems")["subsystems"]
    feed, drain = (
        f"{next(one['href'] for one in subsystems if one['name'] == name)}/figures"
        for name in ("Oil feed", "Oil drain")
    )
    demo.post(drain, DRAIN | {"version": str(demo.get_json(drain)["version"])})
    assert checks(demo, drain)["drain-bore"]["verdict"]["word"] == "not measured"
    demo.post(feed, FEED | {"version": str(demo.get_json(feed)["version"])})
    line = checks(demo, drain)["drain-bore"]
    assert line["verdict"]["word"] != "not measured"
    assert "as its feed's restrictor lets through" in line["why"]
    fields = {one["key"]: one["value"] for one in demo.get_json(drain)["fields"]}
    assert fields["drain.flow"] == "", "what comes from elsewhere is not typed here"
    typed = DRAIN | {"version": str(demo.get_json(drain)["version"]), "drain.flow": "1.2 l/min"}
    demo.post(drain, typed)
    assert "restrictor" not in checks(demo, drain)["drain-bore"]["why"]


def test_a_drawn_coolant_hose_is_rated_on_its_piece_or_on_the_sheet(demo: Browser) -> None:
    subsystem = demo.post("/builds/1/subsystems", {"name": "Turbo water", "kind": "coolant"})
    address = str(subsystem.headers["location"])
    demo.post(f"{address}/figures", {"version": "0", "coolant.cap": "1.1 bar"})
    design = f"/builds/1/designs/{stored(demo.post(f'{address}/designs', {'name': 'Hose'}))}"
    hose = {"kind": "hose", "bore": "16", "wall": "4", "length": "400", "material": "EPDM"}
    demo.post(f"{design}/pieces", hose | {"ratings": "20 °C; 6 bar\n130 °C; 3 bar"})
    page = demo.get_json(design)
    line = next(one for one in page["open_checks"] + page["passed_checks"] if one["code"] == "coolant-rating")
    assert line["verdict"]["word"] == "go"
