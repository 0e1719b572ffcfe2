"""Figures of a turbo's oil: what feeds it, and what drains it."""

from server.core.air.oil import GRADES
from server.core.checks.figures.asked import YES_NO, Figure
from server.core.units import Kind

OIL_FEED = (
    Figure(
        "oil.bearing",
        "bearing of the turbo",
        choices=(("journal", "journal bearing"), ("ball", "ball bearing")),
        hint="from the turbo's maker; leave it open where it is not known",
    ),
    Figure(
        "oil.drawing",
        "maker's drawing asks for a restrictor",
        choices=(*YES_NO, ("not known", "not known")),
        hint="of this very turbo, by its number",
    ),
    Figure("oil.restrictor", "a restrictor is fitted in the feed", choices=YES_NO),
    Figure(
        "oil.restrictor_asked",
        "bore of the restrictor by the maker's drawing",
        Kind.length,
        "mm",
        2e-4,
        0.01,
        hint="where it asks for one: 1 mm",
    ),
    Figure(
        "oil.restrictor_bore",
        "bore of the restrictor that is fitted",
        Kind.length,
        "mm",
        2e-4,
        0.01,
        doubt=0.01,
        hint="by a drill's shank that just passes",
    ),
    Figure(
        "oil.feed_bore",
        "bore of the oil feed line",
        Kind.length,
        "mm",
        0.001,
        0.03,
        doubt=0.01,
        sort="line_bore",
    ),
    Figure(
        "oil.pressure",
        "oil pressure hot, at speed",
        Kind.pressure,
        "bar",
        0.5e5,
        10e5,
        doubt=0.05,
        hint="at the gauge, oil hot: 4 bar",
    ),
)

OIL_DRAIN = (
    Figure(
        "drain.bore",
        "bore of the oil drain, at its narrowest",
        Kind.length,
        "mm",
        0.003,
        0.06,
        doubt=0.01,
        sort="bore",
    ),
    Figure(
        "drain.fall",
        "fall of the drain",
        Kind.length,
        "mm",
        0.0,
        1.5,
        doubt=0.02,
        hint="height of the turbo's end over the engine's; empty, where both ends are in the car counts",
    ),
    Figure(
        "drain.length",
        "length of the drain along its way",
        Kind.length,
        "mm",
        0.02,
        3.0,
        doubt=0.01,
    ),
    Figure(
        "drain.downhill",
        "the drain runs downhill all the way",
        choices=YES_NO,
        hint="car level, no sag, no rise, no level stretch",
    ),
    Figure(
        "drain.above", "the drain enters above the oil level", choices=YES_NO, hint="engine running and still"
    ),
    Figure(
        "drain.flow",
        "oil that the turbo passes, hot",
        Kind.volume_flow,
        "L/min",
        1e-6,
        3e-4,
        doubt=0.1,
        hint="from its maker: 1.2 l/min; empty, what the oil feed's restrictor passes counts",
    ),
    Figure(
        "drain.froth",
        "volume of the froth over that of its oil",
        Kind.ratio,
        "dimensionless",
        1.0,
        5.0,
        doubt=0.1,
        hint="1 without air in it; 2 where nothing is known (common practice, no source)",
    ),
    Figure(
        "drain.grade",
        "the oil's grade when hot",
        choices=tuple((str(grade), f"W-{grade}") for grade in GRADES),
        hint="the second number on its can: 5W-40 is W-40",
    ),
)
