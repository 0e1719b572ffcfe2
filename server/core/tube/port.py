"""A port of the car as everything that is planned on it sees it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from server.core.measure.estimate import Estimate
from server.core.tube.run import EndForm, Frame, Stretch

AT_METER = "air, at the air meter"
"""The medium of a port that the air meter's housing ends in."""


@dataclass(frozen=True, slots=True)
class PortFacts:
    """A port with what is known of it.

    number: on drawings and lists; sizes: what is measured, by `bore`, `outside_diameter`, `wall`, `length`
    (of the spigot), `gap` [m]; wanted: the sizes still to measure for its role and shape; coarse: how a size
    was taken where that was not well ("by feel").
    """

    id: int
    version: int
    number: int
    name: str
    role: str
    shape: str
    end_form: EndForm
    medium: str
    stretch: Stretch
    subsystem_id: int | None
    material: str
    frame: Frame
    sizes: Mapping[str, Estimate]
    wanted: tuple[str, ...]
    coarse: Mapping[str, str] = field(default_factory=dict)


def wanted_sizes(role: str, shape: str, measured: Iterable[str]) -> tuple[str, ...]:
    """The sizes still to measure on a port.

    Tube is told by its outside, hose and holes by their bore: a spigot that a run ends on needs its outside
    diameter, and wall or bore; a side port its bore, which its bung is compared with, or outside diameter
    and wall; any other opening its bore.
    Source: common practice, no source.

    >>> wanted_sizes("run end", "spigot", ["wall"])
    ('outside_diameter',)
    """
    known = set(measured)
    if role == "side port":
        return () if "bore" in known or known >= {"outside_diameter", "wall"} else ("bore",)
    if shape != "spigot":
        return () if "bore" in known else ("bore",)
    missing = [] if "outside_diameter" in known else ["outside_diameter"]
    if not known & {"bore", "wall"}:
        missing.append("bore")
    return tuple(missing)
