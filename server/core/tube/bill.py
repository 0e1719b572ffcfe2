"""The parts list of a run: what has to be had to make it and to fit it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from math import degrees

from server.core.tube.run import (
    Clamp,
    EndForm,
    Fixing,
    JointKind,
    JointPlan,
    Offered,
    Origin,
    PieceKind,
    PiecePlan,
    PortPlan,
    RunPlan,
)

Neighbour = PiecePlan | PortPlan | None


class Stage(StrEnum):
    """When a part of a run is wanted; the value is the word pages show."""

    MAKE = "to make"
    """Cut, beaded, welded: wanted before the run can be made."""
    FIT = "to fit"
    """Pushed on, clamped, bolted: wanted before the run can be fitted."""


@dataclass(frozen=True, slots=True)
class Item:
    """One line of a run's parts list.

    spec: what it is, the same words for the same thing in every run; kind: of part; count: pieces, 0 for what
    is sold by length; lengths: finished lengths to be cut of it [m]; numbers: the pieces on the drawing that
    it belongs to; part_id: the part it was linked to by hand; unsure: why it can't be bought yet, empty where
    it can.
    """

    spec: str
    kind: str
    stage: Stage
    origin: Origin
    count: int = 1
    lengths: tuple[float, ...] = ()
    numbers: tuple[int, ...] = ()
    part_id: int | None = None
    unsure: str = ""

    @property
    def name(self) -> str:
        """The spec as a part's name."""
        return self.spec[:1].upper() + self.spec[1:]


def bill(plan: RunPlan) -> tuple[Item, ...]:
    """What a run is made of, the same things merged, in the order of the run.

    Left out: what is in the garage without being a part of the list, the air meter (the car's own), and side
    ports moulded into a hose. A pipe that was cut in two is one part, as long as it was bought.
    Source: definition; the clamp, gasket and bolts that a joint takes are common practice, no source.
    """
    found: list[Item] = []
    for place, joint in enumerate(plan.joints):
        if place:
            piece = plan.pieces[place - 1]
            found += [*_of_piece(piece), *_of_bungs(piece)]
        found += _of_joint(joint, *_neighbours(plan, place))
    return _merged(found)


def _neighbours(plan: RunPlan, place: int) -> tuple[Neighbour, Neighbour]:
    before = plan.pieces[place - 1] if place else plan.start
    after = plan.pieces[place] if place < len(plan.pieces) else plan.end
    return before, after


def _merged(items: Iterable[Item]) -> tuple[Item, ...]:
    merged: dict[tuple[object, ...], Item] = {}
    for item in items:
        key = (item.spec, item.stage, item.origin, item.part_id, item.unsure)
        before = merged.get(key)
        merged[key] = (
            item
            if before is None
            else replace(
                before,
                count=before.count + item.count,
                lengths=before.lengths + item.lengths,
                numbers=before.numbers + tuple(n for n in item.numbers if n not in before.numbers),
            )
        )
    return tuple(merged.values())


# Pieces


def _of_piece(piece: PiecePlan) -> list[Item]:
    if piece.cut_from_id is not None or piece.kind is PieceKind.METER:
        return []
    if piece.origin is Origin.IN_GARAGE and piece.part_id is None:
        return []
    spec, needed = _spec(piece)
    missing = [name for name in needed if name not in piece.sizes]
    origin = Origin.SALVAGED if piece.kind is PieceKind.SALVAGED else piece.origin
    item = Item(
        spec,
        PART_KINDS[piece.kind],
        _stage(piece),
        origin,
        numbers=(piece.number,),
        part_id=piece.part_id,
        unsure=_unsure(piece, missing),
    )
    if piece.kind in SOLD_BY_LENGTH and origin is not Origin.SALVAGED:
        length = piece.whole_length or _size(piece, "length")
        return [replace(item, count=0, lengths=() if length is None else (length,))]
    return [item]


