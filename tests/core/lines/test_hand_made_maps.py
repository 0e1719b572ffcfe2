"""Some forty line maps drawn by hand, right ones and ones with a single fault, each answered exactly.

What each must answer is reasoned from how the car works, beside it; source: common practice, no source.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import pytest

from server.core.lines.ledger import Closing, Device, Medium, MeterPlace
from server.core.lines.register import RULES, answer
from server.core.lines.rules.rule import Word
from server.core.lines.states import RUNNING, Kind, State
from tests.line_maps import Sketch, right_car

S = State
UNDER_VACUUM = frozenset({S.CRANKING, S.IDLE, S.CRUISE, S.LIFT_OFF, S.OVER_RUN, S.COLD_START})
BOOST, LIFT_OFF, RUN = frozenset({S.BOOST}), frozenset({S.LIFT_OFF}), frozenset(RUNNING)
READ = RUN | {S.CRANKING}


@dataclass(frozen=True)
class Drawn:
    name: str
    car: Callable[[], Sketch]
    no_go: Mapping[str, frozenset[State]] = field(default_factory=dict)
    not_known: frozenset[str] = frozenset()


def changed(*changes: Callable[[Sketch], None]) -> Callable[[], Sketch]:
    def draw() -> Sketch:
        car = right_car()
        for change in changes:
            change(car)
        return car

    return draw


def no_meter() -> Sketch:
    """Fuelled by manifold pressure: bypass and breather into the open."""
    car = right_car(MeterPlace.NONE)
    car.move("bypass return hose", 1, "air")
    car.move("breather hose", 1, "air")
    return car


def counts_last() -> Sketch:
    """The meter between cooler and throttle: idle air from behind it, no vapour valve to the manifold."""
    car = right_car(MeterPlace.BEFORE_THROTTLE)
    car.space("metered charge", Kind.AFTER_METER)
    car.move("idle inlet hose", 0, "metered charge")
    car.delete("vapour hose")
    car.delete("vapour hose to manifold")
    return car


def counts_last_vented() -> Sketch:
    car = counts_last()
    car.move("bypass return hose", 1, "air")
    return car


def counts_last_wrong_tap() -> Sketch:
    car = counts_last()
    car.move("bypass inlet hose", 0, "metered charge")
    return car


def counts_last_with_vapour_valve() -> Sketch:
    """The breather draws from ahead of the meter, through the crankcase, into the manifold."""
    car = right_car(MeterPlace.BEFORE_THROTTLE)
    car.space("metered charge", Kind.AFTER_METER)
    car.move("idle inlet hose", 0, "metered charge")
    return car


def counts_last_idle_ahead() -> Sketch:
    car = counts_last()
    car.move("idle inlet hose", 0, "charge pipe")
    return car


def bled(outlet: str) -> Callable[[], Sketch]:
    """Boost let off by a two-way bleed solenoid behind a restrictor, in place of the three-way one."""

    def draw() -> Sketch:
        car = right_car()
        del car.valves["boost solenoid"]
        car.valve("restrictor", Device.RESTRICTOR, "solenoid rest", "solenoid common")
        car.valve("bleed solenoid", Device.BLEED, "solenoid common", "solenoid driven")
        car.move("gate vent hose", 1, outlet)
        return car

    return draw


def pump_fed_servo() -> Sketch:
    """A vacuum pump for the servo, the manifold's nipple capped."""
    car = right_car()
    car.space("vacuum pump", Kind.VACUUM_PUMP)
    car.move("servo vacuum hose", 1, "vacuum pump")
    return car


def heights(inlet: float | None, outlet: float | None) -> Callable[[Sketch], None]:
    def change(car: Sketch) -> None:
        for name, height in (("turbo coolant feed b", inlet), ("turbo coolant return a", outlet)):
            car.ports[name] = replace(car.ports[name], height=height)

    return change


def nipple(closing: Closing, reason: str = "", by: str = "") -> Callable[[Sketch], None]:
    def change(car: Sketch) -> None:
        was = car.ports["spare nipple"]
        car.ports["spare nipple"] = replace(was, closing=closing, reason=reason, by=by)

    return change


def oil_on_coolant(car: Sketch) -> None:
    car.move("heater feed", 0, "gallery")
    car.ports["heater feed a"] = replace(car.ports["heater feed a"], medium=Medium.OIL_FEED)


