"""Hoses, pipes and wires under the bonnet, written down as they came off; some are not closed again yet."""

from typing import NamedTuple

from seed_demo.hand import Hand, typed
from server.core.first_start.holds import FIRST
from server.core.lines.ledger import Device, Medium
from server.core.lines.states import Kind
from server.features.connecting import service as connecting
from server.features.first_start import service as first_start
from server.features.ledger.page import Way

WORM, SPRING, BANJO = "worm-drive clamp", "spring clamp", "banjo bolt, new washers"

SPACES: tuple[tuple[str, Kind], ...] = (
    ("open air", Kind.ATMOSPHERE),
    ("filter box", Kind.BEFORE_METER),
    ("intake", Kind.INTAKE),
    ("charge pipe", Kind.CHARGE),
    ("manifold", Kind.MANIFOLD),
    ("crankcase", Kind.CRANKCASE),
    ("exhaust", Kind.EXHAUST),
    ("canister", Kind.CANISTER),
    ("tank", Kind.TANK),
    ("servo", Kind.SERVO),
    ("actuator", Kind.ACTUATOR),
    ("gauge", Kind.GAUGE),
    ("regulator", Kind.REGULATOR),
    ("bypass cap", Kind.BYPASS_TOP),
    ("oil gallery", Kind.OIL_GALLERY),
    ("sump", Kind.SUMP),
    ("water pump outlet", Kind.PUMP_OUT),
    ("water pump suction", Kind.PUMP_IN),
    ("fuel filter", Kind.FUEL_SUPPLY),
    ("fuel return", Kind.FUEL_RETURN),
    ("loom", Kind.HARNESS),
    ("solenoid plug", Kind.PLUG),
)
JUNCTIONS = (
    "servo valve inlet", "servo valve outlet", "vapour valve inlet", "vapour valve outlet",
    "purge valve inlet", "purge valve outlet", "purge check inlet", "purge check outlet", "solenoid common",
    "solenoid rest", "solenoid driven", "bypass inlet", "bypass outlet", "idle valve inlet",
    "idle valve outlet", "turbo oil inlet", "turbo oil outlet", "turbo water inlet", "turbo water outlet",
    "heater inlet", "heater outlet", "rail inlet", "rail outlet",
)  # fmt: skip


class Joined(NamedTuple):
    """A line and the two spaces that its points open into. on: whether its second end is still on."""

    name: str
    medium: Medium
    one: str
    other: str
    size: str
    clamp: str
    rating: str = "200 °C"
    kind: str = "hose"
    on: bool = True


M = Medium
LINES = (
    Joined("Servo hose", M.VACUUM, "servo", "servo valve inlet", "10", SPRING, "125 °C"),
    Joined("Servo vacuum hose", M.VACUUM, "servo valve outlet", "manifold", "10", SPRING, "125 °C"),
    Joined("Vapour hose", M.CRANKCASE_VAPOUR, "crankcase", "vapour valve inlet", "16", SPRING),
    Joined("Vapour hose to manifold", M.CRANKCASE_VAPOUR, "vapour valve outlet", "manifold", "10", SPRING),
    Joined("Breather hose", M.CRANKCASE_VAPOUR, "crankcase", "intake", "19", WORM),
    Joined("Tank vapour hose", M.FUEL_VAPOUR, "tank", "canister", "8", SPRING, "125 °C"),
    Joined("Canister hose", M.FUEL_VAPOUR, "canister", "purge valve inlet", "8", SPRING, "125 °C"),
    Joined("Purge hose", M.FUEL_VAPOUR, "purge valve outlet", "purge check inlet", "6", SPRING, "125 °C"),
    Joined("Purge hose to manifold", M.FUEL_VAPOUR, "purge check outlet", "manifold", "6", SPRING, "125 °C"),
    Joined("Bypass inlet hose", M.BOOST, "charge pipe", "bypass inlet", "25", WORM),
    Joined("Bypass return hose", M.METERED_AIR, "bypass outlet", "intake", "25", WORM),
    Joined("Bypass signal hose", M.CONTROL, "manifold", "bypass cap", "4", "push-on, tied"),
    Joined("Idle inlet hose", M.METERED_AIR, "charge pipe", "idle valve inlet", "19", WORM),
    Joined("Idle outlet hose", M.METERED_AIR, "idle valve outlet", "manifold", "19", WORM),
    Joined("Gate source hose", M.CONTROL, "charge pipe", "solenoid rest", "4", "spring band"),
    Joined("Gate hose", M.CONTROL, "solenoid common", "actuator", "4", "spring band", on=False),
    Joined("Gate vent hose", M.CONTROL, "solenoid driven", "intake", "4", "spring band"),
    Joined("Solenoid wire", M.ELECTRICAL, "loom", "solenoid plug", "", "", "", "wire"),
    Joined("Regulator hose", M.CONTROL, "manifold", "regulator", "4", "spring band"),
    Joined("Gauge hose", M.CONTROL, "manifold", "gauge", "3", "push-on, tied"),
    Joined("Oil feed", M.OIL_FEED, "oil gallery", "turbo oil inlet", "4", BANJO, "230 °C"),
    Joined("Oil drain", M.OIL_DRAIN, "turbo oil outlet", "sump", "16", WORM, "", on=False),
    Joined("Turbo coolant feed", M.COOLANT, "water pump outlet", "turbo water inlet", "10", BANJO),
    Joined("Turbo coolant return", M.COOLANT, "turbo water outlet", "water pump suction", "10", BANJO),
    Joined("Heater feed", M.COOLANT, "water pump outlet", "heater inlet", "16", WORM, "150 °C"),
    Joined("Heater return", M.COOLANT, "heater outlet", "water pump suction", "16", WORM, "150 °C"),
    Joined("Throttle warming hose", M.COOLANT, "water pump outlet", "water pump suction", "8", SPRING),
    Joined("Fuel feed", M.FUEL, "fuel filter", "rail inlet", "8", "fuel-injection clamp", "125 °C"),
    Joined("Fuel return hose", M.FUEL, "rail outlet", "fuel return", "8", "fuel-injection clamp", "125 °C"),
)
HEIGHTS = {"Turbo coolant feed, turbo water inlet": "600", "Turbo coolant return, turbo water outlet": "660"}
DEVICES: tuple[tuple[Device, str, tuple[str, ...], str, str], ...] = (
    (Device.CHECK, "Servo valve", ("servo valve inlet", "servo valve outlet"), Way.AS_DRAWN, ""),
    (Device.CHECK, "Vapour valve", ("vapour valve inlet", "vapour valve outlet"), "", ""),
    (Device.PURGE, "Purge valve", ("purge valve inlet", "purge valve outlet"), Way.AS_DRAWN, ""),
    (Device.CHECK, "Purge check", ("purge check inlet", "purge check outlet"), Way.TURNED, ""),
    (Device.BYPASS, "Bypass valve", ("bypass inlet", "bypass outlet"), Way.AS_DRAWN, "bypass cap"),
    (Device.IDLE_VALVE, "Idle valve", ("idle valve inlet", "idle valve outlet"), Way.AS_DRAWN, ""),
    (
        Device.THREE_WAY,
        "Boost solenoid",
        ("solenoid common", "solenoid rest", "solenoid driven"),
        Way.AS_DRAWN,
        "solenoid plug",
    ),
    (Device.BEARING, "Turbo bearings", ("turbo oil inlet", "turbo oil outlet"), Way.AS_DRAWN, ""),
    (Device.JACKET, "Turbo water jacket", ("turbo water inlet", "turbo water outlet"), Way.AS_DRAWN, ""),
    (Device.HEATER, "Heater", ("heater inlet", "heater outlet"), Way.AS_DRAWN, ""),
    (Device.RAIL, "Rail", ("rail inlet", "rail outlet"), Way.AS_DRAWN, ""),
)


