"""What is typed of the tube that something is found for, and which of the answers is taken."""

from collections.abc import Iterable, Mapping

from server.core.tube.laid import Tube
from server.core.tube.sizes import MATERIALS
from server.web.fields import Fields

METALS = MATERIALS[:5]
"""What a pipe under a car is made of."""


def tube(fields: Fields, labels: Mapping[str, str]) -> Tube:
    """The tube asked for; a size that a message was noted for is 0."""
    outside = fields.length(
        "outside", labels["outside"], 0.004, 0.3, "a diameter from 4 to 300 mm", sort="outside_diameter"
    )
    wall = fields.length("wall", labels["wall"], 0.0002, 0.02, "a wall from 0.2 to 20 mm", sort="wall")
    if outside and wall and 2.0 * wall >= outside:
        fields.refuse("wall", "Two walls are as thick as the tube is wide.", "a wall under half the outside")
    return Tube(outside, wall, fields.choice("material", labels["material"], METALS, default=METALS[0]))


def taken(typed: Mapping[str, str], field: str) -> tuple[str, str]:
    """Which of the answers is taken, by its mark, and the new design's name. Raises BadInput.

    field: "route", "splice".
    """
    fields = Fields(typed)
    mark = fields.text(field, f"The {field}", most=40, required=True)
    name = fields.text("name", "Name", most=80) or field.capitalize()
    fields.done()
    return mark, name


def as_typed(typed: Mapping[str, str], names: Iterable[str]) -> dict[str, str]:
    """What was asked, as typed; nothing else that an address brings."""
    return {name: typed.get(name, "") for name in names}
