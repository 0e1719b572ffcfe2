"""Rules of what stands near a run, explained: the gap to it, and the heat on it."""

from dataclasses import replace
from math import pi

from scipy.constants import Stefan_Boltzmann

from server.core.air.radiant import across_the_gap, grey_factors, net_flux
from server.core.air.surface import still_film
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, Value, at_least, at_most, is_
from server.core.checks.case import Case
from server.core.checks.gaps import growth_to, left_key, movement
from server.core.checks.layout import End
from server.core.checks.near import ALL_ROUND, Hot, nature_of
from server.core.checks.neighbour_heat import DULL, PIPE_EMISSIVITY, air_about, kept_under, skin_of, warmed
from server.core.checks.run_heat import heated, hose_most, skin_of_it, width_of
from server.core.measure.estimate import Estimate
from server.core.tube.run import NeighbourPlan, Place, Protection, What
from server.core.units import Kind

ITEM = "neighbour.7"

_GAP = Sign("g", "gap, clear, at rest", Kind.length)
_LEAST = Sign("g", "gap that is asked", Kind.length, below="least")
_MOVES = Sign("m", "way they come together, moving with different frames", Kind.length)
_GROWN = Sign("Δ", "growth of a hot run up to there, unless the gap was measured hot", Kind.length)
_LEFT = Sign("l", "what is to be left", Kind.length)
_ASKED = is_(_LEAST, _MOVES + _GROWN + _LEFT)


def beside(what: What, gap: float, protection: Protection = Protection.NONE) -> Case:
    """A stainless downpipe with something beside its first tube; the gap in [mm]."""
    pipe = bench.hot(bench.tube(1, 76.2, 400.0))
    case = bench.downpipe(pipe, bench.flex(2))
    name = what.value[:1].upper() + what.value[1:]
    near = NeighbourPlan(
        7, what, name, 1, protection=protection, sizes={"gap": Estimate(gap * bench.MM, bench.MM)}
    )
    return replace(case, plan=replace(case.plan, neighbours=(near,)))


def _gap_beside(what: What, gap: float, text: str) -> Example:
    case = beside(what, gap)
    facts, (near,), piece = bench.facts(case), case.plan.neighbours, case.plan.pieces[0]
    given: dict[Sign, Value] = {
        _GAP: facts.size("neighbour", near.id, "gap"),
        _MOVES: movement(facts, near, piece),
        _GROWN: growth_to(facts, piece),
        _LEFT: facts.limit(left_key(near)),
    }
    return Example(text, case, given, (Told(_GAP, ITEM), Told(_LEAST, ITEM, "limit")))


def line_gap() -> Example:
    """A brake line with room."""
    text = "A brake line on the body passes 60 mm beside the first 400 mm of a downpipe, before its flex."
    return _gap_beside(What.BRAKE_LINE, 60.0, text)


def other_gap() -> Example:
    """A loom with little room."""
    text = "A wiring loom on the body passes 25 mm beside the first 400 mm of a downpipe, before its flex."
    return _gap_beside(What.LOOM, 25.0, text)


_K = "K"
_REACHED = Sign("T", "what it comes to: where what comes equals what goes", None, _K)
_MOST = Sign("T", "most that it may come to", None, _K, below="most")
_STANDS = Sign("T", "what its material stands", None, _K, below="stands")
_MARGIN = Sign("m", "margin that is kept under it", None, _K)
_PIPE = Sign("T", "outside of what is hot", None, _K, below="hot")
_AIR = Sign("T", "air about it, and all else around", None, _K, below="air")
_COMES = Sign("q", "heat that comes to a face, radiated and through the air", None, "W/m²", below="in")
_GOES = Sign("q", "heat that goes to the air and all else around", None, "W/m²", below="out")
_SIGMA = Sign("σ", "Stefan and Boltzmann's constant", None, "W/(m² K⁴)")
_TO_PIPE = Sign("E", "exchange between what is hot and the face, by emissivities and view", None, below="hot")
_TO_REST = Sign("E", "exchange between face and all else around", None, below="rest")
_VIEW = Sign("F", "view factor from the face to what is hot", None)
_ACROSS = Sign("h", "film across the gap", None, "W/(m² K)", below="gap")
_FILM = Sign("h", "film to the air", None, "W/(m² K)")
_BACK = Sign("b", "area of its back that gives heat off, over its face", None)
_DULL = Sign("ε", "emissivity of its back", None)

_LINES = (
    is_(_COMES, _TO_PIPE * _SIGMA * (_PIPE**4 - _REACHED**4) + _ACROSS * _VIEW * (_PIPE - _REACHED)),
    is_(
        _GOES,
        (1.0 + _BACK) * _FILM * (_REACHED - _AIR)
        + (_TO_REST + _BACK * _DULL) * _SIGMA * (_REACHED**4 - _AIR**4),
    ),
    is_(_MOST, _STANDS - _MARGIN),
    at_most(_REACHED, _MOST),
)
_NOTES = (
    "The outside of the pipe is found from the gas: the film inside, any wrap, and what leaves it outside.",
    "Behind a shield the heat comes from the shield, which what is hot warms and the air cools.",
    "A foil-faced sleeve counts by its bright face; what it holds back gets through in time.",
)


