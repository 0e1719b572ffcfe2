"""Addresses of what to measure next."""


def measuring(build_id: int) -> str:
    """The readings that the whole build asks for."""
    return f"/builds/{build_id}/measure"


def measuring_for(build_id: int, design_id: int) -> str:
    """The readings that one design asks for."""
    return f"/builds/{build_id}/measure?design={design_id}"
