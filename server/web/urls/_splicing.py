"""Addresses of splices of two salvaged pipes."""


def splices(build_id: int, subsystem_id: int) -> str:
    """Ways to join two salvaged pipes of a subsystem."""
    return f"/builds/{build_id}/subsystems/{subsystem_id}/splices"
