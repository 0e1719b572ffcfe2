"""Rules of pieces that are not bought new, explained: mock-ups, borrowed fittings, hoses offered up."""

from dataclasses import replace

from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained
from server.core.checks.book.signs import Sign, Value, among, equals
from server.core.tube.run import Offered, Origin, PieceKind, Place

_STAND_INS = Sign("n", "pieces of card, wire or an old hose", below="mock-up")


def mock_up() -> Example:
    """A wire bent to shape stands in a charge pipe."""
    wire = replace(bench.tube(2, 60.0), origin=Origin.MOCK_UP)
    case = bench.charge(bench.hose(1, 60.0), wire, bench.hose(3, 60.0))
    count = sum(piece.origin is Origin.MOCK_UP for piece in case.plan.pieces)
    return Example("A wire, bent to shape, stands for a tube.", case, {_STAND_INS: float(count)})


_TRIED = Sign("T", "how trying it on went")
_FITS = Sign("F", "answers that pass")


def tried_on() -> Example:
    """An elbow off another model that does not fit."""
    elbow = replace(bench.tube(2, 60.0), origin=Origin.BORROWED, tried="does not")
    case = bench.charge(bench.hose(1, 60.0), elbow, bench.hose(3, 60.0))
    given: dict[Sign, Value] = {_TRIED: elbow.tried, _FITS: (Offered.FITS.value,)}
    return Example("A pipe off another model was tried on and does not fit.", case, given)


_OFFERED = Sign("O", "what offering it up showed")
_STILL = Sign("C", "answers that are tight, never on oil or fuel")


def offered_up() -> Example:
    """A coolant hose that touches something."""
    rubber = replace(bench.piece(1, PieceKind.HOSE, "EPDM", bore=19.0, wall=4.0, length=420.0))
    rubber = replace(rubber, offered=Offered.TOUCHES, offered_note="the alternator's bracket")
    spigots = [
        bench.port(n, name, outside_diameter=19.0, wall=1.0) for n, name in ((1, "Turbo"), (2, "Block"))
    ]
    joints = (bench.clamped(50, 20.0, 32.0), bench.clamped(51, 20.0, 32.0))
    case = bench.case(bench.run(Place.COOLANT, (rubber,), joints, *spigots))
    given = {
        _OFFERED: rubber.offered.value,
        _FITS: (Offered.FITS.value,),
        _STILL: (Offered.TOUCHES.value,),
    }
    return Example("A coolant hose was offered up and touches the alternator's bracket.", case, given)


EXPLAINED = (
    Explained("mock-up", (equals(_STAND_INS, 0.0),), mock_up),
    Explained("tried-on", (among(_TRIED, _FITS),), tried_on, notes=("Not tried is not measured.",)),
    Explained(
        "offered-up",
        (among(_OFFERED, _FITS),),
        offered_up,
        (among(_OFFERED, _STILL),),
        ("Not offered up is not measured: a tape tells neither length nor shape of a free hose.",),
    ),
)
