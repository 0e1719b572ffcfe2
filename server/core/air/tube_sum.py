"""The sum for one tube: straight lengths and bends of one bore, without a design around it."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.core.air import losses
from server.core.air.march import Element, march


@dataclass(frozen=True, slots=True)
class Bend:
    """A smooth bend. angle: deflection, [rad]. radius: of the centre line, [m]."""

    angle: float
    radius: float


@dataclass(frozen=True, slots=True)
class TubeLoss:
    """What a flow does in one tube.

    speed: [m/s], mach: [-], at the inlet. speed_out: [m/s], mach_out: [-], None where the tube chokes.
    reynolds: [-]. friction_factor: Darcy, [-]. loss: stagnation pressure lost, [Pa], None where it chokes.
    greatest_flow: [kg/s] that passes, found only where the tube chokes. bend_method: the one used, in words.
    """

    speed: float
    mach: float
    speed_out: float | None
    mach_out: float | None
    reynolds: float
    friction_factor: float
    loss: float | None
    choked: bool
    greatest_flow: float | None
    bend_method: str
    notes: tuple[str, ...]


def tube_loss(
    bore: float,
    length: float,
    roughness: float,
    bends: Sequence[Bend],
    flow: float,
    pressure: float,
    temperature: float,
) -> TubeLoss:
    """Speed, Mach number and loss of a flow of air in one tube.

    bore: [m]. length: straight lengths only, [m]; arcs come from the bends. roughness: [m].
    bends: in any order. flow: [kg/s]. pressure: static and absolute at the inlet, [Pa].
    temperature: static at the inlet, [K].
    Errors: ValueError for sizes that are not above zero (length and roughness may be zero).
    Source: as `march`.
    """
    straight = Element("straight", "straight", bore, bore, length=length, roughness=roughness)
    arcs = [
        Element(
            f"bend {number}",
            "bend",
            bore,
            bore,
            roughness=roughness,
            bend_angle=bend.angle,
            bend_radius=bend.radius,
        )
        for number, bend in enumerate(bends, start=1)
    ]
    run = march([straight, *arcs], flow, pressure, temperature)
    inlet = run.inlet
    reynolds = losses.tube_reynolds(flow, bore, temperature)
    notes = run.notes
    if run.choked:
        notes = (*notes, "The tube chokes: this flow does not pass from this inlet state.")
    return TubeLoss(
        inlet.speed,
        inlet.mach,
        run.outlet.speed if run.outlet else None,
        run.outlet.mach if run.outlet else None,
        reynolds,
        losses.friction(reynolds, roughness / bore).factor,
        run.loss,
        run.choked,
        run.greatest_flow,
        losses.BEND_METHOD,
        notes,
    )
