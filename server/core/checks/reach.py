"""Rule of where a run ends: laid out from where its start is in the car, at the port that it goes to.

It speaks where the place and facing of both ports are known and nothing in the run is bent as it is fitted.
"""

from math import degrees

from server.core.checks.facts import Facts
from server.core.checks.rule import ANY_RUN, About, Findings, Found, Rule, RuleClass
from server.core.phrase import Amount, Phrase, length
from server.core.sources import source
from server.core.tube.space.in_car import CLOSES_ANGLE
from server.core.units import Kind

_MOVE = Phrase("Change a straight, an angle or a turn until it ends there, or read the two ports again.")


def ends_at_port(facts: Facts) -> Findings:
    """How far a run's end is off its port, and how far it leans off it. Source: geometry."""
    lies, end = facts.case.lies, facts.plan.end
    if lies is None or end is None or not lies.as_drawn:
        return ()
    off, lean = facts.limit("reach.off"), CLOSES_ANGLE
    words = {"port": end.name}
    distance, angle = lies.miss.distance, lies.miss.angle

    def beside() -> About:
        amounts = {"off": length(distance), "most": length(off)}
        text = "In the car the run ends {off} off {port}; {most} is taken up as it is fitted."
        return About(Phrase(text, words, amounts), "port", end.id, distance, off, Kind.length, moves=(_MOVE,))

    def askew() -> About:
        amounts = {"lean": Amount(angle, Kind.angle), "most": Amount(lean, Kind.angle)}
        text = "In the car the run leans {lean} off the way into {port}; {most} is taken up as it is fitted."
        return About(Phrase(text, words, amounts), "port", end.id, angle, lean, Kind.angle, moves=(_MOVE,))

    return (Found("off", off - distance, beside), Found("lean", lean - angle, askew))


RULES = (
    Rule(
        "reach",
        "Ends at its port",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        f"off its port ≤ most, lean ≤ {degrees(CLOSES_ANGLE):.0f}°",
        "Laid out from its start port; a run with a hose or a flex of no shape of its own is left out.",
        ("reach.off",),
        (source("geometry"), source("practice")),
        None,
        ends_at_port,
    ),
)
