"""May this line go? The right car's lines, answered as an experienced builder would.

Source: common practice, no source.
"""

from dataclasses import replace

import pytest

from server.core.lines.delete import Deletion, May, may_delete
from server.core.lines.ledger import Closing, Medium
from server.core.lines.register import answer
from server.core.lines.states import Kind
from tests.line_maps import Sketch, right_car

CAR = right_car()


def asked(name: str, car: Sketch = CAR) -> Deletion:
    return may_delete(car.map(), car.lines[name].id)


@pytest.mark.parametrize(
    "name",
    ["servo hose", "breather hose", "tank vapour hose", "purge hose", "gate source hose", "gate hose",
     "regulator hose", "oil feed", "oil drain", "fuel feed", "fuel return hose"],
)  # fmt: skip
def test_a_line_whose_loss_can_hurt_may_not_go(name: str) -> None:
    told = asked(name)
    assert told.may is May.NO
    assert told.stops


def test_the_breather_may_not_go_though_its_ports_are_capped_and_the_law_cares() -> None:
    told = asked("breather hose")
    assert [one.rule.code for one in told.capped] == ["crankcase-vent"]
    assert [one.rule.code for one in told.left_open] == ["open-end", "metered-air"]
    assert "local rules decide" in told.law


def test_the_vapour_valve_s_hose_is_asked_about_first_the_breather_does_its_work() -> None:
    told = asked("vapour hose to manifold")
    assert told.may is May.ASK
    assert told.capped == ()
    assert "emission part" in told.law


def test_the_solenoid_s_vent_leaves_the_actuator_its_boost() -> None:
    told = asked("gate vent hose")
    assert told.stops == ("The control unit no longer steers boost.",)
    assert "limp mode" in told.unit
    assert told.capped == ()


def test_secondary_air_breaks_no_rule_but_control_unit_and_law_ask_for_it() -> None:
    told = asked("secondary air hose")
    assert told.capped == ()
    assert told.may is May.ASK
    assert "cold start" in told.unit
    assert told.law


def test_a_hose_to_nowhere_may_go_with_its_port_capped() -> None:
    car = right_car()
    car.space("old fitting")
    car.hose("leftover hose", "manifold", "old fitting", Medium.VACUUM)
    told = asked("leftover hose", car)
    assert told.may is May.YES
    assert told.stops == ()
    assert [plug.port.name for plug in told.plugs] == ["leftover hose a", "leftover hose b"]
    assert "boost" in told.plugs[0].with_what


def test_a_gauge_that_hangs_on_another_s_hose_goes_without_harm_to_the_other() -> None:
    car = right_car()
    car.space("tee")
    car.space("second gauge", Kind.GAUGE)
    car.move("gauge hose", 0, "tee")
    car.hose("tee hose", "manifold", "tee", Medium.CONTROL)
    car.hose("second gauge hose", "tee", "second gauge", Medium.CONTROL)
    told = asked("second gauge hose", car)
    assert told.stops == ("The boost gauge reads nothing.",)
    assert [one.finding.phrase.words["name"] for one in told.capped] == ["second gauge"]


def test_every_plug_suits_what_the_port_holds() -> None:
    plugs = {
        name: asked(name).plugs
        for name in ("oil feed", "fuel feed", "heater feed", "solenoid wire", "air pipe")
    }
    words = {name: plug[-1].with_what for name, plug in plugs.items()}
    assert "sealing washer" in words["oil feed"]
    assert "fuel line pressure" in words["fuel feed"]
    assert "bleed" in words["heater feed"]
    assert "sealed" in words["solenoid wire"]
    assert "rubber" in words["air pipe"]


@pytest.mark.parametrize(
    ("kind", "closing", "asked_about"),
    [
        (Kind.GAUGE, Closing.CAPPED, True),
        (Kind.GAUGE, Closing.REMOVED, False),
        (Kind.SENSOR, Closing.REMOVED, True),
    ],
)
def test_a_gauge_given_up_with_a_reason_is_not_asked_about(
    kind: Kind, closing: Closing, asked_about: bool
) -> None:
    """A capped gauge is blind and looked at; a removed one is not looked at; a sensor's reading is used.

    Common practice, no source.
    """
    car = right_car()
    car.space("second reader", kind)
    number = car.port("second reader nipple", "second reader", Medium.CONTROL, closing)
    port = car.ports["second reader nipple"]
    car.ports["second reader nipple"] = replace(port, reason="taken off the dash", by="builder")
    found = [one for told in answer(car.map()) for one in told.findings if told.rule.code == "gauge-side"]
    assert number == port.id
    assert (f"region.{port.region}" in {one.item for one in found}) is asked_about