def soft_breather(car: Sketch) -> None:
    car.lines["breather hose"] = replace(car.lines["breather hose"], rating=353.15)


def unrated_breather(car: Sketch) -> None:
    car.lines["breather hose"] = replace(car.lines["breather hose"], rating=None)


def second_reader(car: Sketch) -> None:
    """A pressure sensor on its own tap of the charge pipe."""
    car.space("sensor", Kind.SENSOR)
    car.hose("sensor hose", "charge pipe", "sensor", Medium.CONTROL)


MANIFOLD_HOLE = UNDER_VACUUM | BOOST
LIFTED = {"bypass-return": LIFT_OFF, "metered-air": LIFT_OFF}
MAPS = (
    # Right ones.
    Drawn("everything fitted and right", right_car),
    Drawn("no meter, bypass and breather into the open", no_meter),
    Drawn("meter ahead of the throttle, bypass returned", counts_last),
    Drawn("meter ahead of the throttle, bypass into the open ahead of it", counts_last_vented),
    Drawn("bleed solenoid returned to the intake", bled("intake")),
    Drawn("servo on a vacuum pump", pump_fed_servo),
    Drawn("spare nipple removed, with reason and name",
          changed(nipple(Closing.REMOVED, "new manifold has none", "builder"))),
    Drawn("solenoid vented into the open: it never joins source and vent",
          changed(lambda car: car.move("gate vent hose", 1, "air"))),
    # The meter's air.
    Drawn("bypass into the open behind the meter",
          changed(lambda car: car.move("bypass return hose", 1, "air")), LIFTED),
    Drawn("bypass returned ahead of the meter",
          changed(lambda car: car.move("bypass return hose", 1, "before meter")), LIFTED),
    Drawn("meter ahead of the throttle, bypass takes what it counted", counts_last_wrong_tap,
          LIFTED),  # counted air goes back to the intake, which the meter never saw
    Drawn("meter ahead of the throttle, vapour valve draws from ahead of it", counts_last_with_vapour_valve,
          {"metered-air": UNDER_VACUUM}),
    Drawn("meter ahead of the throttle, idle air from ahead of it", counts_last_idle_ahead,
          {"metered-air": MANIFOLD_HOLE}),
    Drawn("crankcase breathes the open air while its valve draws",
          changed(lambda car: car.move("breather hose", 1, "air")), {"metered-air": UNDER_VACUUM}),
    Drawn("bleed solenoid into the open: out in boost, and as the throttle shuts", bled("air"),
          {"metered-air": BOOST | LIFT_OFF}),
    Drawn("nobody knows where the meter stands", lambda: right_car(None), {},
          frozenset({"metered-air", "bypass-return"})),
    # The bypass valve's signal.
    Drawn("bypass signal from ahead of the throttle: never opens",
          changed(lambda car: car.move("bypass signal hose", 0, "charge pipe")), {"bypass-return": LIFT_OFF}),
    Drawn("bypass signal hose gone and capped: pushed open under boost",
          changed(lambda car: car.delete("bypass signal hose")), {"bypass-return": BOOST}),
    # Servo, crankcase, canister.
    Drawn("servo valve turned", changed(lambda car: car.turn("servo valve")),
          {"servo-vacuum": BOOST | {S.IDLE}}),
    Drawn("servo valve left out", changed(lambda car: car.straight("servo valve")), {"servo-vacuum": BOOST}),
    Drawn("nobody blew through the servo valve", changed(lambda car: car.turn("servo valve", None)), {},
          frozenset({"servo-vacuum"})),
    Drawn("servo ahead of the throttle", changed(lambda car: car.move("servo vacuum hose", 1, "charge pipe")),
          {"servo-vacuum": frozenset({S.IDLE})}),
    Drawn("vapour valve turned", changed(lambda car: car.turn("vapour valve")),
          {"crankcase-boost": BOOST, "breather-way": BOOST | {S.IDLE}}),
    Drawn("vapour valve left out", changed(lambda car: car.straight("vapour valve")),
          {"crankcase-boost": BOOST}),
    Drawn("breather gone: the vapour valve alone is shut in boost",
          changed(lambda car: car.delete("breather hose")), {"crankcase-vent": BOOST}),
    Drawn("purge check turned", changed(lambda car: car.turn("purge check")),
          {"purge-way": BOOST | {S.IDLE, S.CRUISE}, "metered-air": BOOST}),
    Drawn("purge check left out", changed(lambda car: car.straight("purge check")),
          {"purge-way": BOOST, "metered-air": BOOST}),
    Drawn("purge ahead of the throttle: a reading decides",
          changed(lambda car: car.move("purge hose to manifold", 1, "charge pipe")), {},
          frozenset({"purge-way"})),
    # Boost control and what reads the manifold.
    Drawn("gate's source behind the throttle",
          changed(lambda car: car.move("gate source hose", 0, "manifold")),
          {"boost-source": BOOST}),
    Drawn("gauge teed into the gate's hose",
          changed(lambda car: car.move("gauge hose", 0, "solenoid common")),
          {"boost-not-shared": BOOST, "gauge-side": READ}),
    Drawn("no over-boost cut", lambda: right_car(cut=False), {"boost-fails-safe": BOOST}),
    Drawn("nobody proved the over-boost cut", lambda: right_car(cut=None), {},
          frozenset({"boost-fails-safe"})),
    Drawn("regulator ahead of the throttle",
          changed(lambda car: car.move("regulator hose", 0, "charge pipe")), {"regulator-side": READ}),
    Drawn("pressure sensor ahead of the throttle", changed(second_reader), {"gauge-side": READ}),
    # Circuits.
    Drawn("oil feed and drain crossed", changed(lambda car: car.swap_ends("oil feed", "oil drain")),
          {"oil-feed": RUN, "oil-drain": RUN}),
    Drawn("oil drain capped", changed(lambda car: car.delete("oil drain")), {"oil-drain": RUN}),
    Drawn("both turbo coolant hoses on one side of the pump",
          changed(lambda car: car.move("turbo coolant return", 1, "pump outlet")), {"coolant-circuit": RUN}),
    Drawn("fuel return capped", changed(lambda car: car.delete("fuel return hose")), {"fuel-circuit": RUN}),
    Drawn("coolant outlet below its inlet", changed(heights(0.66, 0.60)),
          {"thermosiphon": frozenset({S.HOT_SOAK})}),
    Drawn("coolant ports not read", changed(heights(None, 0.66)), {}, frozenset({"thermosiphon"})),
    # Ends.
    Drawn("spare nipple open", changed(nipple(Closing.OPEN)),
          {"open-end": frozenset(), "metered-air": MANIFOLD_HOLE}),
    Drawn("spare nipple removed, nobody says why", changed(nipple(Closing.REMOVED)),
          {"open-end": frozenset(), "metered-air": MANIFOLD_HOLE}),
    Drawn("heater hose on the oil gallery", changed(oil_on_coolant),
          {"same-fluid": frozenset(), "coolant-circuit": RUN}),
    Drawn("breather hose made for 80 °C", changed(soft_breather),
          {"hot-rating": frozenset({S.BOOST, S.HOT_SOAK})}),
    Drawn("breather hose without a rating", changed(unrated_breather), {}, frozenset({"hot-rating"})),
)  # fmt: skip


@pytest.mark.parametrize("drawn", MAPS, ids=lambda drawn: drawn.name)
def test_a_hand_made_map_is_answered_exactly(drawn: Drawn) -> None:
    answers = answer(drawn.car().map())
    assert {one.rule.code: one.states for one in answers if one.word is Word.NO_GO} == dict(drawn.no_go)
    assert {one.rule.code for one in answers if one.word is Word.NOT_KNOWN} == drawn.not_known


def test_every_rule_is_broken_by_one_of_the_maps_and_kept_by_the_right_car() -> None:
    codes = {rule.code for rule in RULES}
    assert {code for drawn in MAPS for code in drawn.no_go} == codes
    assert {one.rule.code for one in answer(right_car().map()) if one.word is Word.GO} == codes


def test_what_is_broken_says_its_cure_and_what_is_not_known_says_what_decides() -> None:
    for drawn in MAPS:
        for one in answer(drawn.car().map()):
            for finding in one.findings:
                told = {Word.GO: True, Word.NO_GO: finding.cure, Word.NOT_KNOWN: finding.settles}
                assert told[finding.word], f"{drawn.name}: {one.rule.code} leaves the builder alone"
