"""The register of rules. Everything the handbook prints about a check is read from here."""

from server.core.checks import (
    air_meter,
    any_run,
    apart,
    charge,
    coolant_lines,
    couplers,
    direction,
    downpipe,
    ends,
    flap,
    fuel,
    gaps,
    gate,
    hoses,
    hot_flex,
    intake,
    neighbour_heat,
    oil_drain,
    oil_feed,
    origin,
    reach,
    run_heat,
    screws,
    sensor,
    side_ports,
    turbo,
)
from server.core.checks.rule import Rule
from server.core.tube.run import Place

RULES: tuple[Rule, ...] = (
    *any_run.RULES,
    *direction.RULES,
    *reach.RULES,
    *side_ports.RULES,
    *couplers.RULES,
    *ends.RULES,
    *origin.RULES,
    *gaps.RULES,
    *intake.RULES,
    *air_meter.RULES,
    *screws.RULES,
    *hoses.RULES,
    *charge.RULES,
    *downpipe.RULES,
    *hot_flex.RULES,
    *apart.RULES,
    *neighbour_heat.RULES,
    *run_heat.RULES,
    *sensor.RULES,
    *flap.RULES,
    *fuel.RULES,
    *oil_feed.RULES,
    *oil_drain.RULES,
    *gate.RULES,
    *coolant_lines.RULES,
    *turbo.RULES,
)
"""Every rule, in the order in which pages list them."""

_BY_CODE = {rule.code: rule for rule in RULES}


def rules_for(place: Place) -> tuple[Rule, ...]:
    """The rules that apply to a run at this place, in the register's order."""
    return tuple(rule for rule in RULES if place in rule.places)


def figure_rules_for(place: Place) -> tuple[Rule, ...]:
    """Those of them that rest on figures of what is fitted, and need no run."""
    return tuple(rule for rule in rules_for(place) if rule.on_figures)


def rule(code: str) -> Rule:
    """The rule with this code. Raises KeyError naming the known codes."""
    if code not in _BY_CODE:
        raise KeyError(f"no rule {code!r}; known: {', '.join(_BY_CODE)}")
    return _BY_CODE[code]
