"""The whole gate of a car, stage after stage."""

from server.core.first_start.after import AFTER
from server.core.first_start.before import BEFORE
from server.core.first_start.stage import CarFacts, Stage

LAST_WORD = "The makers' papers, local codes and whoever is licensed for this work come first."

_ANY = CarFacts()
CODES = tuple(make(_ANY).code for make in (*BEFORE, *AFTER))
"""Of every stage, in order. The order is the same for every car."""
TITLES = {stage.code: stage.title for stage in (make(_ANY) for make in (*BEFORE, *AFTER))}


def stages_of(car: CarFacts) -> tuple[Stage, ...]:
    """The stages of this car. One that it has no use for is left out: coolant where nothing is cooled by it.

    Source: common practice, no source.
    """
    return tuple(
        stage for stage in (make(car) for make in (*BEFORE, *AFTER)) if stage.code != "bled" or car.coolant
    )
