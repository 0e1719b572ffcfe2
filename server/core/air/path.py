"""Pressure and temperature along the whole path: filter to throttle, turbine's outlet to tailpipe.

The air's side is told in stagnation pressure and temperature, as the checks count losses: the compressor
keeps the engine sheet's pressure ratio, and what a run loses comes off behind it. The exhaust is told in
static pressure, as the check of back pressure counts it, from the air outside upstream. Nothing is filled in
where a run is not known: its step is marked so, and what lies behind it is drawn as if it lost nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import hypot

from server.core.air import compressor, gas, intercooler
from server.core.air.demand import DemandPoint
from server.core.air.intercooler import RatedDrop
from server.core.measure.estimate import Estimate

EQUAL_PART = 0.6
"""Width of a stretch whose length is not known, over what an equal share of the drawing would be, [-]."""


LEAST_DROP = 0.5
"""A loss at a run's end port that is told as a step of its own, [Pa]: less is rounding."""


class PathPlace(StrEnum):
    """A machine or a run on the path; the value is the label."""

    FILTER = "filter"
    INTAKE = "intake"
    COMPRESSOR = "compressor"
    CHARGE_PIPE = "charge pipe"
    COOLER = "cooler"
    COOLER_PIPE = "cooler pipe"
    THROTTLE = "throttle"
    TURBINE = "turbine outlet"
    DOWNPIPE = "downpipe"
    EXHAUST = "exhaust"
    TAILPIPE = "tailpipe"


RUNS = frozenset(
    {
        PathPlace.INTAKE,
        PathPlace.CHARGE_PIPE,
        PathPlace.COOLER_PIPE,
        PathPlace.DOWNPIPE,
        PathPlace.EXHAUST,
    }
)
"""Places that are runs of pieces; the others are machines."""


class Basis(StrEnum):
    """What a step's figures rest on; the value is the word for it."""

    RECKONED = "reckoned"
    TYPED = "as typed"
    TAKEN = "taken"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class ColdPiece:
    """One piece that air passed. number: None for the port at the run's end. length: along the centre line,
    [m], None where not known. drop: stagnation pressure lost, [Pa].
    """

    number: int | None
    length: float | None
    drop: float


@dataclass(frozen=True, slots=True)
class ColdRun:
    """A run of air as its checks march it. doubt: standard uncertainty of its whole loss, [Pa]."""

    pieces: tuple[ColdPiece, ...]
    doubt: float = 0.0

    @property
    def drop(self) -> float:
        """Stagnation pressure lost in all its pieces, [Pa]."""
        return sum(piece.drop for piece in self.pieces)


@dataclass(frozen=True, slots=True)
class HotPiece:
    """One piece that exhaust passed. number, length: as of a ColdPiece. Pressures: static, absolute, [Pa]."""

    number: int | None
    length: float | None
    pressure_in: float
    pressure_out: float


@dataclass(frozen=True, slots=True)
class HotRun:
    """A run of exhaust marched from the pressure behind it. doubt: of the pressure at its inlet, [Pa]."""

    pieces: tuple[HotPiece, ...]
    doubt: float = 0.0


@dataclass(frozen=True, slots=True)
class Cooler:
    """What the charge air cooler costs.

    drop: as the engine sheet has it, [Pa]. rated: what its maker or a test says, None where nobody typed it;
    the drop is then reckoned from it at the flow and density that there are.
    """

    drop: float
    rated: RatedDrop | None = None

    def drop_at(self, flow: float, pressure: float, temperature: float) -> float:
        """Its pressure drop [Pa] for a flow [kg/s] that enters at a pressure [Pa] and temperature [K].

        Source: `intercooler.pressure_drop`.
        """
        if self.rated is None:
            return self.drop
        return intercooler.pressure_drop(self.rated, flow, gas.density(pressure, temperature))


@dataclass(frozen=True, slots=True)
class ColdDoubts:
    """Standard uncertainties on the air's side: of the boost, [Pa], and of the temperatures, [K]."""

    boost: float
    compressor_outlet: float
    cooler_outlet: float


@dataclass(frozen=True, slots=True)
class Step:
    """One piece or machine of the path. Pressures: absolute, [Pa]. Temperatures: [K].

    piece: its number in its run, None for a machine, a run that is not known, and the port at a run's end.
    length: [m], None where not known. The doubts are standard uncertainties at its outlet, [Pa] and [K]: of
    what is known, so that a step that is not known adds none.
    """

    place: PathPlace
    piece: int | None
    length: float | None
    pressure_in: float
    pressure_out: float
    temperature_in: float
    temperature_out: float
    pressure_doubt: float
    temperature_doubt: float
    basis: Basis

    @property
    def drop(self) -> float:
        """Pressure lost, [Pa]; below zero where it rises."""
        return self.pressure_in - self.pressure_out


