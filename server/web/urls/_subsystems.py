"""Addresses of subsystems, the starting set and the comparison of designs."""

from urllib.parse import urlencode


def subsystems(build_id: int) -> str:
    return f"/builds/{build_id}/subsystems"


def subsystems_from(build_id: int, first: int) -> str:
    """The subsystems after so many."""
    return f"/builds/{build_id}/subsystems?from={first}"


def subsystem(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}"


def subsystem_removal(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/removal"


def subsystem_return(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/return"


def subsystem_designs(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/designs"


def start(build_id: int) -> str:
    """The starting set."""
    return f"/builds/{build_id}/start"


def start_of(build_id: int, kind: str) -> str:
    """What the starting set has for one kind of subsystem."""
    return f"/builds/{build_id}/start?{urlencode({'of': kind})}"


def started(build_id: int, subsystems: int, ports: int, tasks: int) -> str:
    """The subsystems, beginning with what was just added."""
    return f"/builds/{build_id}/subsystems?added={subsystems}-{ports}-{tasks}"


def compare(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/compare"


def compare_choice(build_id: int, subsystem_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/compare/{design_id}"