def _heat_beside(what: What, gap: float, text: str) -> Example:
    case = beside(what, gap)
    facts, (near,), piece = bench.facts(case), case.plan.neighbours, case.plan.pieces[0]
    skin, air, nature = skin_of(facts, piece), air_about(facts), nature_of(near)
    found, most = warmed(facts, near, near.protection), kept_under(facts, near)
    outside = facts.size("piece", piece.id, "outside_diameter")
    # As many views back as the two faces have area for: F A is the same both ways.
    back = found.view * nature.width / (pi * outside)
    to_pipe, to_rest = grey_factors(DULL, PIPE_EMISSIVITY, found.view, back)
    across = across_the_gap(skin.temperature, most, gap * bench.MM)
    given: dict[Sign, Value] = {
        _REACHED: found.temperature,
        _STANDS: most + facts.limit("heat.margin"),
        _MARGIN: facts.limit("heat.margin"),
        _PIPE: skin.temperature,
        _AIR: air,
        _SIGMA: Stefan_Boltzmann,
        _TO_PIPE: to_pipe,
        _TO_REST: to_rest,
        _VIEW: found.view,
        _ACROSS: across,
        _FILM: still_film(nature.width, most, air),
        _BACK: nature.back,
        _DULL: DULL,
    }
    told = (Told(_REACHED, ITEM), Told(_MOST, ITEM, "limit"))
    radiated = net_flux(skin.temperature, found.temperature, to_pipe)
    same = {_COMES: radiated + found.warmed, _GOES: found.convected + found.reradiated}
    return Example(text, case, given, told, same)


def line_heat() -> Example:
    """A brake line without a shield."""
    text = "A brake line passes 60 mm beside the bare first tube of a downpipe, nothing between them."
    return _heat_beside(What.BRAKE_LINE, 60.0, text)


def other_heat() -> Example:
    """A loom without a shield."""
    text = "A loom of class C wire passes 150 mm beside the bare first tube of a downpipe, nothing between."
    return _heat_beside(What.LOOM, 150.0, text)


_RUN_NOTES = (
    "A turbine housing counts as a ball of its width, seen by the nearest spot of the hose: F is the square"
    " of its radius over the distance to its middle. Manifold and exhaust count as long pipes.",
    "Counted is the piece that it is entered beside: enter it beside the nearest hose, whatever metal is"
    " nearer.",
    *_NOTES[1:],
)


def _beside_heat(place: Place, material: str, near: NeighbourPlan, text: str) -> Example:
    """A coupler of such rubber between two spigots beside something hot."""
    plan = bench.charge(bench.tube(1, 60.0), bench.hose(2, 60.0, material=material), bench.tube(3, 60.0)).plan
    case = bench.case(replace(plan, place=place, neighbours=(replace(near, piece_id=2),)))
    facts, (one,), piece = bench.facts(case), case.plan.neighbours, case.plan.pieces[1]
    how = nature_of(one).hot
    assert how is not None
    found, most = heated(facts, one, how, one.protection), hose_most(facts, piece)
    hot, air, width = skin_of_it(facts), facts.engine.bonnet_temperature, facts.outside(End(piece, False))
    back = 0.0 if how is Hot.BALL else found.view * width / (pi * width_of(facts, one))
    to_hot, to_rest = grey_factors(DULL, PIPE_EMISSIVITY, found.view, back)
    given: dict[Sign, Value] = {
        _REACHED: found.temperature,
        _STANDS: most + facts.limit("hose.derating"),
        _MARGIN: facts.limit("hose.derating"),
        _PIPE: hot,
        _AIR: air,
        _SIGMA: Stefan_Boltzmann,
        _TO_PIPE: to_hot,
        _TO_REST: to_rest,
        _VIEW: found.view,
        _ACROSS: across_the_gap(hot, most, facts.size("neighbour", one.id, "gap")),
        _FILM: still_film(width, most, air),
        _BACK: ALL_ROUND,
        _DULL: DULL,
    }
    radiated = net_flux(hot, found.temperature, to_hot)
    same = {_COMES: radiated + found.warmed, _GOES: found.convected + found.reradiated}
    return Example(text, case, given, (Told(_REACHED, ITEM), Told(_MOST, ITEM, "limit")), same)


def _hot_at(what: What, gap: float) -> NeighbourPlan:
    """The gap in [mm]."""
    sizes = {"gap": Estimate(gap * bench.MM, bench.MM)}
    return NeighbourPlan(7, what, what.value[:1].upper() + what.value[1:], None, sizes=sizes)


def line_beside_heat() -> Example:
    """A drain's hose under a manifold."""
    text = "A drain's hose of FKM passes 60 mm beside an exhaust manifold, nothing between them."
    return _beside_heat(Place.OIL_DRAIN, "FKM", _hot_at(What.MANIFOLD, 60.0), text)


def run_beside_heat() -> Example:
    """A coupler with a turbine in view."""
    text = (
        "A coupler of lined silicone on a charge pipe is 220 mm from the turbine housing, in full view of it."
    )
    return _beside_heat(Place.CHARGE_PIPE, "lined silicone", _hot_at(What.TURBINE, 220.0), text)


EXPLAINED = (
    Explained("line-gap", (_ASKED, at_least(_GAP, _LEAST)), line_gap),
    Explained(
        "gap",
        (_ASKED, at_least(_GAP, _LEAST)),
        other_gap,
        (at_least(_GAP, _MOVES + _GROWN),),
        ("Between two things that move with the same frame nothing moves.",),
    ),
    Explained("line-heat", _LINES, line_heat, notes=_NOTES),
    Explained("neighbour-heat", _LINES, other_heat, (at_most(_REACHED, _STANDS),), _NOTES),
    Explained("line-beside-heat", _LINES, line_beside_heat, notes=_RUN_NOTES),
    Explained("run-beside-heat", _LINES, run_beside_heat, (at_most(_REACHED, _STANDS),), _RUN_NOTES),
)
