"""Rules of the downpipe and the exhaust, explained: speed, back pressure, metal, flex, growth, joints."""

from dataclasses import replace

from server.core.air.exhaust import exhaust_flow
from server.core.air.expansion import growth, metal_named
from server.core.air.fuels import FUELS
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.of_any_run import MACH_LINES, MACH_TIGHT, mach_given, mach_told
from server.core.checks.book.signs import Sign, Value, among, at_least, at_most, equals, is_
from server.core.checks.flow import flow_of
from server.core.tube.run import JointKind, JointPlan, PieceKind
from server.core.units import Kind

_AIR = Sign("m", "air at the peak", Kind.mass_flow, below="air")
_GAS = Sign("m", "exhaust at the peak: the air and the fuel with it", Kind.mass_flow)
_MIXTURE = Sign("λ", "mixture at the peak, 1 where air and fuel use each other up", Kind.ratio)
_RATIO = Sign("L", "air over fuel by mass where they use each other up", below="st")


def gas_speed() -> Example:
    """A downpipe of half the area that it might have."""
    case = bench.downpipe(bench.hot(bench.tube(1, 63.5, 300.0)), bench.flex(2))
    facts = bench.facts(case)
    assert case.engine is not None
    air, fuel = facts.engine.demand.flow, FUELS[case.engine.sheet.fuel]
    mixture = facts.values["engine.mixture"]
    given = mach_given(case, 1, "hot.mach", "hot.mach_hard")
    given |= {_AIR: air, _MIXTURE: mixture, _RATIO: fuel.stoichiometric_ratio}
    text = (
        "A tube of 63.5 mm, 1.5 wall, behind the turbine of a 2.1 litre engine that revs to 6,600 at 0.9 bar."
    )
    return Example(text, case, given, mach_told(1), {_GAS: exhaust_flow(air, fuel, mixture)})


_TURBINE = Sign("p", "pressure at the turbine's outlet, absolute", Kind.pressure, below="turbine")
_OUTSIDE = Sign("p", "pressure of the air outside", Kind.pressure, below="air")
_BACK = Sign("Δp", "back pressure", Kind.pressure)
_MOST = Sign("Δp", "back pressure that passes", Kind.pressure, below="most")
_HARD = Sign("Δp", "back pressure that is still tight", Kind.pressure, below="hard")


def back_pressure() -> Example:
    """A downpipe of the usual width."""
    case = bench.downpipe(bench.hot(bench.tube(1, 76.2, 400.0)), bench.flex(2))
    facts = bench.facts(case)
    found = flow_of(facts).back_pressure
    assert found is not None
    given = {
        _TURBINE: facts.engine.ambient_pressure + found,
        _OUTSIDE: facts.engine.ambient_pressure,
        _MOST: facts.limit("back.most"),
        _HARD: facts.limit("back.hard"),
    }
    text = "A straight downpipe of 76.2 mm with a flex, an exhaust behind it that takes 4 kPa at the peak."
    return Example(text, case, given, (Told(_BACK, "run"), Told(_MOST, "run", "limit")))


_MATERIAL = Sign("M", "material of the piece")
_STANDS = Sign("S", "metals that stand exhaust")
STAND_EXHAUST = ("steel", "stainless steel", "cast iron", "titanium", "nickel alloy")
"""Words of which the check says that they stand exhaust; common practice, no source."""


def hot_metal() -> Example:
    """An aluminium tube that was left over from the charge pipe."""
    left_over = replace(bench.hot(bench.tube(1, 76.2)), material="aluminium")
    case = bench.downpipe(left_over, bench.flex(2))
    given: dict[Sign, Value] = {_MATERIAL: left_over.material, _STANDS: STAND_EXHAUST}
    return Example(
        "A tube of aluminium, left over from the charge pipe, right behind the turbine.", case, given
    )


_FLEXES = Sign("n", "metal flexes in the run", below="flex")
_STRAIGHT = Sign("ℓ", "straight length between flex and bend", Kind.length)
_BORES = Sign("n", "bores of straight asked there", Kind.ratio)
_BORE = Sign("d", "bore of the flex", Kind.length)
_LINER = Sign("P", "where the flex's liner points")
_RIGHT = Sign("R", "where it should")


def exhaust_flex() -> Example:
    """A flex with a bend close behind it."""
    elbow = bench.piece(
        3,
        PieceKind.BEND,
        outside_diameter=76.2,
        wall=1.5,
        length=30.0,
        length_out=60.0,
        bend_angle=45.0,
        bend_radius=114.3,
    )
    case = bench.downpipe(bench.hot(bench.tube(1, 76.2)), bench.flex(2), bench.hot(elbow))
    facts = bench.facts(case)
    flex = case.plan.pieces[1]
    given: dict[Sign, Value] = {
        _FLEXES: float(sum(piece.kind is PieceKind.FLEX for piece in case.plan.pieces)),
        _STRAIGHT: facts.size("piece", 3, "length"),
        _BORES: facts.limit("flex.straight"),
        _BORE: facts.bore(facts.narrower_end(flex)),
        _LINER: flex.liner,
        _RIGHT: ("downstream",),
    }
    text = "A flex of 73.2 mm bore between engine and body; a bend begins 30 mm behind it."
    return Example(text, case, given, (Told(_STRAIGHT, "piece.2.after"),))


