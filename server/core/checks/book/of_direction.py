"""Rule of which way a run is drawn, explained."""

from dataclasses import replace

from server.core.checks.air_meter import meters_of
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained
from server.core.checks.book.signs import Sign, equals
from server.core.tube.run import PieceKind

_WRONG = Sign("n", "meters, ends and pieces that are the wrong way round", below="wrong")


def right_way() -> Example:
    """A meter drawn in a charge pipe of a car that counts its air before the compressor."""
    meter = bench.piece(2, PieceKind.METER, "plastic", outside_diameter=60.0, wall=2.0, length=90.0)
    case = bench.charge(bench.hose(1, 60.0), replace(meter, name="Air meter"), bench.hose(3, 60.0))
    text = "An air meter is drawn in the charge pipe of a car whose meter stands before the compressor."
    return Example(text, case, {_WRONG: float(len(meters_of(bench.facts(case))))})


EXPLAINED = (
    Explained(
        "right-way",
        (equals(_WRONG, 0.0),),
        right_way,
        notes=("It says something only where something is the wrong way round.",),
    ),
)
