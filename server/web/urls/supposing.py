"""Addresses of what is supposed of a plan."""


def suppose(build_id: int) -> str:
    """What the dates were, if."""
    return f"/builds/{build_id}/suppose"


def late(build_id: int) -> str:
    """What late orders do to the dates."""
    return f"/builds/{build_id}/late"