PART_KINDS = {
    PieceKind.TUBE: "tube",
    PieceKind.BEND: "bend",
    PieceKind.COUPLER: "coupler",
    PieceKind.HOSE_ELBOW: "coupler",
    PieceKind.REDUCER: "coupler",
    PieceKind.HOSE: "hose",
    PieceKind.FLEX: "fitting",
    PieceKind.FLANGE: "flange",
    PieceKind.METER: "other",
    PieceKind.FILTER: "other",
    PieceKind.SALVAGED: "tube",
}
"""The kind of part that each kind of piece is."""
SOLD_BY_LENGTH = frozenset({PieceKind.TUBE, PieceKind.HOSE})


def _spec(piece: PiecePlan) -> tuple[str, tuple[str, ...]]:
    """What a piece is in words, and the sizes that have to be known before it can be bought."""
    what = f"{piece.material} {piece.kind.value}"
    kind = piece.kind
    if kind is PieceKind.TUBE:
        return _words(what, _tube(piece)), ("outside_diameter", "wall", "length")
    if kind is PieceKind.HOSE:
        return _words(what, _across(piece)), ("bore", "length")
    if kind is PieceKind.BEND:
        return (
            _words(what, _tube(piece), _angle(piece), _mm(piece, "bend_radius", "radius {}")),
            ("outside_diameter", "wall", "bend_angle", "bend_radius"),
        )
    if kind is PieceKind.HOSE_ELBOW:
        return _words(what, _across(piece), _angle(piece), _legs(piece)), ("bore", "bend_angle", "length")
    if kind is PieceKind.REDUCER:
        bores = _mm(piece, "bore", "{}") + _mm(piece, "bore_out", " to {} bore")
        return _words(what, bores, _mm(piece, "length", "{} long")), ("bore", "bore_out", "length")
    if kind is PieceKind.FLANGE:
        form = next(
            (end.value for end in (piece.inlet_end, piece.outlet_end) if end in FLANGED), EndForm.FLANGE.value
        )
        made = f"{piece.material} {form}" + ("" if form == EndForm.FLANGE.value else " flange")
        return _words(made, _across(piece)), ("bore",)
    if kind is PieceKind.SALVAGED:
        return _words(f"{piece.name}, salvaged", _tube(piece)), ()
    return _words(what, _across(piece), _mm(piece, "length", "{} long")), ("bore",)


FLANGED = frozenset({EndForm.V_BAND, EndForm.FLANGE})


def _words(*words: str) -> str:
    return ", ".join(word for word in words if word)


def _size(piece: PiecePlan, name: str) -> float | None:
    size = piece.sizes.get(name)
    return None if size is None else size.value


def _plain(value: float) -> str:
    """A figure to one decimal, without a nought after the point."""
    return f"{value:.1f}".removesuffix(".0")


def _mm(piece: PiecePlan, name: str, words: str) -> str:
    value = _size(piece, name)
    return "" if value is None else words.format(f"{_plain(value * 1000)} mm")


def _tube(piece: PiecePlan) -> str:
    outside, wall = _size(piece, "outside_diameter"), _size(piece, "wall")
    if outside is None:
        return _across(piece)
    across = f"{_plain(outside * 1000)}"
    return f"{across} mm outside" if wall is None else f"{across} × {_plain(wall * 1000)} mm"


def _across(piece: PiecePlan) -> str:
    return _mm(piece, "bore", "{} bore")


def _angle(piece: PiecePlan) -> str:
    angle = _size(piece, "bend_angle")
    return "" if angle is None else f"{_plain(degrees(angle))}°"


def _legs(piece: PiecePlan) -> str:
    first, last = _size(piece, "length"), _size(piece, "length_out")
    if first is None or last is None:
        return ""
    if abs(first - last) < 0.0005:
        return f"legs {_plain(first * 1000)} mm"
    return f"legs {_plain(first * 1000)} and {_plain(last * 1000)} mm"


def _stage(piece: PiecePlan) -> Stage:
    welded = EndForm.WELD in {piece.inlet_end, piece.outlet_end}
    loose = piece.is_hose or piece.kind is PieceKind.FILTER or (piece.kind is PieceKind.FLEX and not welded)
    return Stage.FIT if loose else Stage.MAKE