def cold_path(
    at: DemandPoint, runs: Mapping[PathPlace, ColdRun | None], cooler: Cooler | None, doubts: ColdDoubts
) -> tuple[Step, ...]:
    """The air from outside to the throttle at one engine speed.

    at: the engine there. runs: by place, None or absent where not known. cooler: None where there is none, so
    that the charge pipe ends at the throttle. Returns the steps in flow direction; the throttle's own loss is
    not known and none is counted.
    Errors: ValueError where the losses leave no pressure.
    Source: definition of pressure ratio, at the engine sheet's; losses of the runs as `march` has them. The
    doubts of the runs' losses are added up, as they come from the same flow; with the boost's they join as
    independent ones do (JCGM 100:2008, 5.1.2).
    """
    walk = _Walk(at.ambient_pressure, at.ambient_temperature)
    walk.machine(PathPlace.FILTER, at.compressor_inlet_pressure)
    walk.run(PathPlace.INTAKE, runs.get(PathPlace.INTAKE))
    walk.compress(at, doubts)
    walk.run(PathPlace.CHARGE_PIPE, runs.get(PathPlace.CHARGE_PIPE))
    if cooler is not None:
        walk.temperature_doubt = doubts.cooler_outlet
        cooled = walk.pressure - cooler.drop_at(at.flow, walk.pressure, walk.temperature)
        basis = Basis.TYPED if cooler.rated is None else Basis.RECKONED
        walk.machine(PathPlace.COOLER, cooled, at.manifold_temperature, basis)
        walk.run(PathPlace.COOLER_PIPE, runs.get(PathPlace.COOLER_PIPE))
    walk.machine(PathPlace.THROTTLE, walk.pressure, basis=Basis.NOT_KNOWN)
    return tuple(walk.steps)


class _Walk:
    """The air's state while it is walked along the path, and the steps behind it."""

    def __init__(self, pressure: float, temperature: float) -> None:
        self.pressure = pressure
        self.temperature = temperature
        self.temperature_doubt = 0.0
        self.loss_doubt = 0.0
        self.boost_doubt = 0.0
        self.steps: list[Step] = []

    def machine(
        self,
        place: PathPlace,
        pressure: float,
        temperature: float | None = None,
        basis: Basis = Basis.TYPED,
    ) -> None:
        """Pass a machine that leaves the air at a pressure [Pa] and a temperature [K]."""
        self._pass(place, None, None, pressure, temperature, basis)

    def run(self, place: PathPlace, run: ColdRun | None) -> None:
        """Pass a run; one that is not known loses nothing here and says so."""
        if run is None:
            self.machine(place, self.pressure, basis=Basis.NOT_KNOWN)
            return
        before, whole = self.loss_doubt, run.drop
        lost = 0.0
        for piece in run.pieces:
            lost += piece.drop
            self.loss_doubt = before + run.doubt * (lost / whole if whole > 0.0 else 0.0)
            pressure = self.pressure - piece.drop
            self._pass(place, piece.number, piece.length, pressure, None, Basis.RECKONED)

    def compress(self, at: DemandPoint, doubts: ColdDoubts) -> None:
        """Pass the compressor: it multiplies what it is given, and the doubt of that too."""
        self.loss_doubt *= at.pressure_ratio
        self.boost_doubt = doubts.boost
        self.temperature_doubt = doubts.compressor_outlet
        pressure = self.pressure * at.pressure_ratio
        self.machine(PathPlace.COMPRESSOR, pressure, at.compressor_outlet_temperature, Basis.RECKONED)

    def _pass(
        self,
        place: PathPlace,
        piece: int | None,
        length: float | None,
        pressure: float,
        temperature: float | None,
        basis: Basis,
    ) -> None:
        if pressure <= 0.0:
            raise ValueError(f"The losses up to the {place} leave no pressure.")
        after = self.temperature if temperature is None else temperature
        doubt = hypot(self.loss_doubt, self.boost_doubt)
        step = Step(
            place,
            piece,
            length,
            self.pressure,
            pressure,
            self.temperature,
            after,
            doubt,
            self.temperature_doubt,
            basis,
        )
        self.steps.append(step)
        self.pressure, self.temperature = pressure, after


