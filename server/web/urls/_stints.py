"""Addresses of the garage's time: stints, helpers and their visits."""


def stints(build_id: int) -> str:
    """When the garage is worked in, and who comes."""
    return f"/builds/{build_id}/stints"


def stint(build_id: int, asked: str = "") -> str:
    """What to do in a stint; `asked`: what was asked for, as a query."""
    address = f"/builds/{build_id}/stint"
    return f"{address}?{asked}" if asked else address


def plan(build_id: int) -> str:
    """The work as a dated strip, and what sets the date."""
    return f"/builds/{build_id}/plan"


def calendar(build_id: int) -> str:
    """What a calendar program asks."""
    return f"/builds/{build_id}/calendar.ics"


def stint_removal(build_id: int, stint_id: int) -> str:
    """Where a stint is set aside and put back."""
    return f"{stints(build_id)}/{stint_id}/removal"


def garage_time(build_id: int) -> str:
    """Where the time zone, the hours of noise and what raising the car takes are said."""
    return f"{stints(build_id)}/garage"


def helpers(build_id: int) -> str:
    return f"{stints(build_id)}/helpers"


def helper(build_id: int, helper_id: int) -> str:
    return f"{helpers(build_id)}/{helper_id}"


def helper_removal(build_id: int, helper_id: int) -> str:
    return f"{helper(build_id, helper_id)}/removal"


def visits_offered(build_id: int) -> str:
    """Where a helper's slot is noted."""
    return f"{stints(build_id)}/visits"


def visit(build_id: int, visit_id: int) -> str:
    """Whether a visit is ready, and the sheet that the helper works from."""
    return f"/builds/{build_id}/visits/{visit_id}"


def visit_removal(build_id: int, visit_id: int) -> str:
    return f"{visits_offered(build_id)}/{visit_id}/removal"
