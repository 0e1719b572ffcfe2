"""Why there is no route: what stands in the way, and what would help, each tried before it is said."""

from server.core.tube.route.problem import Asked

NO_BENDS = "No bends are given, and the two ends are not in one line. Add a bend that can be bought."
NONE = (
    "No route with these bends and straights. A smaller radius, shorter straights, a bend that may be cut "
    "down, or one more bend would help."
)


def why_none(asked: Asked) -> str:
    """What stands in the way, in plain words."""
    return NONE if asked.bends else NO_BENDS