SIZE_WORDS = {
    "outside_diameter": "outside diameter",
    "wall": "wall",
    "bore": "bore",
    "bore_out": "bore at the outlet",
    "length": "length",
    "bend_angle": "angle",
    "bend_radius": "radius",
}


def _unsure(piece: PiecePlan, missing: list[str]) -> str:
    """Why a piece can't be bought yet. A hose's length and shape are unknown until it was offered up."""
    if piece.origin is Origin.MOCK_UP:
        return "a mock-up stands in for it"
    if missing and piece.origin is Origin.NEW and piece.kind is not PieceKind.SALVAGED:
        return f"{' and '.join(SIZE_WORDS[name] for name in missing)} not known yet"
    if piece.kind is PieceKind.HOSE and piece.offered is not Offered.FITS:
        return "not offered up yet" if piece.offered is Offered.NOT_YET else "offered up, does not fit yet"
    return ""


# Side ports and joints


def _of_bungs(piece: PiecePlan) -> list[Item]:
    found = []
    for bung in piece.bungs:
        if bung.fixing is Fixing.MOULDED:
            continue
        what = f"{piece.material} weld bung" if bung.fixing is Fixing.WELDED else "bulkhead nipple"
        spec = f"{what}, {_plain(bung.bore * 1000)} mm bore"
        found.append(Item(spec, "fitting", Stage.MAKE, Origin.NEW, numbers=(piece.number,)))
    return found


def _of_joint(joint: JointPlan, before: Neighbour, after: Neighbour) -> list[Item]:
    numbers = tuple(one.number for one in (before, after) if isinstance(one, PiecePlan))
    if joint.kind is JointKind.HOSE_AND_CLAMP:
        hoses = [one for one in (before, after) if isinstance(one, PiecePlan) and one.is_hose]
        return [_clamp(joint, hoses[0], numbers)] if len(hoses) == 1 else []
    if joint.kind is JointKind.V_BAND:
        across = _flange_size(before, after)
        unsure = "" if across else "flange size not known yet"
        return [_fitted(_words("V-band clamp", across), "clamp", numbers, unsure)]
    if joint.kind is JointKind.FLANGE:
        across = _flange_size(before, after)
        unsure = "" if across else "bore not known yet"
        return [
            _fitted(_words("flange gasket", across), "gasket", numbers, unsure),
            _fitted("flange bolts and nuts, set for one flange", "fastener", numbers, ""),
        ]
    return []


def _fitted(spec: str, kind: str, numbers: tuple[int, ...], unsure: str) -> Item:
    return Item(spec, kind, Stage.FIT, Origin.NEW, numbers=numbers, unsure=unsure)


def _clamp(joint: JointPlan, hose: PiecePlan, numbers: tuple[int, ...]) -> Item:
    if joint.clamp is Clamp.NONE:
        spec = _words("clamp", _mm(hose, "bore", "for {} hose"))
        return _fitted(spec, "clamp", numbers, "kind of clamp not said yet")
    least, most = joint.sizes.get("clamp_least"), joint.sizes.get("clamp_most")
    what = f"{joint.clamp.value} clamp"
    if least is None or most is None:
        return _fitted(_words(what, _mm(hose, "bore", "for {} hose")), "clamp", numbers, "range not said yet")
    reach = f"{_plain(least.value * 1000)} to {_plain(most.value * 1000)} mm"
    return _fitted(_words(what, reach), "clamp", numbers, "")


def _flange_size(before: Neighbour, after: Neighbour) -> str:
    """A flange goes by its outside where a port tells it, else by the bore of a flange piece."""
    for one in (before, after):
        if isinstance(one, PortPlan) and "outside_diameter" in one.sizes:
            return f"{_plain(one.sizes['outside_diameter'].value * 1000)} mm"
    for one in (before, after):
        if one is not None and "bore" in one.sizes:
            return f"{_plain(one.sizes['bore'].value * 1000)} mm bore"
    return ""
