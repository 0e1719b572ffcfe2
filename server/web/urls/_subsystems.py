"""Addresses of subsystems, the starting set and the comparison of designs."""

from collections.abc import Mapping, Sequence
from urllib.parse import urlencode


def subsystems(build_id: int) -> str:
    return f"/builds/{build_id}/subsystems"


def subsystems_wanting(build_id: int, kind: str) -> str:
    """Where one of a kind that is missing is added."""
    return f"/builds/{build_id}/subsystems?{urlencode({'wanted': kind})}#add"


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


def figures(build_id: int, subsystem_id: int) -> str:
    """What is fitted in a subsystem: injectors and pump, oil feed and drain."""
    return f"/builds/{build_id}/subsystems/{subsystem_id}/figures"


def figure_concessions(build_id: int, subsystem_id: int) -> str:
    """Where a check of what is fitted is accepted as it is."""
    return f"{figures(build_id, subsystem_id)}/concessions"


def figure_field(build_id: int, subsystem_id: int, key: str) -> str:
    """Where one of its figures is typed."""
    return f"{figures(build_id, subsystem_id)}#{figure_field_id(key)}"


def figure_field_id(key: str) -> str:
    return f"f-{key.replace('.', '-')}"


def dossier(build_id: int, subsystem_id: int, design_id: int | None = None) -> str:
    """What speaks for a subsystem; of one of its designs, else of the one that counts."""
    return f"/builds/{build_id}/subsystems/{subsystem_id}/dossier{_of_design(design_id)}"


def dossier_pdf(build_id: int, subsystem_id: int, design_id: int | None = None) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/dossier.pdf{_of_design(design_id)}"


def _of_design(design_id: int | None) -> str:
    return "" if design_id is None else f"?design={design_id}"


def figure(build_id: int, key: str) -> str:
    """Leads to the sheet on which a figure is typed."""
    return f"/builds/{build_id}/figures/{key}"


def start(build_id: int) -> str:
    """The starting set."""
    return f"/builds/{build_id}/start"


def start_of(build_id: int, kind: str) -> str:
    """What the starting set has for one kind of subsystem."""
    return f"/builds/{build_id}/start?{urlencode({'of': kind})}"


def start_suiting(build_id: int, answers: Mapping[str, str]) -> str:
    """The starting set, ticked to suit these answers."""
    return f"/builds/{build_id}/start?{urlencode(answers)}"


def started(
    build_id: int,
    subsystems: int,
    ports: int,
    tasks: int,
    left_out: Sequence[str] = (),
    put_in: Sequence[str] = (),
) -> str:
    """The subsystems, beginning with what was just added, and what the answers left out of it or put in."""
    told = {"added": f"{subsystems}-{ports}-{tasks}"}
    told |= {name: ",".join(ticks) for name, ticks in (("out", left_out), ("in", put_in)) if ticks}
    return f"/builds/{build_id}/subsystems?{urlencode(told, safe=',')}"


def compare(build_id: int, subsystem_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/compare"


def compare_choice(build_id: int, subsystem_id: int, design_id: int) -> str:
    return f"/builds/{build_id}/subsystems/{subsystem_id}/compare/{design_id}"
