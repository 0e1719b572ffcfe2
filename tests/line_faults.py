"""Changes to a right line map, each saying beforehand which rules it breaks, in which states.

What each breaks is written down from how the car works, before any map is solved: what a line joins tells
what is open to the air when it comes off, and what no longer gets what it needs. Two sums of those make
most of the list.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from server.core.lines.ledger import Closing, LineKind, Medium
from server.core.lines.register import answer
from server.core.lines.rules.rule import Word
from server.core.lines.states import RUNNING, State
from tests.line_maps import Change, Sketch

S = State
IN = frozenset({S.CRANKING, S.IDLE, S.CRUISE, S.LIFT_OFF, S.OVER_RUN, S.COLD_START})
"""States in which the manifold stands below the open air, so that a hole there lets air in."""
BOTH_WAYS = IN | {S.BOOST}
"""A hole in the manifold, or in what hangs on it: in under vacuum, out under boost."""
OUT = frozenset({S.BOOST, S.LIFT_OFF})
"""States in which the charge pipe surely stands above the open air."""
SUCKED = BOTH_WAYS - {S.LIFT_OFF}
"""States in which the intake ahead of the compressor surely stands below the open air."""
READ = frozenset({S.CRANKING, *RUNNING})
RUN = frozenset(RUNNING)

States = frozenset[State]
Breaks = Mapping[str, States]
NOWHERE: States = frozenset()


@dataclass(frozen=True)
class Fault:
    """A change, and what it does: rules broken in which states, rules no longer answered."""

    name: str
    change: Change
    breaks: Breaks = field(default_factory=dict)
    unknown: frozenset[str] = frozenset()


Needed = tuple[str, Fault]
"""A fault, and the line or valve that a car must have for it."""

LEAKS: Mapping[str, States] = {
    "servo hose": IN,
    "servo vacuum hose": BOTH_WAYS,
    "vapour hose": BOTH_WAYS,  # into the manifold by its valve, into the intake by the crankcase
    "vapour hose to manifold": BOTH_WAYS,
    "breather hose": BOTH_WAYS,  # into the intake, and by the crankcase and its valve into the manifold
    "canister hose": frozenset({S.IDLE, S.CRUISE, S.LIFT_OFF, S.OVER_RUN}),  # where the purge valve may open
    "purge hose": IN,
    "purge hose to manifold": BOTH_WAYS,
    # Out of the charge pipe; and in by the valve, which now sees the open air, where the manifold lifts it.
    "bypass inlet hose": OUT | {S.IDLE, S.OVER_RUN, S.COLD_START},
    "bypass return hose": SUCKED | {S.LIFT_OFF},
    "bypass signal hose": BOTH_WAYS,
    "idle inlet hose": BOTH_WAYS,
    "idle outlet hose": BOTH_WAYS,
    "gate source hose": OUT,
    "gate hose": OUT | {S.CRUISE},  # out at rest, into the vent hose when the solenoid is driven
    "gate vent hose": SUCKED,
    "regulator hose": BOTH_WAYS,
    "gauge hose": BOTH_WAYS,
}
"""When counted air is lost or gained with both ends of a line open."""

LOSES: Mapping[str, Breaks] = {
    "servo hose": {"servo-vacuum": frozenset({S.IDLE})},
    "servo vacuum hose": {"servo-vacuum": frozenset({S.IDLE})},
    "canister hose": {"purge-way": frozenset({S.IDLE, S.CRUISE})},
    "purge hose": {"purge-way": frozenset({S.IDLE, S.CRUISE})},
    "purge hose to manifold": {"purge-way": frozenset({S.IDLE, S.CRUISE})},
    "bypass inlet hose": {"bypass-return": frozenset({S.LIFT_OFF})},
    "bypass return hose": {"bypass-return": frozenset({S.LIFT_OFF})},
    "bypass signal hose": {"bypass-return": frozenset({S.BOOST})},
    "gate source hose": {"boost-source": frozenset({S.BOOST})},
    "gate hose": {"boost-source": frozenset({S.BOOST})},
    "regulator hose": {"regulator-side": READ},
    "gauge hose": {"gauge-side": READ},
    "tank vapour hose": {"purge-way": NOWHERE},
    "fuel feed": {"fuel-circuit": RUN},
    "fuel return hose": {"fuel-circuit": RUN},
    "oil feed": {"oil-feed": RUN},
    "oil drain": {"oil-drain": RUN},
    "turbo coolant feed": {"coolant-circuit": RUN},
    "turbo coolant return": {"coolant-circuit": RUN},
    "heater feed": {"coolant-circuit": RUN},
    "heater return": {"coolant-circuit": RUN},
}
"""What no longer gets what it needs when a line is gone, however its ports are closed."""


NOT_HOT = frozenset({"servo hose", "air pump outlet hose"})
"""Lines at whose ends, and upstream of which, no space has a usual heat."""


def faults(car: Sketch) -> Iterator[Fault]:
    """Every change that fits a car."""
    for name in car.lines:
        yield from _of_line(name, car.lines[name].kind)
    yield from (fault for needs, fault in (*_TAPS, *_VALVES) if needs in car.lines or needs in car.valves)


def _of_line(name: str, kind: LineKind) -> Iterator[Fault]:
    leaks = {"metered-air": LEAKS[name]} if name in LEAKS else {}
    off = {"open-end": NOWHERE, **leaks, **LOSES.get(name, {})}
    yield Fault(f"{name} lost", lambda car: car.pull(name), off)
    yield Fault(f"{name} off at its first end", lambda car: car.loosen(name, 0), off)
    yield Fault(f"{name} off at its second end", lambda car: car.loosen(name, 1), off)
    capped = dict(LOSES.get(name, {}))
    if name == "breather hose":  # with its port open the crankcase breathes; capped it does not
        capped["crankcase-vent"] = frozenset({S.BOOST})
    yield Fault(f"{name} taken out, ports capped", lambda car: car.delete(name), capped)
    yield Fault(f"{name} cut and joined again", lambda car: _joined(car, name))
    yield Fault(f"{name} end for end", lambda car: _end_for_end(car, name))
    if kind is not LineKind.WIRE and name not in NOT_HOT:
        low = {"hot-rating": frozenset({S.BOOST, S.HOT_SOAK})}
        yield Fault(f"{name} made for 70 °C", lambda car: _rated(car, name, 343.15), low)


def _joined(car: Sketch, name: str) -> None:
    """A hose cut, its halves pushed over a joiner: nothing changes."""
    line = car.lines[name]
    car.space(f"{name} joiner")
    one, other = (car.port(f"{name} joiner {end}", f"{name} joiner", line.medium) for end in "ab")
    half = replace(line, id=one + 10_000, ends=(other, line.ends[1]))
    car.lines[name] = replace(line, ends=(line.ends[0], one))
    car.lines[f"{name} second half"] = half


def _end_for_end(car: Sketch, name: str) -> None:
    one, other = car.lines[name].ends
    car.lines[name] = replace(car.lines[name], ends=(other, one))


def _rated(car: Sketch, name: str, rating: float) -> None:
    car.lines[name] = replace(car.lines[name], rating=rating)


def _moved(line: str, end: int, space: str, breaks: Breaks, unknown: tuple[str, ...] = ()) -> Needed:
    name = f"{line} moved to the {space}"
    return line, Fault(name, lambda car: car.move(line, end, space), breaks, frozenset(unknown))


_LIFT, _BOOST = frozenset({S.LIFT_OFF}), frozenset({S.BOOST})
BOOST_ONLY = _BOOST
_TAPS = (
    _moved("servo vacuum hose", 1, "charge pipe", {"servo-vacuum": frozenset({S.IDLE})}),
    _moved("servo vacuum hose", 1, "intake", {"servo-vacuum": frozenset({S.IDLE})}),
    _moved("regulator hose", 0, "charge pipe", {"regulator-side": READ}),
    _moved("regulator hose", 0, "intake", {"regulator-side": READ}),
    _moved("gauge hose", 0, "charge pipe", {"gauge-side": READ}),
    _moved("bypass signal hose", 0, "charge pipe", {"bypass-return": _LIFT}),
    _moved("bypass return hose", 1, "air", {"bypass-return": _LIFT, "metered-air": _LIFT}),
    _moved("bypass return hose", 1, "before meter", {"bypass-return": _LIFT, "metered-air": _LIFT}),
    _moved("gate source hose", 0, "manifold", {"boost-source": _BOOST}),
    _moved("gate source hose", 0, "intake", {"boost-source": _BOOST}),
    _moved("gate vent hose", 1, "air", {}),
    _moved("gate vent hose", 1, "before meter", {}),
    # Ahead of the throttle it may or may not stand below the canister at idle: only a reading says.
    _moved("purge hose to manifold", 1, "charge pipe", {}, ("purge-way",)),
    _moved("purge hose to manifold", 1, "intake", {}),
    _moved("breather hose", 1, "air", {"metered-air": IN}),
    _moved("breather hose", 1, "before meter", {"metered-air": IN}),
    _moved("breather hose", 1, "manifold", {"crankcase-boost": _BOOST, "crankcase-vent": _BOOST}),
    _moved("breather hose", 1, "charge pipe", {"crankcase-boost": OUT, "crankcase-vent": _BOOST}),
    _moved("idle inlet hose", 0, "before meter", {"metered-air": BOTH_WAYS}),
    _moved("idle inlet hose", 0, "intake", {}),
    _moved("secondary air hose", 0, "intake", {}),
    _moved("gauge hose", 0, "solenoid common", {"boost-not-shared": _BOOST, "gauge-side": READ}),
    _moved("regulator hose", 0, "solenoid rest", {"boost-not-shared": _BOOST, "regulator-side": READ}),
    _moved("turbo coolant return", 1, "pump outlet", {"coolant-circuit": RUN}),
    _moved("heater feed", 0, "pump suction", {"coolant-circuit": RUN}),
    _moved("oil drain", 1, "gallery", {"oil-drain": RUN}),
    _moved("oil feed", 0, "sump", {"oil-feed": RUN}),
)
"""A tap on the wrong space, and the few that are as right there."""

_VALVES = (
    ("servo valve", Fault("servo valve turned", lambda car: car.turn("servo valve"),
                          {"servo-vacuum": frozenset({S.IDLE, S.BOOST})})),
    ("servo valve", Fault("servo valve left out", lambda car: car.straight("servo valve"),
                          {"servo-vacuum": _BOOST})),
    ("servo valve", Fault("servo valve not looked at", lambda car: car.turn("servo valve", None), {},
                          frozenset({"servo-vacuum"}))),
    ("vapour valve", Fault("vapour valve turned", lambda car: car.turn("vapour valve"),
                           {"crankcase-boost": _BOOST, "breather-way": frozenset({S.IDLE, S.BOOST})})),
    ("vapour valve", Fault("vapour valve left out", lambda car: car.straight("vapour valve"),
                           {"crankcase-boost": _BOOST})),
    ("vapour valve", Fault("vapour valve not looked at", lambda car: car.turn("vapour valve", None), {},
                           frozenset({"crankcase-boost", "breather-way"}))),
    ("purge check", Fault("purge check turned", lambda car: car.turn("purge check"),
                          {"purge-way": frozenset({S.IDLE, S.CRUISE, S.BOOST}), "metered-air": _BOOST})),
    ("purge check", Fault("purge check left out", lambda car: car.straight("purge check"),
                          {"purge-way": _BOOST, "metered-air": _BOOST})),
    ("purge check", Fault("purge check not looked at", lambda car: car.turn("purge check", None), {},
                          frozenset({"purge-way", "metered-air"}))),
    ("turbo bearings", Fault("oil feed and drain crossed", lambda car: car.swap_ends("oil feed", "oil drain"),
                             {"oil-feed": RUN, "oil-drain": RUN})),
    ("heater", Fault("heater hose on the oil gallery", lambda car: _on_gallery(car),
                     {"same-fluid": NOWHERE, "coolant-circuit": RUN})),
    # Plumbed the other way round it leaves no limit with its plug off; the proved cut stands for it.
    ("boost solenoid", Fault("boost solenoid the other way round", lambda car: car.turn("boost solenoid"))),
    ("idle valve", Fault("a nipple added and capped", lambda car: _capped(car))),
)  # fmt: skip
"""What goes wrong at valves and circuits."""


def _on_gallery(car: Sketch) -> None:
    car.move("heater feed", 0, "gallery")
    car.ports["heater feed a"] = replace(car.ports["heater feed a"], medium=Medium.OIL_FEED)


def _capped(car: Sketch) -> None:
    car.port("another nipple", "manifold", Medium.VACUUM, Closing.CAPPED)


def wrongly_answered(car: Sketch, fault: Fault) -> str:
    """What a changed car is answered that was not said beforehand; empty where all is as said."""
    answers = answer(car.map())
    broken = {one.rule.code: one.states for one in answers if one.word is Word.NO_GO}
    unknown = {one.rule.code for one in answers if one.word is Word.NOT_KNOWN}
    if broken == dict(fault.breaks) and unknown == fault.unknown:
        return ""
    wrong = {code for code in {*broken, *fault.breaks} if broken.get(code) != fault.breaks.get(code)}
    return f"{fault.name}: {', '.join(sorted(wrong | (unknown ^ fault.unknown)))} not as said"
