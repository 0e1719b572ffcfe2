"""Variables in plain words: what a size is called, and how to ask for one that is missing."""

from server.core.checks.case import BENDS, STEPS
from server.core.checks.figures import figure_of
from server.core.checks.layout import piece_label
from server.core.phrase import Phrase
from server.core.tube.run import RunPlan

_SIZES = {
    "bore": "bore",
    "bore_out": "outlet bore",
    "outside_diameter": "outside diameter",
    "outside_diameter_out": "outlet outside diameter",
    "wall": "wall",
    "length": "length",
    "length_out": "leg after the bend",
    "bend_angle": "bend angle",
    "bend_radius": "bend radius",
    "bead_height": "bead height",
    "clamp_least": "smallest size of the clamp",
    "clamp_most": "largest size of the clamp",
    "overlap": "overlap",
    "holds": "end force held",
    "at": "place along the piece",
    "travel": "travel",
    "flap_reach": "reach of the open flap",
    "flap_swing": "sweep of the open flap",
    "rated_pressure": "working pressure",
    "rated_temperature": "temperature that is rated",
    "gap": "gap",
    "moves": "way it moves",
    "width": "width",
    "wrap": "thickness of the wrap",
    "old_diameter": "outside diameter of the old tube",
    "old_pressure": "pressure that was held",
}

_ENGINE = {
    "engine.efficiency": "volumetric efficiency",
    "engine.boost": "boost",
    "engine.compressor_efficiency": "compressor efficiency",
    "engine.bonnet_temperature": "air temperature around the hoses",
    "engine.exhaust_temperature": "exhaust temperature at the turbine's outlet",
    "engine.mixture": "mixture at the peak",
    "meter.original_bore": "bore of the meter housing it was calibrated in",
}

_METHODS = {
    BENDS: "how the loss of bends is reckoned",
    STEPS: "how the loss of steps and cones is reckoned",
}

BY_CALIPER = ("bore", "outside_diameter", "wall", "bead_height", "original_bore")
"""Sizes that a caliper takes; the beginnings of their names."""


def is_method(variable: str) -> bool:
    """Whether a variable is how something is reckoned, which no reading tells."""
    return variable in _METHODS


def plain_name(plan: RunPlan, variable: str) -> str:
    """A variable in plain words, e.g. "bore of Compressor inlet" for `port.4.bore`.

    Geometry of names only.
    """
    if variable in _ENGINE:
        return _ENGINE[variable]
    if variable in _METHODS:
        return _METHODS[variable]
    figure = figure_of(variable)
    if figure is not None:
        return figure.words
    owner, number, size = variable.split(".")
    joined = "to" if size == "gap" else "at" if size.startswith("old_") else "of"
    return f"{_size_words(plan, owner, int(number), size)} {joined} {_owner_words(plan, owner, int(number))}"


def ask_for(plan: RunPlan, variable: str) -> Phrase:
    """How to ask for a missing size: a port is measured, the rest is typed from the part or the drawing."""
    figure = figure_of(variable)
    if figure is not None and figure.choices:
        return Phrase("Say: {what}?", {"what": figure.words})
    verb = "Measure" if variable.startswith(("port.", "meter.", "neighbour.")) else "Type"
    return Phrase(verb + " the {what}.", {"what": plain_name(plan, variable)})


def _size_words(plan: RunPlan, owner: str, number: int, size: str) -> str:
    if owner == "piece" and size == "length":
        arcs = {piece.id for piece in plan.pieces if piece.has_arc}
        return "leg before the bend" if number in arcs else "length"
    return _SIZES.get(size, size.replace("_", " "))


def _owner_words(plan: RunPlan, owner: str, number: int) -> str:
    ports = [port for port in (plan.start, plan.end, *plan.side_ports) if port is not None]
    known = {("port", port.id): port.name for port in ports}
    known |= {("piece", piece.id): piece_label(piece) for piece in plan.pieces}
    known |= {("joint", joint.id): f"joint {index}" for index, joint in enumerate(plan.joints, 1)}
    known |= {("neighbour", near.id): near.name for near in plan.neighbours}
    known |= {("bung", bung.id): bung.name for piece in plan.pieces for bung in piece.bungs}
    return known.get((owner, number), f"{owner} {number}")
