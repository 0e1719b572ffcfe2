"""Addresses of helpers' links: what the builder does with them, and what a link opens."""

from server.web.urls._front import telling


def links(build_id: int) -> str:
    """The links of a build, and the form for a new one."""
    return f"/builds/{build_id}/links"


def link_for(build_id: int, visit_id: int) -> str:
    """The same, with a visit chosen for the new one."""
    return f"{links(build_id)}?visit={visit_id}"


def withdrawal(build_id: int, link_id: int) -> str:
    """Where a link is withdrawn."""
    return f"{links(build_id)}/{link_id}/withdrawal"


def revision(build_id: int) -> str:
    """What tells a page that is open whether the build has changed."""
    return f"/builds/{build_id}/revision"


def sheet(token: str, told: str = "") -> str:
    """What a link opens; `told`: what was just done, e.g. "task-7"."""
    return telling(f"/s/{token}", told)


def sheet_revision(token: str) -> str:
    return f"/s/{token}/revision"


def feed(token: str) -> str:
    """What is new, for a program that asks again and again."""
    return f"/s/{token}/feed.atom"


def visit(token: str, visit_id: int) -> str:
    """The sheet of one visit, by a link for the whole build."""
    return f"/s/{token}/visits/{visit_id}"


def run(token: str, design_id: int) -> str:
    """The drawing and the cut marks of one chosen design."""
    return f"/s/{token}/runs/{design_id}"


def run_pdf(token: str, design_id: int, paper: str) -> str:
    return f"/s/{token}/runs/{design_id}/{paper}.pdf"


def task_state(token: str, task_id: int) -> str:
    return f"/s/{token}/tasks/{task_id}/state"


def notes(token: str) -> str:
    return f"/s/{token}/notes"


def port(token: str, port_id: int, measure: str = "") -> str:
    """The form for a reading of a port; `measure`: of which of its dimensions."""
    address = f"/s/{token}/ports/{port_id}"
    return f"{address}?measure={measure}" if measure else address


def readings(token: str, port_id: int) -> str:
    return f"/s/{token}/ports/{port_id}/readings"


def original(token: str, photo_id: int) -> str:
    return f"/s/{token}/photos/{photo_id}/original"


def photo(token: str, photo_id: int, small: bool = False) -> str:
    return f"/s/{token}/photos/{photo_id}{'?small=1' if small else ''}"