_GROWS = Sign("Δ", "growth of the run", Kind.length)
_EXPANSION = Sign("α", "expansion of its metal", None, "K⁻¹")
_LENGTH = Sign("L", "length of all its pieces, cold", Kind.length)
_HOT = Sign("T", "temperature of the gas at the turbine's outlet", Kind.temperature, below="gas")
_COLD = Sign("T", "temperature of the air outside", Kind.temperature, below="air")
_SHARE = Sign("x", "share of the travel that growth may take", Kind.ratio, "percent")
_TRAVEL = Sign("s", "travel of the flex", Kind.length)


def hot_growth() -> Example:
    """A stainless downpipe with one flex."""
    case = bench.downpipe(bench.hot(bench.tube(1, 76.2, 600.0)), bench.flex(2))
    facts = bench.facts(case)
    metal = metal_named(bench.STAINLESS)
    assert metal is not None
    length = sum(facts.length_along(piece) for piece in case.plan.pieces)
    cold, hot = facts.engine.demand.ambient_temperature, facts.engine.temperature
    given = {
        _EXPANSION: metal.expansion,
        _LENGTH: length,
        _HOT: hot,
        _COLD: cold,
        _SHARE: facts.limit("growth.share"),
        _TRAVEL: facts.size("piece", 2, "travel"),
    }
    same = {_GROWS: growth(length, metal.expansion, cold, hot)}
    text = "A downpipe of 304 stainless: 600 mm of tube, and a flex of 150 mm that may be pushed in by 25 mm."
    return Example(text, case, given, (Told(_GROWS, "run"),), same)


_APART = Sign("n", "joints that come apart: V-bands, flanges, slip joints", below="apart")
_WANTED = Sign("n", "2 of a downpipe, 1 of an exhaust", below="asked")
_COME_APART = (JointKind.V_BAND, JointKind.FLANGE, JointKind.HOSE_AND_CLAMP, JointKind.THREAD)


def comes_apart() -> Example:
    """A downpipe that is welded to the exhaust."""
    joints = (JointPlan(50, JointKind.V_BAND), bench.weld(51), bench.weld(52))
    case = bench.downpipe(bench.hot(bench.tube(1, 76.2)), bench.flex(2), joints=joints)
    apart = sum(joint.kind in _COME_APART for joint in case.plan.joints)
    text = "A downpipe with a V-band at the turbine, welded to the exhaust at its other end."
    return Example(text, case, {_APART: float(apart), _WANTED: 2.0})


_FILLER = Sign("F", "filler of the weld")
_USUAL = Sign("U", "usual filler for stainless steel to steel")


def filler() -> Example:
    """A stainless downpipe welded to a steel exhaust."""
    joints = (JointPlan(50, JointKind.V_BAND), bench.weld(51), bench.weld(52, "308L"))
    case = bench.downpipe(bench.hot(bench.tube(1, 76.2)), bench.flex(2), joints=joints)
    text = "A flex of 304 stainless is welded to an exhaust of mild steel with a rod of 308L."
    return Example(text, case, {_FILLER: case.plan.joints[2].filler, _USUAL: ("309L",)})


EXPLAINED = (
    Explained(
        "gas-speed",
        (is_(_GAS, _AIR * (1.0 + 1.0 / (_MIXTURE * _RATIO))), *MACH_LINES),
        gas_speed,
        MACH_TIGHT,
        marched=True,
    ),
    Explained(
        "back-pressure",
        (is_(_BACK, _TURBINE - _OUTSIDE), at_most(_BACK, _MOST)),
        back_pressure,
        (at_most(_BACK, _HARD),),
        ("The pressure at the turbine is found by marching the run from what stands behind it.",),
        marched=True,
    ),
    Explained("hot-metal", (among(_MATERIAL, _STANDS),), hot_metal),
    Explained(
        "exhaust-flex",
        (
            equals(_FLEXES, 1.0, "Between two frames"),
            at_least(_STRAIGHT, _BORES * _BORE),
            among(_LINER, _RIGHT),
        ),
        exhaust_flex,
        (at_least(_STRAIGHT, _BORES * _BORE / 2.0),),
        ("The pipe after the flex is held, or its weight hangs on the flex.",),
    ),
    Explained(
        "growth",
        (is_(_GROWS, _EXPANSION * _LENGTH * (_HOT - _COLD)), at_most(_GROWS, _SHARE * _TRAVEL)),
        hot_growth,
        (at_most(_GROWS, _TRAVEL),),
        ("Pieces of different metals are added up. Without a flex, it is held against what hangers take.",),
    ),
    Explained("comes-apart", (at_least(_APART, _WANTED),), comes_apart, (at_least(_APART, 1.0),)),
    Explained(
        "filler",
        (among(_FILLER, _USUAL),),
        filler,
        notes=("Stainless to stainless is usually 308L, steel to steel ER70S-6. Another: ask the welder.",),
    ),
)