def write_down(hand: Hand) -> None:
    """Spaces, points, lines and valves, in the order in which the form asks for them."""
    spaces = {name: _enter(hand, "space", name=name, kind=kind.value) for name, kind in SPACES}
    spaces |= {name: _enter(hand, "space", name=name, kind=Kind.JUNCTION.value) for name in JUNCTIONS}
    numbers = {line.name: _line(hand, tag, line, spaces) for tag, line in enumerate(LINES, 1)}
    spare = typed(name="Manifold, spare nipple", medium=M.VACUUM.value, closing="capped")
    _enter(hand, "point", space_id=str(spaces["manifold"]), reason="Fed the old idle motor", **spare)
    for kind, name, sides, way, signal in DEVICES:
        places = zip(("first_id", "second_id", "third_id"), sides, strict=False)
        fields = {field: str(spaces[side]) for field, side in places}
        fields |= {"signal_id": str(spaces[signal])} if signal else {}
        _enter(hand, "device", kind=kind.value, name=name, way=str(way), **fields)
    out = typed(version="1", closing="capped", reason="The throttle needs no warming here.")
    ids = (hand.build_id, numbers["Throttle warming hose"])
    connecting.take_out(hand.session, *ids, out, hand.moment(-3), "builder")
    closed = [numbers[line.name] for line in LINES if line.on and line.name != "Throttle warming hose"]
    for days, by, looked_at in ((-2, "builder", closed[:14]), (-1, "Jo", closed[:6])):
        states = first_start.states_of(hand.session, hand.build_id)
        ticked = {f"look.line.{number}": states[f"line.{number}"] for number in looked_at}
        first_start.look(hand.session, hand.build_id, FIRST, {"by": by, **ticked}, hand.moment(days))


def _line(hand: Hand, tag: int, line: Joined, spaces: dict[str, int]) -> int:
    """A line with its two points, as it was found; then, where that is so, with its second end off."""
    fields = {"size": line.size, "clamp": line.clamp, "rating": line.rating, "kind": line.kind}
    fields |= {"name": line.name, "medium": line.medium.value, "tag": str(tag)}
    for field, space in (("first_id", line.one), ("second_id", line.other)):
        name = f"{line.name}, {space}"
        place = {"name": name, "space_id": str(spaces[space]), "height": HEIGHTS.get(name, "")}
        fields[field] = str(_enter(hand, "point", medium=line.medium.value, **place))
    number = _enter(hand, "line", **fields)
    if not line.on:
        off = fields | {"second_id": "", "version": "1"}
        connecting.edit_entry(hand.session, hand.build_id, "line", number, off, hand.moment(-3), "builder")
    return number


def _enter(hand: Hand, sort: str, **fields: str) -> int:
    return connecting.add_entry(hand.session, hand.build_id, sort, fields, "builder")
