"""`python -m tests.bench.line_maps`: every change to right line maps, answered as written down beforehand.

Seven right cars, each with every change that fits it, more than a thousand in all; then the time to
solve maps of two hundred lines in every state. Under a minute.
"""

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from statistics import median
from time import process_time

from server.core.lines.chart import charts
from server.core.lines.layout import lay_out
from server.core.lines.ledger import Medium
from server.core.lines.register import answer_solved
from server.core.lines.solve import Solved
from server.core.lines.states import State
from tests.line_faults import BOOST_ONLY, Fault, faults, wrongly_answered
from tests.line_maps import Sketch, right_car

Car = Callable[[], Sketch]


def less(*names: str) -> Car:
    """A right car without some lines and valves."""

    def draw() -> Sketch:
        car = right_car()
        for name in names:
            car.valves.pop(name, None)
            if car.lines.pop(name, None) is not None:
                for end in "ab":
                    del car.ports[f"{name} {end}"]
        return car

    return draw


def backwards() -> Sketch:
    """The same car, from the last line to the first."""
    car = right_car()
    car.lines = dict(reversed(car.lines.items()))
    car.valves = dict(reversed(car.valves.items()))
    car.regions = dict(reversed(car.regions.items()))
    return car


def without_cut() -> Sketch:
    return right_car(cut=False)


def cut_not_proved() -> Sketch:
    return right_car(cut=None)


NO_PUMP = less("secondary air hose", "air pump", "air pump outlet hose", "air check", "air pipe")
NO_LIQUIDS = less("heater feed", "heater return", "heater", "fuel feed", "fuel return hose", "rail")
NO_IDLE = less("idle inlet hose", "idle outlet hose", "idle valve")
CARS: tuple[Car, ...] = (right_car, backwards, NO_PUMP, NO_LIQUIDS, NO_IDLE, without_cut, cut_not_proved)


def all_faults() -> Iterator[tuple[Car, Fault]]:
    """Each car with each change, and what that breaks there."""
    for draw in CARS:
        car = draw()
        for fault in faults(car):
            if car.cut is False:
                fault = replace(fault, breaks={**fault.breaks, "boost-fails-safe": BOOST_ONLY})
            elif car.cut is None:
                fault = replace(fault, unknown=fault.unknown | {"boost-fails-safe"})
            yield draw, fault


def changed(draw: Car, fault: Fault) -> str:
    """What is wrong with the answer to one changed car; empty for nothing."""
    car = draw()
    fault.change(car)
    return wrongly_answered(car, fault)


def large(lines: int = 200) -> Sketch:
    """A right car with more taps until it has so many lines, every other tap joined across."""
    car = right_car()
    while len(car.lines) < lines:
        name = f"tap {len(car.lines)}"
        car.space(name)
        car.hose(f"{name} hose", "manifold", name, Medium.CONTROL)
        if len(car.lines) % 2:
            other = "intake" if len(car.lines) % 3 else "charge pipe"
            car.hose(f"{name} crossing", name, other, Medium.CONTROL)
    return car


def solved_in(car: Sketch) -> float:
    """The processor's time to answer every rule and every line's flow in every state [s]."""
    line_map = car.map()
    begun = process_time()
    solved = Solved(line_map)
    answer_solved(solved)
    for line in line_map.lines:
        for state in State:
            solved.flow(line, state)
    return process_time() - begun


def laid_out_in(car: Sketch) -> float:
    """How long the layout of a map takes that was not asked for before [s]."""
    line_map = car.map()
    lay_out.cache_clear()
    begun = process_time()
    for chart in charts(line_map):
        lay_out(chart)
    return process_time() - begun


def main() -> int:
    told = []
    harmless = undecided = count = 0
    for draw, fault in all_faults():
        count += 1
        harmless += not fault.breaks and not fault.unknown
        undecided += bool(fault.unknown)
        told += [wrong] if (wrong := changed(draw, fault)) else []
    print(
        f"{count} changes: {count - len(told)} answered as said; {harmless} harmless, {undecided} not decided"
    )
    print("\n".join(told))
    times = [solved_in(large()) for _ in range(5)]
    print(f"200 lines in {len(State)} states, every rule: {1000 * median(times):.0f} ms of the processor")
    times = [laid_out_in(large()) for _ in range(5)]
    print(f"200 lines put on the drawing's sheet: {1000 * median(times):.1f} ms of the processor")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
