"""What the builder asks of a route."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.core.tube.laid import Tube
from server.core.tube.route.problem import BendKind
from server.core.units import Kind
from server.features.proposing.forms import tube as tube_asked
from server.features.routing.page import LABELS
from server.web.fields import Fields

BENDS_TYPED = (1, 2)
NAMES = (*LABELS, *(f"{name}{at}" for at in BENDS_TYPED for name in ("radius", "angle", "leg")))
"""Every field of the form."""
SHORTEST = "20 mm"
"""A straight between two bends that a saw and a weld have room in; common practice, no source."""
USUAL = {"shortest": SHORTEST, "most_bends": "3", "cut_down": "on", "from_parts": "on"}
"""What is asked until somebody says otherwise."""


@dataclass(frozen=True, slots=True)
class RouteForm:
    """What is asked. shortest: [m]; typed: bends beside those of the parts list."""

    start_port_id: int
    end_port_id: int
    tube: Tube
    shortest: float
    most_bends: int
    cut_down: bool
    from_parts: bool
    typed: tuple[BendKind, ...]


def route_form(typed: Mapping[str, str], ports: Sequence[int]) -> RouteForm:
    """`ports`: numbers of those whose place and facing are known. Raises BadInput."""
    fields = Fields(typed)
    start = fields.row_id("start_port_id", LABELS["start_port_id"], ports, required=True)
    end = fields.row_id("end_port_id", LABELS["end_port_id"], ports, required=True)
    if start is not None and start == end:
        fields.refuse("end_port_id", "A run can't end at the port where it starts.", "another port")
    tube = tube_asked(fields, LABELS)
    shortest = fields.length("shortest", LABELS["shortest"], 0.0, 0.5, "a length from 0 to 500 mm")
    most = fields.whole("most_bends", LABELS["most_bends"], least=0, most=3, required=True)
    cut_down = fields.flag("cut_down")
    bends = [bend for at in BENDS_TYPED if (bend := _bend(fields, at, tube.outside, cut_down)) is not None]
    fields.done()
    return RouteForm(
        start or 0,
        end or 0,
        tube,
        shortest,
        most or 0,
        cut_down,
        fields.flag("from_parts"),
        tuple(bends),
    )


def _bend(fields: Fields, at: int, outside: float, cut_down: bool) -> BendKind | None:
    """One typed bend; None where nothing was typed."""
    names = {name: f"{name}{at}" for name in ("radius", "angle", "leg")}
    if not any(fields.raw(name) for name in names.values()):
        return None
    radius = fields.quantity(
        names["radius"], f"Bend {at}, radius", Kind.length, unit="mm", required=True, least=0.005, most=2.0,
        accepts="a radius of the centre line from 5 mm to 2 m", sort="bend_radius",
    )  # fmt: skip
    angle = fields.quantity(
        names["angle"], f"Bend {at}, angle", Kind.angle, unit="°", required=True, least=0.0176, most=2.97,
        accepts="an angle from 1 to 170°",
    )  # fmt: skip
    leg = fields.quantity(
        names["leg"], f"Bend {at}, legs", Kind.length, unit="mm", least=0.0, most=1.0,
        accepts="a length from 0 to 1 m",
    )  # fmt: skip
    if radius is None or angle is None:
        return None
    if outside and radius.value <= outside / 2.0:
        fields.refuse(names["radius"], "That radius is inside the tube.", "more than half the diameter")
        return None
    long = leg.value if leg is not None else 0.0
    return BendKind(radius.value, angle.value, cut_down, long, long)