def ratio_to_hold(at: DemandPoint, steps: Sequence[Step]) -> float:
    """The pressure ratio at which the boost asked for would arrive at the throttle, these losses kept.

    at: the engine. steps: of `cold_path`. Returns [-].
    Errors: ValueError where the losses before the compressor leave no pressure.
    Source: `compressor.pressure_ratio`.
    """
    wheel = [step.place for step in steps].index(PathPlace.COMPRESSOR)
    before, after = (sum(step.drop for step in some) for some in (steps[:wheel], steps[wheel + 1 :]))
    return compressor.pressure_ratio(at.manifold_pressure, after, at.ambient_pressure, before)


def hot_path(
    ambient_pressure: float,
    temperature: Estimate,
    downpipe: HotRun | None,
    exhaust: HotRun | None,
    behind: float,
) -> tuple[Step, ...]:
    """The exhaust from the turbine's outlet to the air outside.

    ambient_pressure: absolute, [Pa]. temperature: at the turbine's outlet, [K]; no heat is counted as lost on
    the way. downpipe, exhaust: None where not known. behind: what is taken for the rest, behind the last run
    that is drawn, above the air outside, [Pa]. Returns the steps in flow direction.
    Source: conservation along a streamline as `back_pressure` marches it; what is taken, common practice.
    """
    runs: list[tuple[PathPlace, HotRun | None]] = [(PathPlace.DOWNPIPE, downpipe)]
    if exhaust is not None:
        runs.append((PathPlace.EXHAUST, exhaust))
    level, doubt = ambient_pressure + behind, 0.0
    steps = _rest(ambient_pressure, level, temperature, drawn=exhaust is not None)
    basis = Basis.NOT_KNOWN
    for place, run in reversed(runs):
        if run is None:
            basis = Basis.NOT_KNOWN
            steps.insert(0, _hot_step(place, level, level, temperature, doubt, basis))
            continue
        basis = Basis.RECKONED
        steps[0:0] = _hot_steps(place, run, level, temperature, doubt)
        level, doubt = run.pieces[0].pressure_in, doubt + run.doubt
    steps.insert(0, _hot_step(PathPlace.TURBINE, level, level, temperature, doubt, basis))
    return tuple(steps)


def _rest(outside: float, level: float, temperature: Estimate, drawn: bool) -> list[Step]:
    """What is taken for the rest of the exhaust, [Pa]; `drawn`: behind a run of its own."""
    if drawn:
        return [_hot_step(PathPlace.TAILPIPE, level, outside, temperature, 0.0, Basis.TAKEN)]
    return [
        _hot_step(PathPlace.EXHAUST, level, outside, temperature, 0.0, Basis.TAKEN),
        _hot_step(PathPlace.TAILPIPE, outside, outside, temperature, 0.0, Basis.TYPED),
    ]


def _hot_steps(
    place: PathPlace, run: HotRun, behind: float, temperature: Estimate, doubt: float
) -> list[Step]:
    """The pieces of a run; the doubt of the pressure grows upstream as the pressure does."""
    top = run.pieces[0].pressure_in - behind

    def share(piece: HotPiece) -> float:
        return min(max((piece.pressure_out - behind) / top, 0.0), 1.0) if top > 0.0 else 0.0

    return [
        replace(
            _hot_step(
                place,
                piece.pressure_in,
                piece.pressure_out,
                temperature,
                doubt + run.doubt * share(piece),
                Basis.RECKONED,
            ),
            piece=piece.number,
            length=piece.length,
        )
        for piece in run.pieces
    ]


def _hot_step(
    place: PathPlace,
    pressure_in: float,
    pressure_out: float,
    temperature: Estimate,
    doubt: float,
    basis: Basis,
) -> Step:
    """A machine, or a run that is not known."""
    heat = temperature.value
    return Step(place, None, None, pressure_in, pressure_out, heat, heat, doubt, temperature.doubt, basis)


def widths(steps: Sequence[Step]) -> tuple[float, ...]:
    """How wide each step is drawn, as a share of the whole; they add up to 1.

    Pieces share by length what machines and runs that are not known leave: those get an equal stretch each. A
    piece of unknown length gets the mean of the known ones. Errors: ValueError without steps.
    Source: definition.
    """
    if not steps:
        raise ValueError("There is nothing to draw.")
    lengths = [step.length for step in steps if step.length is not None]
    if sum(lengths) <= 0.0:
        return tuple(1.0 / len(steps) for _ in steps)
    mean = sum(lengths) / len(lengths)
    whole = [step.length is None and step.piece is None for step in steps]
    places = len({step.place for step in steps})
    equal = EQUAL_PART / places
    drawn = [mean if step.length is None else step.length for step in steps]
    scale = (1.0 - equal * sum(whole)) / sum(
        length for length, alone in zip(drawn, whole, strict=True) if not alone
    )
    return tuple(equal if alone else length * scale for length, alone in zip(drawn, whole, strict=True))
