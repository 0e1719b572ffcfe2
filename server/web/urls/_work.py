"""Addresses of the work, its tasks, and what may go wrong with them."""


def work(build_id: int) -> str:
    return f"/builds/{build_id}/work"


def work_part(build_id: int, group: str, start: int) -> str:
    """One group of the work alone, from that task of it on."""
    return f"/builds/{build_id}/work?group={group}&from={start}"


def tasks(build_id: int) -> str:
    return f"/builds/{build_id}/tasks"


def task(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}"


def task_state(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/state"


def task_removal(build_id: int, task_id: int) -> str:
    """Where a task is set aside and put back."""
    return f"/builds/{build_id}/tasks/{task_id}/removal"


def task_photos(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/photos"


def task_afters(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/afters"


def after_removal(build_id: int, task_id: int, after_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/afters/{after_id}/removal"


def task_needs(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/needs"


def need_removal(build_id: int, task_id: int, need_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/needs/{need_id}/removal"


def task_waits(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/waits"


def wait_removal(build_id: int, task_id: int, wait_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/waits/{wait_id}/removal"


def task_holds(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/holds"


def hold_clearing(build_id: int, task_id: int, hold_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/holds/{hold_id}/clearing"


def setbacks(build_id: int, task_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks"


def setback(build_id: int, task_id: int, setback_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks/{setback_id}"


def setback_happening(build_id: int, task_id: int, setback_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks/{setback_id}/happening"


def setback_removal(build_id: int, task_id: int, setback_id: int) -> str:
    return f"/builds/{build_id}/tasks/{task_id}/setbacks/{setback_id}/removal"
